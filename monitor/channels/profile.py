"""Channels less a profile over the time since the phase or the run began."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from monitor.channels.draft import LARGEST, Since
from monitor.channels.plan import ChannelsPlan, OffProfile
from monitor.samples import FIRST_BAD, Bytes, Floats, Grid, Ints, Quality


@dataclass(frozen=True, slots=True)
class _Work:
    """One such column, ready to run."""

    column: int
    source: int
    at_ns: Ints
    value: Floats
    plan: OffProfile


class Profiles:
    """Fills the columns of kind OffProfile, once the phases of a step are known.

    Attributes:
        run_start_ns: When the run began.
        phase_start_ns: When the phase began that rows to come are in.
    """

    def __init__(self, plan: ChannelsPlan, start_ns: int) -> None:
        """Begin the run and its first phase at *start_ns*."""
        self.run_start_ns = start_ns
        self.phase_start_ns = start_ns
        self._work = tuple(
            _work(row, plan) for row in plan.derived if isinstance(row, OffProfile)
        )
        self.columns: Ints = np.array([work.column for work in self._work], dtype=np.int64)

    def fill(self, grid: Grid, since: Sequence[Since]) -> None:
        """Fill the columns; the other ones are filled already.

        Args:
            grid: Where these columns show held samples until now.
            since: The phases that began in this step, in their order.
        """
        first_ns: Ints = np.array([one.first_ns for one in since], dtype=np.int64)
        starts = [self.phase_start_ns, *(one.start_ns for one in since)]
        start_ns: Ints = np.array(starts, dtype=np.int64)
        self.phase_start_ns = starts[-1]
        for work in self._work:
            if grid.count[work.source] == 0:
                continue
            t_ns = grid.t_ns[:, work.source]
            if work.plan.is_over_run:
                elapsed_ns = t_ns - self.run_start_ns
            else:
                elapsed_ns = t_ns - start_ns[np.searchsorted(first_ns, t_ns, side="right")]
            _fill(grid, work, elapsed_ns)


def _fill(grid: Grid, work: _Work, elapsed_ns: Ints) -> None:
    """Fill one column that has rows."""
    column, source = work.column, work.source
    value = grid.value[:, source] - interpolated(work.at_ns, work.value, elapsed_ns)
    quality = grid.quality[:, source].copy()
    if work.plan.is_absolute:
        quality = _without_sign(value, quality)
        value = np.abs(value)
    quality[~(np.abs(value) <= LARGEST) & (quality < FIRST_BAD)] = Quality.NOT_FINITE
    grid.t_ns[:, column] = grid.t_ns[:, source]
    grid.value[:, column] = np.where(quality >= FIRST_BAD, np.nan, value)
    grid.quality[:, column] = quality
    grid.count[column] = grid.count[source]


def _without_sign(value: Floats, quality: Bytes) -> Bytes:
    """Say what a saturated input means for the distance.

    A value that is at least so far above is at least so far away. One that is at least so far
    below may be anywhere.
    """
    is_high, is_low = quality == Quality.SATURATED_HIGH, quality == Quality.SATURATED_LOW
    is_beyond = (is_high & (value >= 0.0)) | (is_low & (value <= 0.0))
    quality[is_high | is_low] = Quality.INPUT_UNCERTAIN
    quality[is_beyond] = Quality.SATURATED_HIGH
    return quality


def interpolated(at_ns: Ints, value: Floats, t_ns: Ints) -> Floats:
    """Give a profile at *t_ns*: linear between its points, and their end values beyond."""
    after = np.clip(np.searchsorted(at_ns, t_ns, side="right"), 1, at_ns.size - 1)
    if at_ns.size == 1:
        return np.full(t_ns.shape, value[0])
    before = after - 1
    gone_ns = np.maximum(t_ns - at_ns[before], 0).astype(np.float64)
    share = gone_ns / (at_ns[after] - at_ns[before]).astype(np.float64)
    between = value[before] + share * (value[after] - value[before])
    found: Floats = np.where(t_ns >= at_ns[-1], value[-1], between)
    return found


def _work(row: OffProfile, plan: ChannelsPlan) -> _Work:
    """Resolve one column.

    Raises:
        ValueError: Its profile has no point, or goes back in time.
    """
    times = [t_ns for t_ns, _ in row.points]
    if not times or times != sorted(set(times)):
        raise ValueError(f"{row.tag}: a profile needs points, rising in time")
    return _Work(
        plan.column[row.tag],
        plan.column[row.source],
        np.array(times, dtype=np.int64),
        np.array([value for _, value in row.points], dtype=np.float64) + 0.0,
        row,
    )
