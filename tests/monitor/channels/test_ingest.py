"""Tests for monitor.channels.ingest.

Source: Hand-worked here, from the project's own rules of time and quality (DEVELOPERS.md).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from drivers.reading import Block
from monitor.channels import ingest
from monitor.channels.ingest import Ingest, RawGrid
from monitor.channels.plan import Linear, Measured
from monitor.events import Control, LinkChange
from monitor.samples import Admitted, Quality

S = 1_000_000_000
Q = Quality
NAN = float("nan")


def stage(*signals: str, stale_s: float = 5) -> Ingest:
    """Make a stage of one channel for each signal of the instrument ``gas``."""
    rows = [Measured(x.upper(), "gas", x, Linear(), round(stale_s * S)) for x in signals]
    return Ingest(rows, 0)


def block(
    times_s: Sequence[float],
    *columns: Sequence[float],
    is_old: bool = False,
    late: Sequence[bool] | None = None,
) -> Admitted:
    """Make an admitted block of the signals a, b, ..."""
    t_ns = np.array([round(t * S) for t in times_s], dtype=np.int64)
    names = tuple("abcdef"[: len(columns)])
    values = np.array(columns, dtype=np.float64).T.reshape(len(t_ns), len(names))
    one = Block("gas", names, t_ns, values, is_old=is_old)
    return Admitted(one, None if late is None else np.array(late))


def rows(grid: RawGrid, column: int = 0) -> list[tuple[float, float, int]]:
    """Give (seconds, raw, quality) of a column; NaN as -1 so that rows compare."""
    n = int(grid.count[column])
    raw = np.nan_to_num(grid.raw[:n, column], nan=-1.0)
    t_s = (grid.t_ns[:n, column] / S).tolist()
    return list(zip(t_s, raw.tolist(), grid.quality[:n, column].tolist(), strict=True))


def test_rows_after_w_wait_for_the_next_step() -> None:
    one = stage("a")
    first = rows(one.step([block([1, 2, 3], [10, 20, 30])], [], 2 * S))

    second = rows(one.step([], [], 4 * S))

    assert (first, second) == ([(1, 10, 0), (2, 20, 0)], [(3, 30, 0)])


def test_late_rows_are_counted_and_not_evaluated() -> None:
    one = stage("a")

    got = rows(one.step([block([1, 2], [10, 20], late=[True, False])], [], 3 * S))

    assert (got, one.counts) == ([(2, 20, 0)], {"late rows": 1})


def test_of_two_readings_with_one_time_the_first_counts() -> None:
    one = stage("a")

    got = rows(one.step([block([1], [10]), block([1], [11])], [], 3 * S))

    assert got == [(1, 10, 0)]
    assert one.counts == {"rows with a time that was there already": 1}


def test_rows_out_of_order_are_put_in_order() -> None:
    one = stage("a")

    assert rows(one.step([block([2, 1], [20, 10])], [], 3 * S)) == [(1, 10, 0), (2, 20, 0)]


def test_a_row_that_says_nothing_about_a_signal_is_no_sample_of_it() -> None:
    one = stage("a", "b")

    grid = one.step([block([1, 2], [10, NAN], [1, 2])], [], 3 * S)

    assert (rows(grid, 0), rows(grid, 1)) == ([(1, 10, 0)], [(1, 1, 0), (2, 2, 0)])


def test_a_value_goes_stale_after_its_time_and_only_once() -> None:
    one = stage("a")
    one.step([block([1], [10])], [], 2 * S)

    steps = [rows(one.step([], [], t * S)) for t in (5, 6, 7, 20)]

    assert steps == [[], [(6, -1, Q.STALE)], [], []]


def test_a_reading_at_the_very_instant_of_staleness_wins() -> None:
    one = stage("a")

    got = rows(one.step([block([1, 6], [10, 60])], [], 7 * S))

    assert got == [(1, 10, 0), (6, 60, 0)]


def test_a_gap_within_one_step_shows_the_staleness_in_it() -> None:
    one = stage("a")

    got = rows(one.step([block([1, 9], [10, 90])], [], 10 * S))

    assert got == [(1, 10, 0), (6, -1, Q.STALE), (9, 90, 0)]


def test_a_channel_that_never_spoke_goes_stale_from_the_start_of_the_run() -> None:
    assert rows(stage("a").step([], [], 8 * S)) == [(5, -1, Q.STALE)]


def test_a_lost_link_makes_every_value_of_its_instrument_bad_at_once() -> None:
    one = stage("a", "b")
    lost = Control(2 * S, 0, LinkChange("gas", False, "unplugged"))

    grid = one.step([block([1, 2], [10, 20], [1, NAN])], [lost], 3 * S)

    # At 2 s channel a has a reading, and at one instant a reading counts.
    assert rows(grid, 0) == [(1, 10, 0), (2, 20, 0)]
    assert rows(grid, 1) == [(1, 1, 0), (2, -1, Q.LINK_LOST)]


def test_a_kept_value_is_bad_and_does_not_keep_a_channel_from_going_stale() -> None:
    one = stage("a")

    got = rows(one.step([block([4], [10], is_old=True)], [], 6 * S))

    assert [(t_s, quality) for t_s, _, quality in got] == [(4, Q.OLD), (5, Q.STALE)]


def test_rows_that_no_channel_uses_are_counted() -> None:
    one = stage("z")

    one.step([block([1, 2], [10, 20])], [], 3 * S)

    assert one.counts == {"rows that no channel uses": 2}


def test_what_waits_is_bounded_and_what_is_dropped_is_counted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(ingest, "MAX_WAITING_BLOCKS", 2)
    one = stage("a", stale_s=1000)

    one.step([block([t], [t]) for t in (10, 11, 12)], [], 3 * S)

    assert one.counts == {"rows dropped while waiting for W": 1}
    assert rows(one.step([], [], 20 * S)) == [(11, 11, 0), (12, 12, 0)]


def test_waiting_rows_survive_a_restart() -> None:
    one = stage("a")
    one.step([block([1, 4], [10, 40])], [], 2 * S)
    other = stage("a")

    other.load(2 * S, one.last_arrival_ns, one.waiting_bytes())

    assert rows(other.step([], [], 5 * S)) == [(4, 40, 0)]
