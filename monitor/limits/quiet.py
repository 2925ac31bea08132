"""The span of good values that leaves a limit, or all limits of a column, where they stand."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import inf, nextafter

import numpy as np

from monitor.limits.delays import Standing
from monitor.limits.plan import Limit
from monitor.samples import FIRST_SPECIAL, Flags, Floats, Grid

EVERYTHING = (-inf, inf)
NOTHING = (inf, -inf)
_UNMOVED = (Standing.IDLE, Standing.DONE)


def quiet_span(
    limit: Limit, standing: int, setpoint: float, *, is_counting: bool
) -> tuple[float, float]:
    """Give the lowest and highest good value that change nothing.

    Args:
        limit: The limit.
        standing: Where it stands.
        setpoint: In force now; NaN for quality kinds.
        is_counting: Whether it goes by n of m, and one of the last samples was beyond.
    """
    if standing in _UNMOVED:
        return EVERYTHING
    if setpoint != setpoint:
        return EVERYTHING if standing == Standing.CLEAR else NOTHING
    if is_counting or (limit.n_of_m[1] and standing != Standing.CLEAR):
        return NOTHING
    rise = setpoint if limit.is_high else -setpoint
    lowest, highest = _upward(limit, standing, rise)
    return (lowest, highest) if limit.is_high else (-highest, -lowest)


def _upward(limit: Limit, standing: int, rise: float) -> tuple[float, float]:
    """Give the span of a high limit, or of the negated value of a low one."""
    fall = rise - limit.deadband
    match standing:
        case Standing.CLEAR if not limit.is_once:
            return -inf, rise
        case Standing.PENDING:
            # What has to come has not come until the value is beyond the deadband.
            return (fall if limit.is_once else nextafter(rise, inf)), inf
        case Standing.ACTIVE | Standing.ASLEEP:
            return fall, inf
        case Standing.CLEARING:
            return -inf, nextafter(fall, -inf)
        case _:
            return NOTHING


class QuietSpans:
    """For each column the values that change nothing for any limit on it.

    Args:
        columns: Number of columns.
        limits: The limits that have a column.
        span_of: Gives the span of a limit, by its position.
    """

    def __init__(
        self,
        columns: int,
        limits: Sequence[Limit],
        span_of: Callable[[int], tuple[float, float]],
    ) -> None:
        """Take everything for quiet; :meth:`mend` makes it true."""
        self._span_of = span_of
        self._by_column: list[list[int]] = [[] for _ in range(columns)]
        for i, limit in enumerate(limits):
            self._by_column[limit.column].append(i)
        self._from: Floats = np.full(columns, -np.inf)
        self._to: Floats = np.full(columns, np.inf)

    def loud(self, grid: Grid) -> Flags | None:
        """Give (columns,) which have a row in which a limit may turn; None when none has."""
        value, quality = grid.value, grid.quality
        # In a block of one row, each call that is saved is a tenth of the whole step.
        is_single = value.shape[0] == 1
        is_quiet = (value[0] if is_single else value.max(axis=0)) <= self._to
        is_quiet &= (value[0] if is_single else value.min(axis=0)) >= self._from
        if quality.max() >= FIRST_SPECIAL:
            is_quiet &= quality.max(axis=0) < FIRST_SPECIAL
        return None if is_quiet.all() else ~is_quiet

    def mend_all(self) -> None:
        """Bring every column up to date."""
        self.mend(range(len(self._by_column)))

    def mend(self, columns: Iterable[int]) -> None:
        """Bring columns up to date after a limit on them moved."""
        for column in columns:
            lowest, highest = -inf, inf
            for i in self._by_column[column]:
                low, high = self._span_of(i)
                if low > lowest:
                    lowest = low
                if high < highest:
                    highest = high
            self._from[column], self._to[column] = lowest, highest
