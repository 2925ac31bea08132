"""The grid of one step in the making, and each column's newest sample from before the step."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from monitor.channels.plan import ChannelsPlan
from monitor.samples import Bytes, Floats, Grid, Ints, Quality

Number = TypeVar("Number", np.float64, np.uint8)

#: A number beyond it, of either sign, counts as not finite: differences and means of what is
#: within can then not overflow.
LARGEST = 1e300


@dataclass(frozen=True, slots=True)
class Held:
    """The newest sample of every column; arrays of (channels,)."""

    t_ns: Ints
    value: Floats
    quality: Bytes


@dataclass(frozen=True, slots=True)
class Since:
    """From rows at *first_ns* on, the phase counts from *start_ns*.

    The two differ for a phase that a reading brings: the rows of that instant come before it.
    """

    first_ns: int
    start_ns: int


def held_at_start(plan: ChannelsPlan, start_ns: int) -> Held:
    """Nothing has come yet; of the system channels it is known that nothing is wrong."""
    columns = len(plan.column)
    value = np.full(columns, np.nan)
    quality = np.full(columns, Quality.WAITING, dtype=np.uint8)
    system = slice(len(plan.measured), len(plan.measured) + len(plan.system))
    value[system] = 0.0
    quality[system] = Quality.GOOD
    return Held(np.full(columns, start_ns, dtype=np.int64), value, quality)


@dataclass(frozen=True, slots=True)
class Place:
    """Where rows of one column stand as seen from the rows of another.

    Attributes:
        row: (rows,) the last row until then; negative where that is from before the step.
        age_ns: (rows,) how long before it was; None where any is from before the step.
        oldest_ns: The longest of these.
    """

    row: Ints
    age_ns: Ints | None
    oldest_ns: int


@dataclass(slots=True)
class Draft:
    """A grid whose columns are filled from left to right, stage by stage.

    Attributes:
        grid: Columns that no stage has filled yet show the held sample.
        raw: (rows, measured) raw numbers, padded as the grid is.
        same_rows: (channels,) columns with the same number here have the very same rows.
        held: The newest samples from before this step.
        places: What was found of two columns by their numbers in *same_rows*.
    """

    grid: Grid
    raw: Floats
    same_rows: Ints
    held: Held
    places: dict[tuple[int, int], Place] = field(default_factory=dict)

    def idle(self, first: int, last: int) -> Ints:
        """Give the columns from *first* up to *last* that got no row in this step."""
        return first + np.flatnonzero(self.grid.count[first:last] == 0)

    def hold(self, columns: Ints) -> None:
        """Let *columns* show the held sample in every row."""
        if columns.size:
            self.grid.t_ns[:, columns] = self.held.t_ns[columns]
            self.grid.value[:, columns] = self.held.value[columns]
            self.grid.quality[:, columns] = self.held.quality[columns]

    def newest(self) -> Held:
        """Give the newest sample of every column after this step: the padding repeats it."""
        grid = self.grid
        return Held(grid.t_ns[-1].copy(), grid.value[-1].copy(), grid.quality[-1].copy())


def draft_of(held: Held, rows: int, measured: int) -> Draft:
    """Start a draft of at least one row in which every column shows its held sample."""
    shape = (rows, held.t_ns.size)
    grid = Grid(
        np.empty(shape, dtype=np.int64),
        np.empty(shape, dtype=np.float64),
        np.empty(shape, dtype=np.uint8),
        np.zeros(shape[1], dtype=np.int64),
    )
    grid.t_ns[:] = held.t_ns
    grid.value[:] = held.value
    grid.quality[:] = held.quality
    same_rows = alone(shape[1])
    return Draft(grid, np.zeros((rows, measured), dtype=np.float64), same_rows, held)


def alone(columns: int) -> Ints:
    """Give numbers for :attr:`Draft.same_rows` that no two columns share.

    Negative: those that are shared count up from 0.
    """
    return np.arange(-columns, 0, dtype=np.int64)


def padded(values: NDArray[Number], count: Ints) -> NDArray[Number]:
    """Repeat in (rows, columns) the last own row of each column, of which it has *count*.

    Columns without any get their first row.
    """
    rows = values.shape[0]
    if not count.size or count.min() >= rows:
        return values
    row = np.minimum(np.arange(rows)[:, None], np.maximum(count - 1, 0))
    return np.take_along_axis(values, row, axis=0)


def grown(draft: Draft, rows: int) -> Draft:
    """Give a draft of *rows* rows, the new ones repeating the last."""
    more = rows - draft.raw.shape[0]
    grid = draft.grid
    return Draft(
        Grid(
            np.concatenate([grid.t_ns, np.repeat(grid.t_ns[-1:], more, axis=0)]),
            np.concatenate([grid.value, np.repeat(grid.value[-1:], more, axis=0)]),
            np.concatenate([grid.quality, np.repeat(grid.quality[-1:], more, axis=0)]),
            grid.count,
        ),
        np.concatenate([draft.raw, np.repeat(draft.raw[-1:], more, axis=0)]),
        draft.same_rows,
        draft.held,
    )
