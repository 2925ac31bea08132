"""Inputs of different rates on the rows of one of them: each at its last sample until then."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.channels.draft import Draft, Place
from monitor.samples import Bytes, Floats, Ints


@dataclass(frozen=True, slots=True)
class Aligned:
    """An input's samples as they stand at each row of the clock; arrays of (rows,).

    Attributes:
        value: Value of the last sample at or before the row's time.
        quality: Its quality.
        age_ns: How long before the row it was; None where the rows are the very same.
        oldest_ns: The longest of these; 0 where the rows are the very same.
    """

    value: Floats
    quality: Bytes
    age_ns: Ints | None
    oldest_ns: int


def aligned(draft: Draft, column: int, clock: int) -> Aligned:
    """Give *column* on the rows of *clock*, both already filled."""
    grid = draft.grid
    if draft.same_rows[column] == draft.same_rows[clock]:
        return Aligned(grid.value[:, column], grid.quality[:, column], None, 0)
    # Many inputs come by few instruments: where their rows are the same, so are the places.
    key = (int(draft.same_rows[column]), int(draft.same_rows[clock]))
    place = draft.places.get(key)
    if place is None:
        place = draft.places[key] = _place_of(draft, column, clock)
    if place.age_ns is None:
        return _with_held(draft, column, clock, place.row)
    value, quality = grid.value[place.row, column], grid.quality[place.row, column]
    return Aligned(value, quality, place.age_ns, place.oldest_ns)


def _place_of(draft: Draft, column: int, clock: int) -> Place:
    """Find for each row of the clock the last row of *column* until then."""
    grid = draft.grid
    times, clock_ns = grid.t_ns[: int(grid.count[column]), column], grid.t_ns[:, clock]
    row = np.searchsorted(times, clock_ns, side="right") - 1
    if not times.size or row[0] < 0:
        return Place(row, None, 0)
    age_ns = clock_ns - times[row]
    return Place(row, age_ns, int(age_ns.max()))


def _with_held(draft: Draft, column: int, clock: int, row: Ints) -> Aligned:
    """Give a column of which some rows of the clock see the sample from before the step."""
    grid, held = draft.grid, draft.held
    is_held = row < 0
    value = np.where(is_held, held.value[column], grid.value[row, column])
    quality = np.where(is_held, held.quality[column], grid.quality[row, column])
    t_ns = np.where(is_held, held.t_ns[column], grid.t_ns[row, column])
    age_ns = grid.t_ns[:, clock] - t_ns
    return Aligned(value, quality, age_ns, int(age_ns.max()))
