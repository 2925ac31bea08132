"""The rows that one step gave to the channels people see, packed without padding."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from monitor.samples import Bytes, Floats, Grid, Ints


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of some channels, channel after channel.

    Attributes:
        channel: (touched,) positions of the channels that got rows, rising.
        start: (touched + 1,) channel *k* of *channel* owns rows ``start[k]:start[k + 1]``.
        t_ns: (rows,) int64, strictly rising within a channel.
        value: (rows,) float64, NaN where bad.
        quality: (rows,) uint8, see ``monitor.samples.Quality``.
    """

    channel: Ints
    start: Ints
    t_ns: Ints
    value: Floats
    quality: Bytes

    def __len__(self) -> int:
        """Count the rows."""
        return len(self.t_ns)

    def per_row(self) -> Ints:
        """Give the channel of each row."""
        return np.repeat(self.channel, np.diff(self.start))


def rows_of(grid: Grid, columns: Ints) -> Rows:
    """Pack what *columns* of *grid* got; position *i* of *columns* becomes channel *i*."""
    count = grid.count[columns]
    channel = np.flatnonzero(count)
    count = count[channel]
    start = _starts(count)
    deepest = int(count.max()) if len(count) else 0
    where = (slice(deepest), columns[channel])
    if deepest * len(count) == start[-1]:
        mine: slice | np.ndarray[tuple[int, int], np.dtype[np.bool_]] = slice(None)
    else:
        mine = np.arange(deepest) < count[:, None]
    return Rows(
        channel,
        start,
        grid.t_ns[where].T[mine].ravel(),
        grid.value[where].T[mine].ravel(),
        grid.quality[where].T[mine].ravel(),
    )


def joined(parts: Sequence[Rows]) -> Rows:
    """Join the rows of several steps, oldest first, into one."""
    if len(parts) == 1:
        return parts[0]
    of_row = np.concatenate([part.per_row() for part in parts])
    order = np.argsort(of_row, kind="stable")
    channel, count = np.unique(of_row, return_counts=True)
    return Rows(
        channel,
        _starts(count),
        np.concatenate([part.t_ns for part in parts])[order],
        np.concatenate([part.value for part in parts])[order],
        np.concatenate([part.quality for part in parts])[order],
    )


def _starts(count: Ints) -> Ints:
    """Turn lengths into first positions, with the end behind them."""
    start = np.zeros(len(count) + 1, np.int64)
    np.cumsum(count, out=start[1:])
    return start
