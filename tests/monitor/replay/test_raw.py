"""Tests for monitor.replay.raw.

Source: hand-worked here.
"""

from __future__ import annotations

import numpy as np

from drivers.reading import Block
from monitor.channels.plan import Linear, Measured
from monitor.record.frame import Frame
from monitor.replay.raw import RawRows
from monitor.samples import Admitted

MEASURED = [
    Measured("PT-1", "panel", "ma", Linear(), 1),
    Measured("PT-2", "panel", "ma", Linear(), 1),
    Measured("TT-1", "panel", "counts", Linear(), 1),
]
NAN = float("nan")


def frame(*rows: tuple[int, float, float], late: list[bool] | None = None) -> Frame:
    """Give a step with rows of time, mA and counts."""
    t_ns = np.array([row[0] for row in rows], np.int64)
    values = np.array([row[1:] for row in rows])
    marks = None if late is None else np.array(late)
    block = Block("panel", ("ma", "counts"), t_ns, values)
    return Frame(1, 0, (Admitted(block, marks),), (), 0, "")


def at(raw: RawRows, tag: str, *t_ns: int) -> list[float]:
    """Ask for times; NaN as -1."""
    return np.nan_to_num(raw.at(tag, np.array(t_ns, np.int64)), nan=-1).tolist()


def test_what_was_sent_is_found_by_channel_and_time() -> None:
    raw = RawRows(MEASURED)
    raw.add([frame((10, 4.0, 7.0), (20, 5.0, NAN)), frame((30, 6.0, 9.0))])

    assert at(raw, "PT-1", 10, 15, 20, 30, 40) == [4.0, -1, 5.0, 6.0, -1]
    assert at(raw, "PT-2", 10) == [4.0]
    assert at(raw, "TT-1", 5, 10, 20, 30) == [-1, 7.0, -1, 9.0]


def test_a_computed_channel_has_nothing_raw() -> None:
    raw = RawRows(MEASURED)
    raw.add([frame((10, 4.0, 7.0))])

    assert at(raw, "PY-1", 10) == [-1]
    assert [len(each) for each in raw.late("PY-1")] == [0, 0]


def test_before_anything_came_nothing_is_found() -> None:
    assert at(RawRows(MEASURED), "PT-1", 10) == [-1]


def test_blocks_may_come_out_of_order_and_of_two_equal_times_the_first_counts() -> None:
    raw = RawRows(MEASURED)
    raw.add([frame((30, 3.0, 1.0)), frame((10, 1.0, 1.0), (30, 9.0, 1.0))])

    assert at(raw, "PT-1", 10, 30) == [1.0, 3.0]


def test_of_many_equal_times_the_first_counts_too() -> None:
    raw = RawRows(MEASURED)
    # Short lists are sorted in order by any method.
    raw.add([frame((10 + number % 2, float(number), 1.0)) for number in range(100)])

    assert at(raw, "PT-1", 10, 11) == [0.0, 1.0]


def test_rows_behind_w_wait_and_the_others_are_dropped() -> None:
    raw = RawRows(MEASURED)
    raw.add([frame((10, 1.0, 1.0), (20, 2.0, 1.0))])
    raw.forget(10)
    raw.add([frame((25, 3.0, 1.0))])

    assert at(raw, "PT-1", 10, 20, 25) == [-1, 2.0, 3.0]


def test_late_rows_are_kept_apart_for_every_channel_until_the_next_step() -> None:
    raw = RawRows(MEASURED)
    raw.add([frame((10, 1.0, NAN), (20, 2.0, 8.0), late=[True, False])])

    late = [[each.tolist() for each in raw.late(tag)] for tag in ("PT-1", "PT-2", "TT-1")]
    raw.forget(0)

    assert late == [[[10], [1.0]], [[10], [1.0]], [[], []]]
    assert at(raw, "PT-1", 10, 20) == [-1, 2.0]
    assert [len(each) for each in raw.late("PT-1")] == [0, 0]


def test_signals_that_no_channel_reads_are_not_kept() -> None:
    raw = RawRows(MEASURED[:1])
    raw.add([frame((10, 1.0, 1.0))])

    assert list(raw._pieces) == [("panel", "ma")]
