"""Tests for monitor.figures.follow.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.figures.follow import follow
from monitor.figures.stretch import Stretch
from tests.monitor.figures.made import S, acknowledged, at, cleared, entered, raised


def test_alarms_are_followed_apart() -> None:
    events = [raised(10, "a"), raised(20, "b"), cleared(25, "a"), acknowledged(30, "b")]
    whole = follow("run-a", events, 0, 100 * S)

    assert [(row.t_ns // S, row.subject) for row in whole.activations] == [(10, "a"), (20, "b")]
    assert [(row.subject, row.until_ns // S) for row in whole.standing] == [
        ("a", 25),
        ("b", 100),
    ]
    assert [row.subject for row in whole.answers] == ["b"]


def test_what_is_only_written_down_is_no_alarm() -> None:
    events = [
        at(1, "condition.on", "a", priority="journal"),
        at(2, "link.down", "panel"),
        entered(3, "climb"),
        at(4, "action.note", ""),
    ]

    assert follow("run-a", events, 0, 100 * S) == Stretch("run-a", 0, 100 * S)


def test_rows_are_ordered_by_time_whatever_the_names() -> None:
    events = [
        raised(10, "b"),
        raised(20, "a"),
        acknowledged(30, "b"),
        acknowledged(40, "a"),
        at(50, "alarm.shelved", "b"),
        at(60, "alarm.shelved", "a"),
    ]
    whole = follow("run-a", events, 0, 100 * S)

    assert [row.t_ns // S for row in whole.activations] == [10, 20]
    assert [row.t_ns // S for row in whole.answers] == [30, 40]
    assert [row.t_ns // S for row in whole.marks] == [50, 60]


def test_of_one_instant_the_order_of_different_alarms_does_not_matter() -> None:
    one = [raised(10, "b"), raised(10, "a"), cleared(20, "b"), cleared(20, "a")]
    other = [raised(10, "a"), raised(10, "b"), cleared(20, "a"), cleared(20, "b")]

    assert follow("run-a", one, 0, 100 * S) == follow("run-a", other, 0, 100 * S)
