"""Tests for monitor.limits.cutting.

Source: Hand-worked here.
"""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from monitor.limits.cutting import cut
from monitor.samples import Grid


def grid_of(columns: list[list[int]]) -> Grid:
    """Make a padded grid whose values are the times."""
    rows = max(1, *(len(one) for one in columns))
    t_ns = np.array(
        [(one or [0]) + [(one or [0])[-1]] * (rows - max(len(one), 1)) for one in columns]
    ).T.astype(np.int64)
    count = np.array([len(one) for one in columns])
    return Grid(t_ns, t_ns.astype(float), np.zeros(t_ns.shape, np.uint8), count)


def columns_of(grid: Grid) -> list[list[int]]:
    """Give the rows that each column owns."""
    return [grid.t_ns[:n, c].tolist() for c, n in enumerate(grid.count.tolist())]


def test_rows_before_the_instant_come_first_and_those_at_it_with_the_rest() -> None:
    before, after = cut(grid_of([[1, 5, 9], [5, 6], []]), 5)

    assert (columns_of(before), columns_of(after)) == ([[1], [], []], [[5, 9], [5, 6], []])


def test_the_padding_repeats_the_last_row_of_each_part() -> None:
    before, _ = cut(grid_of([[1, 2, 3], [1]]), 4)

    assert before.value[-1].tolist() == [3.0, 1.0]


@given(
    st.lists(
        st.lists(st.integers(0, 30), max_size=6, unique=True).map(sorted),
        min_size=1,
        max_size=4,
    ),
    st.integers(-1, 32),
)
def test_no_row_is_lost_or_moved(columns: list[list[int]], t_ns: int) -> None:
    before, after = cut(grid_of(columns), t_ns)

    pairs = zip(columns_of(before), columns_of(after), strict=True)
    assert [early + late for early, late in pairs] == columns
    assert all(t < t_ns for one in columns_of(before) for t in one)
    assert all(t >= t_ns for one in columns_of(after) for t in one)


def test_nothing_stays_nothing() -> None:
    empty = Grid(
        np.zeros((0, 2), np.int64),
        np.zeros((0, 2)),
        np.zeros((0, 2), np.uint8),
        np.zeros(2, int),
    )

    assert cut(empty, 5)[1].value.shape == (0, 2)
