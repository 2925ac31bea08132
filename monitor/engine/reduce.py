"""Many rows to few: minimum, maximum and the gaps of each interval, in their order. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.samples import Flags, Floats, Ints


@dataclass(frozen=True, slots=True)
class Groups:
    """Neighbouring rows of equal key, taken together.

    Attributes:
        start: (groups,) position of each group's first row.
        low: (groups,) smallest value; NaN where the group holds no number.
        high: (groups,) greatest value; NaN where the group holds no number.
        low_at: (groups,) position of the first row with the smallest value.
        high_at: (groups,) position of the first row with the greatest value.
        has_number: (groups,) whether *low* and *high* mean something.
    """

    start: Ints
    low: Floats
    high: Floats
    low_at: Ints
    high_at: Ints
    has_number: Flags


def grouped(key: Ints, value: Floats) -> Groups:
    """Take neighbours of equal *key* together; NaN in *value* is no number.

    Args:
        key: (rows,) at least one row.
        value: (rows,) any unit.
    """
    start = np.flatnonzero(np.concatenate(([True], key[1:] != key[:-1])))
    low = np.fmin.reduceat(value, start)
    if len(start) == len(key):
        return Groups(start, low, low, start, start, ~np.isnan(low))
    high = np.fmax.reduceat(value, start)
    low_at = _first_equal(value, low, start)
    high_at = _first_equal(value, high, start)
    return Groups(start, low, high, low_at, high_at, ~np.isnan(low))


def reduced(
    t_ns: Ints, value: Floats, from_ns: int, until_ns: int, points: int
) -> tuple[Ints, Floats]:
    """Reduce the rows of one channel to *points* intervals of equal length.

    Each interval keeps its minimum, its maximum and its first gap (NaN), as real rows in
    their order. Rows come back as they are where they are few enough.

    Args:
        t_ns: (rows,) rising.
        value: (rows,) NaN as gaps.
        from_ns: Begin of the first interval.
        until_ns: End of the last interval.
        points: Number of intervals.
    """
    if len(t_ns) <= 2 * points:
        return t_ns, value
    width_ns = max(1, -(-(until_ns - from_ns) // points))
    key = (t_ns - from_ns) // width_ns
    groups = grouped(key, value)
    gap = np.isnan(value)
    gap_at = np.flatnonzero(gap)
    _, first = np.unique(key[gap_at], return_index=True)
    some = groups.has_number
    kept = np.unique(np.concatenate((groups.low_at[some], groups.high_at[some], gap_at[first])))
    return t_ns[kept], value[kept]


def _first_equal(value: Floats, wanted: Floats, start: Ints) -> Ints:
    """Find in each group the first row that has the wanted value; row count where none has."""
    count = np.diff(np.append(start, len(value)))
    at = np.where(value == np.repeat(wanted, count), np.arange(len(value)), len(value))
    return np.minimum.reduceat(at, start)
