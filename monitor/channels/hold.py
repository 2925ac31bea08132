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
class Rows:
    """The rows of this step, and what held before it.

    Attributes:
        grid: Filled as far as the columns are computed.
        last_t_ns: (columns,) time of the newest sample before this step.
        last_value: (columns,) its value.
        last_quality: (columns,) its quality.
        group: For each column: columns of one group have the same times; -1: its own.
        is_good: For each column, whether all its rows are good.
    """

    grid: Grid
    last_t_ns: Ints
    last_value: Floats
    last_quality: Bytes
    group: list[int]
    is_good: list[bool]


@dataclass(slots=True)
class Input:
    """One input of something computed, at each row of the clock.

    *t_ns* and *quality* are None where every row is of that very instant, and good.
    """

    value: Floats
    t_ns: Ints | None
    quality: Bytes | None


def input_at(rows: Rows, column: int, clock: int) -> Input:
    """Give the samples of *column* that hold at the rows of *clock*.

    A sample at the very instant of a row holds for it.
    """
    grid = rows.grid
    height, n = int(grid.count[clock]), int(grid.count[column])
    is_same = column == clock or (rows.group[column] == rows.group[clock] >= 0)
    if is_same:
        quality = None if rows.is_good[column] else grid.quality[:n, column]
        return Input(grid.value[:n, column], None, quality)
    t_ns = grid.t_ns[:n, column]
    index = np.searchsorted(t_ns, grid.t_ns[:height, clock], side="right") - 1
    came = index >= 0
    return Input(
        _either(came, grid.value[:n, column], index, rows.last_value[column]),
        _either(came, t_ns, index, rows.last_t_ns[column]),
        _either(came, grid.quality[:n, column], index, rows.last_quality[column]),
    )


def joined_quality(t_ns: Ints, inputs: list[Input], largest_skew_ns: int) -> Bytes:
    """Give the quality of something computed at *t_ns* from *inputs*."""
    joined = np.zeros(t_ns.shape, dtype=np.uint8)
    qualities = [one.quality for one in inputs if one.quality is not None]
    for quality in qualities:
        joined[quality >= FIRST_UNCERTAIN] = Quality.INPUT_UNCERTAIN
    for one in inputs:
        if one.t_ns is not None:
            joined[t_ns - one.t_ns > largest_skew_ns] = Quality.SKEWED
    for quality in qualities:
        joined[quality >= FIRST_BAD] = Quality.INPUT_BAD
    return joined


def _either(came: Flags, rows: NDArray[_Type], index: Ints, before: Any) -> NDArray[_Type]:
    """Give rows[index] where a row had come, else what was held before."""
    out: NDArray[_Type] = np.full(index.shape, before, dtype=rows.dtype)
    out[came] = rows[index[came]]
    return out
