"""Hidden columns that tell of a channel how it moves, whether it does, and when it came on.

A figure of a value that saturates its sensor is no bound of anything: a line through clipped
values is no line, so it starts afresh; the others are uncertain.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.channels.draft import LARGEST, Draft, Held, Since, padded
from monitor.channels.plan import ChannelsPlan, Derived, NoStart, Slope, TimeTo, Unchanged
from monitor.channels.profile import Profiles
from monitor.channels.trend import Trends
from monitor.channels.windows import Windows
from monitor.samples import (
    FIRST_BAD,
    FIRST_SPECIAL,
    Bytes,
    Flags,
    Floats,
    Grid,
    Ints,
    Quality,
)


class _Group:
    """The derived columns of some kinds, and where they and their sources are."""

    def __init__(self, plan: ChannelsPlan, rows: Sequence[Derived]) -> None:
        column = plan.column
        self.to: Ints = np.array([column[row.tag] for row in rows], dtype=np.int64)
        self.source: Ints = np.array([column[row.source] for row in rows], dtype=np.int64)


class DerivedChannels:
    """Fills the derived columns: same rows as their source, each with a meaning of its own."""

    def __init__(self, plan: ChannelsPlan, start_ns: int) -> None:
        """Group the columns by kind, so that each kind runs on all its columns at once."""
        slopes = [row for row in plan.derived if isinstance(row, Slope)]
        times = [row for row in plan.derived if isinstance(row, TimeTo)]
        unchanged = [row for row in plan.derived if isinstance(row, Unchanged)]
        starts = [row for row in plan.derived if isinstance(row, NoStart)]
        self._trends, self._trended = Trends(slopes, times), _Group(plan, [*slopes, *times])
        self._windows = Windows(self._trends.window_ns)
        self._unchanged = _Group(plan, unchanged)
        self._band: Floats = np.array([row.band for row in unchanged], dtype=np.float64)
        #: Where each channel last changed; NaN where it has not come yet. What is bad is no
        #: change: a sensor that is stuck and now and then bad is stuck.
        self._changed_at: Floats = np.full(len(unchanged), np.nan)
        self._starts = _Group(plan, starts)
        self._was_on: Flags = np.zeros(len(starts), dtype=np.bool_)
        self.profiles = Profiles(plan, start_ns)

    def run(self, draft: Draft) -> None:
        """Fill all columns but those less a profile; the sources are filled already."""
        if self._trended.to.size:
            self._run_trends(draft)
        if self._unchanged.to.size:
            self._run_unchanged(draft)
        if self._starts.to.size:
            self._run_starts(draft)

    def finish(self, grid: Grid, since: Sequence[Since], held: Held) -> None:
        """Fill the columns less a profile, and bring *held* up to date."""
        self.profiles.fill(grid, since)
        columns = self.profiles.columns
        held.t_ns[columns] = grid.t_ns[-1, columns]
        held.value[columns] = grid.value[-1, columns]
        held.quality[columns] = grid.quality[-1, columns]

    def _run_trends(self, draft: Draft) -> None:
        """Fill slopes and times to bounds."""
        grid, source = draft.grid, self._trended.source
        quality = grid.quality[:, source]
        quality[_is_saturated(quality)] = Quality.INPUT_BAD
        value = np.where(quality >= FIRST_BAD, np.nan, grid.value[:, source])
        sums = self._windows.step(grid.t_ns[:, source], value, grid.count[source])
        figures, is_full = self._trends.of(sums)
        found, is_open = figures.T, quality < FIRST_BAD
        quality[is_open & ~(np.abs(found) <= LARGEST)] = Quality.NOT_FINITE
        quality[is_open & ~is_full.T] = Quality.FILLING
        found[quality >= FIRST_BAD] = np.nan
        _write(draft, self._trended, found, quality)

    def _run_unchanged(self, draft: Draft) -> None:
        """Tell row by row which channels stay where they are."""
        value = draft.grid.value[:, self._unchanged.source]
        found = np.empty_like(value)
        changed_at = self._changed_at
        for k in range(value.shape[0]):
            x = value[k]
            stays = np.abs(x - changed_at) <= self._band
            changed_at = np.where(stays | np.isnan(x), changed_at, x)
            found[k] = stays
        self._changed_at = changed_at
        self._write_flags(draft, self._unchanged, found)

    def _run_starts(self, draft: Draft) -> None:
        """Tell in which rows channels come on."""
        grid, source = draft.grid, self._starts.source
        is_on = grid.value[:, source] >= 0.5
        is_good = grid.quality[:, source] < FIRST_BAD
        # Behind what was before the step, numbered from 0: each row's last good one so far.
        number = np.arange(1, is_on.shape[0] + 1)[:, None]
        last = np.maximum.accumulate(np.where(is_good, number, 0), axis=0)
        states = np.concatenate([self._was_on[None, :], is_on])
        before = np.concatenate([np.zeros_like(last[:1]), last[:-1]])
        was_on = np.take_along_axis(states, before, axis=0)
        self._was_on = np.take_along_axis(states, last[-1:], axis=0)[0]
        self._write_flags(draft, self._starts, (~is_on | was_on).astype(np.float64))

    def _write_flags(self, draft: Draft, group: _Group, found: Floats) -> None:
        """Write 0 and 1 with the quality of their sources."""
        quality = draft.grid.quality[:, group.source]
        quality[_is_saturated(quality)] = Quality.INPUT_UNCERTAIN
        found[quality >= FIRST_BAD] = np.nan
        _write(draft, group, found, quality)

    def state(self) -> dict[str, NDArray[Any]]:
        """Give what must outlive a restart, as arrays by name."""
        starts = [self.profiles.run_start_ns, self.profiles.phase_start_ns]
        return {
            "starts_ns": np.array(starts, dtype=np.int64),
            "changed_at": self._changed_at,
            "was_on": self._was_on,
            **self._windows.state("trend"),
        }

    def load_state(self, state: Mapping[str, NDArray[Any]]) -> None:
        """Go on from :meth:`state`."""
        starts_ns: list[int] = state["starts_ns"].tolist()
        self.profiles.run_start_ns, self.profiles.phase_start_ns = starts_ns
        self._changed_at = state["changed_at"]
        self._was_on = state["was_on"]
        self._windows = Windows.restored(self._trends.window_ns, "trend", state)


def _is_saturated(quality: Bytes) -> Flags:
    """Tell where a value is only a bound."""
    found: Flags = (quality >= FIRST_SPECIAL) & (quality < FIRST_BAD)
    return found


def _write(draft: Draft, group: _Group, value: Floats, quality: Bytes) -> None:
    """Write columns, padded, on the rows of their sources; idle ones show what is held."""
    grid, source, to = draft.grid, group.source, group.to
    count = grid.count[source]
    grid.t_ns[:, to] = grid.t_ns[:, source]
    grid.value[:, to] = padded(value, count)
    grid.quality[:, to] = padded(quality, count)
    grid.count[to] = count
    draft.same_rows[to] = draft.same_rows[source]
    draft.hold(to[count == 0])
