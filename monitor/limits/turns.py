"""The samples at which what a limit sees changes: only these move it."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence

import numpy as np

from monitor.limits.compare import Comparison, Seen
from monitor.limits.delays import Delays, Sight, Standing
from monitor.samples import FIRST_SPECIAL, Grid, Ints

#: From so many rows on, columns are looked at one by one, each laid out in one piece.
_LONG = 64


def sights_of(
    compare: Comparison,
    grid: Grid,
    chosen: Ints,
    delays: Delays,
    span_of: Callable[[int], tuple[float, float]],
) -> Iterator[Sight]:
    """Give the turns of the limits *chosen*, limit by limit, each in time order.

    Args:
        compare: The limits.
        grid: The block, at least one row.
        chosen: Positions of limits whose columns have rows.
        delays: Where they stand; shown each sight before the next one is asked for.
        span_of: Gives the good values that leave a limit where it stands.
    """
    if grid.value.shape[0] < _LONG:
        return _in_short(compare, grid, chosen, delays.last_seen)
    return _in_long(compare, grid, chosen, delays, span_of)


def _in_short(
    compare: Comparison, grid: Grid, chosen: Ints, last_seen: Sequence[int]
) -> Iterator[Sight]:
    """Compare all at once: calls cost more than numbers."""
    column = compare.column[chosen]
    value, quality = grid.value[:, column], grid.quality[:, column]
    seen = compare.see(chosen, value, quality)
    turns = np.empty(seen.shape, dtype=np.bool_)
    turns[0] = seen[0] != np.array([last_seen[i] for i in chosen.tolist()], dtype=np.int8)
    np.not_equal(seen[1:], seen[:-1], out=turns[1:])
    which, row = np.nonzero(turns.T)
    columns = (
        chosen[which].tolist(),
        grid.t_ns[row, column[which]].tolist(),
        seen[row, which].tolist(),
        value[row, which].tolist(),
        quality[row, which].tolist(),
        compare.setpoint[chosen[which]].tolist(),
    )
    return zip(*columns, strict=True)


def _in_long(
    compare: Comparison,
    grid: Grid,
    chosen: Ints,
    delays: Delays,
    span_of: Callable[[int], tuple[float, float]],
) -> Iterator[Sight]:
    """Compare one limit after the other, leaving out those that the block does not move."""
    by_column: dict[int, list[int]] = {}
    for i, column in zip(chosen.tolist(), compare.column[chosen].tolist(), strict=True):
        by_column.setdefault(column, []).append(i)
    columns = np.array(list(by_column), dtype=np.int64)
    # Row by row as they lie, then turned: column by column would read the block each time.
    values = np.ascontiguousarray(grid.value[:, columns].T)
    qualities = np.ascontiguousarray(grid.quality[:, columns].T)
    for number, (column, limits) in enumerate(by_column.items()):
        value, quality = values[number], qualities[number]
        is_special = bool(quality.max() >= FIRST_SPECIAL)
        lowest, highest = float(value.min()), float(value.max())
        for i in limits:
            low, high = span_of(i)
            if not is_special and low <= lowest and highest <= high:
                continue
            seen = compare.see_one(i, value, quality, is_special=is_special)
            row = np.flatnonzero(seen[1:] != seen[:-1]) + 1
            if seen[0] != delays.last_seen[i]:
                row = np.concatenate(([0], row))
            what = (seen[row], value[row], quality[row])
            sights = (grid.t_ns[row, column].tolist(), *(one.tolist() for one in what))
            yield from _moving(i, delays, sights, float(compare.setpoint[i]))


def _moving(
    i: int,
    delays: Delays,
    sights: tuple[list[int], list[int], list[float], list[int]],
    setpoint: float,
) -> Iterator[Sight]:
    """Give sights of one limit; while it is clear only those that can raise it."""
    t_ns, seen, value, quality = sights
    raising = [k for k, saw in enumerate(seen) if saw > Seen.BETWEEN]
    k = 0
    while k < len(seen):
        if delays.standing[i] == Standing.CLEAR:
            next_one = bisect_left(raising, k)
            if next_one == len(raising):
                delays.last_seen[i] = seen[-1]
                return
            k = raising[next_one]
        yield i, t_ns[k], seen[k], value[k], quality[k], setpoint
        k += 1
