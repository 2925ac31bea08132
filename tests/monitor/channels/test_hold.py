"""Tests for monitor.channels.hold.

Source: Hand-worked here, from the project's own limit rule 5 (channels of different rates).
"""

from __future__ import annotations

import numpy as np

from monitor.channels.hold import Input, Rows, input_at, joined_quality
from monitor.samples import Grid, Quality

Q = Quality


def rows() -> Rows:
    """Column 0 is a clock at 10, 20, 30; column 1 has rows at 20 and 25; 2 shares 0's times."""
    t_ns = np.array([[10, 20, 10], [20, 25, 20], [30, 25, 30]], dtype=np.int64)
    value = np.array([[1.0, 5.0, 7.0], [2.0, 6.0, 8.0], [3.0, 6.0, 9.0]])
    grid = Grid(t_ns, value, np.zeros((3, 3), dtype=np.uint8), np.array([3, 2, 3]))
    held = np.array([0, 4, 0], dtype=np.int64)
    before = np.array([0.0, 4.5, 0.0])
    return Rows(grid, held, before, np.zeros(3, dtype=np.uint8), [0, 1, 0], [True] * 3)


def test_each_row_sees_the_newest_sample_and_one_of_its_own_instant() -> None:
    one = input_at(rows(), 1, 0)

    assert one.value.tolist() == [4.5, 5.0, 6.0]
    assert one.t_ns is not None
    assert one.t_ns.tolist() == [4, 20, 25]


def test_columns_of_one_group_need_no_search() -> None:
    one = input_at(rows(), 2, 0)

    assert (one.value.tolist(), one.t_ns, one.quality) == ([7.0, 8.0, 9.0], None, None)


def test_an_input_older_than_the_largest_skew_makes_the_result_bad() -> None:
    t_ns = np.array([10, 20, 30], dtype=np.int64)
    one = Input(np.zeros(3), np.array([4, 10, 19], dtype=np.int64), None)

    assert joined_quality(t_ns, [one], 10).tolist() == [Q.GOOD, Q.GOOD, Q.SKEWED]


def test_the_worst_of_the_inputs_counts() -> None:
    t_ns = np.array([1, 2, 3], dtype=np.int64)
    good = Input(np.zeros(3), None, None)
    other = Input(np.zeros(3), None, np.array([0, 0x40, 0x83], dtype=np.uint8))

    assert joined_quality(t_ns, [good, other], 10).tolist() == [
        Q.GOOD,
        Q.INPUT_UNCERTAIN,
        Q.INPUT_BAD,
    ]
