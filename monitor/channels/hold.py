"""Channels of different rates on one clock: each row sees the newest sample of the others."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from monitor.samples import (
    FIRST_BAD,
    FIRST_UNCERTAIN,
    Bytes,
    Flags,
    Floats,
    Grid,
    Ints,
    Quality,
)

_Type = TypeVar("_Type", bound=np.generic)


@dataclass(slots=True)
class Held:
    """Newest sample of every column before the present step; one row a column."""

    t_ns: Ints
    value: Floats
    quality: Bytes


def rows_at(
    grid: Grid, held: Held, column: int, clock: int, height: int
) -> tuple[Ints, Floats, Bytes]:
    """Give the samples of *column* that hold at the first *height* rows of *clock*.

    Returns:
        (t_ns, value, quality) of those samples, each (height,). Of equal times the sample
        at that very instant holds.
    """
    t_clock = grid.t_ns[:height, clock]
    n = int(grid.count[column])
    t_ns = grid.t_ns[:n, column]
    if n == height and np.array_equal(t_ns, t_clock):
        return t_ns, grid.value[:n, column], grid.quality[:n, column]
    index = np.searchsorted(t_ns, t_clock, side="right") - 1
    came = index >= 0
    return (
        _either(came, t_ns, index, held.t_ns[column]),
        _either(came, grid.value[:n, column], index, held.value[column]),
        _either(came, grid.quality[:n, column], index, held.quality[column]),
    )


def _either(came: Flags, rows: NDArray[_Type], index: Ints, before: Any) -> NDArray[_Type]:
    """Give rows[index] where a row had come, else what was held before."""
    out: NDArray[_Type] = np.full(index.shape, before, dtype=rows.dtype)
    out[came] = rows[index[came]]
    return out


def joined_quality(
    t_ns: Ints, times: list[Ints], qualities: list[Bytes], largest_skew_ns: int
) -> Bytes:
    """Give the quality of something computed at *t_ns* from samples of several channels."""
    worst = qualities[0]
    for quality in qualities[1:]:
        worst = np.maximum(worst, quality)
    joined = np.zeros(t_ns.shape, dtype=np.uint8)
    if worst.size and worst.max() >= FIRST_UNCERTAIN:
        joined[worst >= FIRST_UNCERTAIN] = Quality.INPUT_UNCERTAIN
    for held_ns in times:
        if held_ns is not t_ns:
            joined[t_ns - held_ns > largest_skew_ns] = Quality.SKEWED
    if worst.size and worst.max() >= FIRST_BAD:
        joined[worst >= FIRST_BAD] = Quality.INPUT_BAD
    return joined
