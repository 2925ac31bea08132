"""Tests for monitor.engine.backlog.

Source: hand-worked here.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.engine import backlog as module
from monitor.engine.backlog import Backlog
from monitor.engine.rows import Rows
from monitor.events import Event


def rows(number: int) -> Rows:
    return Rows(
        np.array([0]),
        np.array([0, number]),
        np.arange(number, dtype=np.int64),
        np.zeros(number),
        np.zeros(number, np.uint8),
    )


def event(t_ns: int) -> Event:
    return Event(t_ns, "action.note", "")


def test_gives_what_came_after_a_number_oldest_first() -> None:
    backlog = Backlog()
    for seq in range(1, 5):
        backlog.add(seq, rows(seq), [event(seq), event(seq)])

    assert [len(part) for part in backlog.rows_since(2)] == [3, 4]
    assert [row.t_ns for row in backlog.events_since(2)] == [3, 3, 4, 4]


def test_nothing_came_after_the_newest() -> None:
    backlog = Backlog()
    backlog.add(1, rows(1), [event(1)])

    assert backlog.rows_since(1) == []
    assert backlog.events_since(1) == []
    assert backlog.reaches(0)


def test_a_step_without_rows_keeps_its_events() -> None:
    backlog = Backlog()
    backlog.add(1, rows(0), [event(1)])

    assert backlog.rows_since(0) == []
    assert len(backlog.events_since(0)) == 1


def test_rows_are_bounded_and_it_says_how_far_it_reaches(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "MOST_ROWS", 10)
    backlog = Backlog()
    for seq in range(1, 6):
        backlog.add(seq, rows(4), [])

    assert len(backlog.rows_since(0)) == 2
    assert not backlog.reaches(2)
    assert backlog.reaches(3)


def test_packets_are_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_PACKETS", 3)
    backlog = Backlog()
    for seq in range(1, 6):
        backlog.add(seq, rows(1), [])

    assert len(backlog.rows_since(0)) == 3
    assert not backlog.reaches(1)
    assert backlog.reaches(2)


def test_events_are_bounded_and_half_an_entry_does_not_count(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "MOST_EVENTS", 3)
    backlog = Backlog()
    backlog.add(1, rows(0), [event(1), event(1)])
    backlog.add(2, rows(0), [event(2), event(2)])

    assert len(backlog.events_since(0)) == 3
    assert not backlog.reaches(0)
    assert backlog.reaches(1)


def test_the_newest_events_for_a_snapshot() -> None:
    backlog = Backlog()
    backlog.add(1, rows(0), [event(1), event(2), event(3)])

    assert [row.t_ns for row in backlog.newest_events(2)] == [2, 3]
    assert [row.t_ns for row in backlog.newest_events(9)] == [1, 2, 3]
