"""A grid cut in two at an instant."""

from __future__ import annotations

import numpy as np

from monitor.samples import Grid, Ints


def cut(grid: Grid, t_ns: int) -> tuple[Grid, Grid]:
    """Cut a grid in two: the rows before *t_ns*, and the rows from it on."""
    if not grid.value.shape[0]:
        return grid, grid
    owns = np.arange(grid.value.shape[0])[:, None] < grid.count[None, :]
    early = np.count_nonzero((grid.t_ns < t_ns) & owns, axis=0)
    return _rows(grid, np.zeros_like(early), early), _rows(grid, early, grid.count - early)


def _rows(grid: Grid, first: Ints, count: Ints) -> Grid:
    """Take *count* rows of each column from row *first* on, padded with the last of them.

    A column without rows of its own is padded with what it has nearest; nobody looks there.
    """
    height = int(count.max(initial=0))
    row = first[None, :] + np.minimum(np.arange(height)[:, None], count[None, :] - 1)
    row = np.clip(row, 0, grid.value.shape[0] - 1)
    return Grid(
        np.take_along_axis(grid.t_ns, row, axis=0),
        np.take_along_axis(grid.value, row, axis=0),
        np.take_along_axis(grid.quality, row, axis=0),
        count.astype(np.int64),
    )
