"""Tests for monitor.engine.history.

Source: hand-worked here.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.engine import history as module
from monitor.engine.history import History, buckets_for
from monitor.engine.rows import Rows

SECOND_NS = 1_000_000_000


def rows(t_ns: np.ndarray, value: np.ndarray) -> Rows:
    return Rows(
        np.array([0]),
        np.array([0, len(t_ns)]),
        t_ns.astype(np.int64),
        value.astype(float),
        np.zeros(len(t_ns), np.uint8),
    )


@pytest.fixture
def long_run(monkeypatch: pytest.MonkeyPatch) -> History:
    """Two hours at 1 Hz of a ramp, of which only the last 1024 rows are kept in full."""
    monkeypatch.setattr(module, "_MOST_ROWS", 1_024)
    history = History(channels=1, start_ns=0)
    for begin in range(0, 7_200, 100):
        seconds = np.arange(begin, begin + 100)
        history.push(rows(seconds * SECOND_NS, seconds))
    return history


def test_new_rows_come_back_at_full_rate() -> None:
    history = History(channels=1, start_ns=0)
    history.push(rows(np.array([1, 2, 3]), np.array([1.0, np.nan, 3.0])))

    t_ns, value = history.answer(0, 0, 10, points=100)

    assert t_ns.tolist() == [1, 2, 3]
    assert np.isnan(value[1])


def test_the_row_before_the_span_comes_along() -> None:
    history = History(channels=1, start_ns=0)
    history.push(rows(np.array([10, 20, 30, 40]), np.array([1.0, 2.0, 3.0, 4.0])))

    assert history.answer(0, 25, 30, points=100)[0].tolist() == [20, 30]


def test_the_whole_run_is_there_when_the_full_rate_is_gone(long_run: History) -> None:
    t_ns, value = long_run.answer(0, 0, 7_200 * SECOND_NS, points=100)

    assert (value[0], value[-1]) == (0.0, 7_199.0)
    assert len(value) <= 201
    assert np.all(np.diff(t_ns) > 0)
    # A ramp of one a second: nothing may be off by more than a bucket.
    assert np.abs(value - t_ns / SECOND_NS).max() < 2.0


def test_old_and_new_meet_without_overlap(long_run: History) -> None:
    t_ns, value = long_run.answer(0, 6_000 * SECOND_NS, 6_400 * SECOND_NS, points=2_000)

    assert np.all(np.diff(t_ns) > 0)
    assert np.all(np.diff(value) >= 0)
    assert t_ns[-1] == 6_400 * SECOND_NS


def test_a_span_inside_the_full_rate_is_exact(long_run: History) -> None:
    t_ns, value = long_run.answer(0, 7_000 * SECOND_NS, 7_010 * SECOND_NS, points=100)

    assert value.tolist() == [float(second) for second in range(6_999, 7_011)]
    assert t_ns.tolist() == [second * SECOND_NS for second in range(6_999, 7_011)]


def test_a_channel_without_rows_has_an_empty_past() -> None:
    assert History(channels=2, start_ns=0).answer(1, 0, 10, 5)[0].tolist() == []


def test_a_step_without_rows_changes_nothing() -> None:
    history = History(channels=1, start_ns=0)
    history.push(rows(np.array([]), np.array([])))

    assert history.answer(0, 0, 10, 5)[0].tolist() == []


@pytest.mark.parametrize(("channels", "buckets"), [(1, 8_192), (100, 8_192), (1_000, 4_096)])
def test_memory_is_shared_out(channels: int, buckets: int) -> None:
    assert buckets_for(channels) == buckets
    assert buckets_for(channels) * channels * 17 <= 72_000_000


def test_very_many_channels_keep_some_history_all_the_same() -> None:
    assert buckets_for(100_000) == 512


def test_what_is_brought_back_from_before_a_restart_lies_before_what_is_new() -> None:
    history = History(channels=1, start_ns=0)
    history.push(rows(np.array([50, 51]) * SECOND_NS, np.array([50.0, 51.0])))
    history.push_older(rows(np.arange(50) * SECOND_NS, np.arange(50)))

    t_ns, value = history.answer(0, 10 * SECOND_NS, 50 * SECOND_NS, points=1_000)

    assert value.tolist() == [float(second) for second in range(9, 51)]
    assert np.all(np.diff(t_ns) > 0)


def test_a_channel_with_nothing_but_a_past_shows_it() -> None:
    history = History(channels=1, start_ns=0)
    history.push_older(rows(np.arange(50) * SECOND_NS, np.arange(50)))

    value = history.answer(0, 0, 50 * SECOND_NS, points=1_000)[1]

    assert value.tolist() == [float(second) for second in range(50)]


def test_the_end_of_the_span_is_included_and_no_more() -> None:
    history = History(channels=1, start_ns=0)
    history.push(rows(np.array([10, 20, 21]), np.array([1.0, 2.0, 3.0])))

    assert history.answer(0, 10, 20, points=100)[0].tolist() == [10, 20]
