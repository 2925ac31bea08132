"""Tests for monitor.engine.rows.

Source: hand-worked here; the random cases compare with a row-by-row reading of the grid.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.engine.rows import Rows, joined, rows_of
from monitor.samples import Grid


def grid(columns: list[list[tuple[int, float, int]]]) -> Grid:
    """Lay out rows (t_ns, value, quality) of each column, padded with rubbish."""
    deepest = max(1, *(len(rows) for rows in columns))
    shape = (deepest, len(columns))
    made = Grid(
        np.full(shape, -1, np.int64),
        np.full(shape, -1.0),
        np.full(shape, 255, np.uint8),
        np.array([len(rows) for rows in columns], np.int64),
    )
    for column, rows in enumerate(columns):
        for k, (t_ns, value, quality) in enumerate(rows):
            made.t_ns[k, column] = t_ns
            made.value[k, column] = value
            made.quality[k, column] = quality
    return made


def unpacked(rows: Rows) -> list[tuple[int, int, float, int]]:
    return list(
        zip(
            rows.per_row().tolist(),
            rows.t_ns.tolist(),
            rows.value.tolist(),
            rows.quality.tolist(),
            strict=True,
        )
    )


def test_packs_the_wanted_columns_in_the_wanted_order() -> None:
    made = grid([[(1, 1.5, 0)], [], [(2, 2.5, 0), (3, 3.5, 64)]])

    rows = rows_of(made, np.array([2, 1, 0]))

    assert unpacked(rows) == [(0, 2, 2.5, 0), (0, 3, 3.5, 64), (2, 1, 1.5, 0)]


def test_columns_of_equal_length_are_packed_as_well() -> None:
    made = grid([[(1, 1.0, 0), (2, 2.0, 0)], [(5, 5.0, 0), (6, 6.0, 0)]])

    rows = rows_of(made, np.array([0, 1]))

    assert unpacked(rows) == [(0, 1, 1.0, 0), (0, 2, 2.0, 0), (1, 5, 5.0, 0), (1, 6, 6.0, 0)]


def test_a_column_that_nobody_sees_is_left_out() -> None:
    made = grid([[(1, 1.0, 0)], [(9, 9.0, 0)]])

    assert unpacked(rows_of(made, np.array([0]))) == [(0, 1, 1.0, 0)]


def test_a_step_without_rows_packs_to_nothing() -> None:
    rows = rows_of(grid([[], []]), np.array([0, 1]))

    assert len(rows) == 0
    assert rows.start.tolist() == [0]


@pytest.mark.parametrize("seed", range(5))
def test_joining_gives_each_channel_its_rows_oldest_first(seed: int) -> None:
    random = np.random.default_rng(seed)
    expected: dict[int, list[tuple[int, int, float, int]]] = {c: [] for c in range(4)}
    parts = []
    for step in range(6):
        columns = [
            [(step * 10 + k, float(random.integers(9)), 0) for k in range(random.integers(4))]
            for _ in range(4)
        ]
        for channel, rows in enumerate(columns):
            expected[channel] += [(channel, *row) for row in rows]
        parts.append(rows_of(grid(columns), np.arange(4)))

    assert unpacked(joined(parts)) == [row for rows in expected.values() for row in rows]


def test_joining_one_part_gives_that_part() -> None:
    part = rows_of(grid([[(1, 1.0, 0)]]), np.array([0]))

    assert joined([part]) is part
