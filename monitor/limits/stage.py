"""All limits of a stand over one step: a quick look at all, an exact one where needed."""

from __future__ import annotations

from collections.abc import Sequence
from math import nan

import numpy as np

from monitor.limits.compare import Comparison, Seen, setpoints_at
from monitor.limits.counted import Counted
from monitor.limits.delays import NEVER, Delays, Standing
from monitor.limits.edges import Edge
from monitor.limits.edits import LimitNow, edited, loaded_edits, saved_edits
from monitor.limits.plan import NO_COLUMN, Limit, Place
from monitor.limits.quiet import QuietSpans, quiet_span
from monitor.limits.turns import sights_of
from monitor.samples import (
    FIRST_BAD,
    Bytes,
    Flags,
    Floats,
    Grid,
    Ints,
    Quality,
)

_NO_SAMPLE = (nan, int(Quality.GOOD), nan)


class Limits:
    """Samples in, edges out.

    Each column has a span of values that changes nothing for any limit on it, wherever these
    stand. The quick look is one minimum and one maximum over the block against these spans.
    Only columns outside, or with special quality, are looked at sample by sample, and there
    only the samples at which the comparison changes are walked in time.

    Attributes:
        place: The phase and mode whose setpoints are in force.
    """

    def __init__(
        self,
        limits: Sequence[Limit],
        columns: int,
        place: Place,
        start_ns: int,
        of_phase: Sequence[int] = (),
    ) -> None:
        """Start with every limit clear.

        Args:
            limits: In the order of the plan; those without a column last, no combination.
            columns: Number of columns in the grids to come.
            place: The phase and mode at first.
            start_ns: From when on limits are watched.
            of_phase: Columns that count from a phase's beginning: forgotten when one begins.
        """
        self._of_phase = list(of_phase)
        self._planned = tuple(limits)
        self._limits = list(limits)
        self.place = place
        #: Those with a column come first.
        self._valued = sum(limit.column != NO_COLUMN for limit in limits)
        self._compare = Comparison(limits[: self._valued], place)
        self._delays = Delays(limits)
        self._counted = Counted(limits)
        self._quiet = QuietSpans(columns, limits[: self._valued], self._quiet_span)
        self._held_value: Floats = np.full(columns, np.nan)
        self._held_quality: Bytes = np.full(columns, Quality.WAITING, dtype=np.uint8)
        self._next_due_ns = NEVER
        # Lists beside the arrays: one limit at a time they are ten times as quick.
        self._columns: list[int] = self._compare.column.tolist()
        self._use_setpoints(self._compare.setpoint)
        for i, limit in enumerate(limits):
            self._start(i, limit, start_ns)
        self._quiet.mend_all()
        self._settle()

    def step(self, grid: Grid, until_ns: int) -> list[Edge]:
        """Take the rows up to W = *until_ns*; give the edges up to then."""
        if grid.value.shape[0]:
            has_rows = grid.count > 0
            self._look(grid, has_rows)
            np.copyto(self._held_value, grid.value[-1], where=has_rows)
            np.copyto(self._held_quality, grid.quality[-1], where=has_rows)
        if self._next_due_ns <= until_ns or self._delays.touched:
            self._delays.run_until(until_ns)
            self._settle()
        return self._delays.take_edges()

    def enter(self, place: Place, t_ns: int, *, is_phase: bool) -> list[Edge]:
        """Be in another phase or mode from *t_ns* on: judge the held values anew.

        Args:
            place: Phase and mode from now on.
            t_ns: Since when.
            is_phase: Whether a phase was entered, be it the same again, and not a mode.
        """
        before, self.place = self.place, place
        if is_phase:
            self._held_value[self._of_phase] = nan
            self._held_quality[self._of_phase] = Quality.WAITING
        setpoint = setpoints_at(self._limits[: self._valued], place)
        is_changed = (setpoint != self._compare.setpoint) & self._compare.is_value
        self._use_setpoints(setpoint)
        for i, limit in enumerate(self._limits):
            was, now = limit.is_watched(before), limit.is_watched(place)
            begins_anew = (
                is_phase and place.phase in limit.watched_in and limit.counts_from_phase
            )
            if was and (not now or begins_anew):
                self._delays.leave(i, t_ns, self._held_sample(i))
            if now and (not was or begins_anew):
                self._watch(i, t_ns)
            elif now and i < self._valued and is_changed[i]:
                self._present(i, t_ns)
        self._settle()
        return self._delays.take_edges()

    def edit(self, i: int, changes: dict[str, float], t_ns: int) -> list[Edge]:
        """Change settings of limit *i* from *t_ns* on; judge its held value anew.

        A delay that runs keeps its end. The keys are those of ``monitor.limits.edits``.
        """
        self._take_edited(i, edited(self._limits[i], changes))
        if i < self._valued and self._delays.standing[i] != Standing.IDLE:
            self._present(i, t_ns)
        self._settle()
        return self._delays.take_edges()

    def now(self, i: int) -> LimitNow:
        """Tell what is in force for limit *i*."""
        limit, standing = self._limits[i], self._delays.standing[i]
        return LimitNow(
            setpoint=limit.chosen_setpoint(self.place) if limit.compares else None,
            limit=limit,
            is_edited=limit != self._planned[i],
            is_asleep=standing == Standing.ASLEEP,
            is_watched=standing != Standing.IDLE,
        )

    def _take_edited(self, i: int, limit: Limit) -> None:
        """Put other settings in force."""
        self._limits[i] = limit
        self._delays.change(i, limit)
        self._delays.touched.add(i)
        if i < self._valued:
            self._compare.deadband[i] = limit.deadband
            setpoint = self._compare.setpoint.copy()
            setpoint[i] = limit.chosen_setpoint(self.place) if limit.compares else nan
            self._use_setpoints(setpoint)

    def _start(self, i: int, limit: Limit, start_ns: int) -> None:
        """Watch a limit from the start on, or do not; nothing is held yet."""
        if not limit.is_watched(self.place):
            self._delays.leave(i, start_ns, _NO_SAMPLE)
        elif limit.is_once or limit.is_arming or i >= self._valued:
            self._watch(i, start_ns)

    def _watch(self, i: int, t_ns: int) -> None:
        """Begin to watch a limit with the sample that is held."""
        if i in self._counted:
            self._counted.forget(i)
        if i >= self._valued:
            # A phase that lasts: true from its beginning on.
            self._delays.watch(i, t_ns, Seen.TRUE, _NO_SAMPLE)
            return
        # What sleeps wakes by one value; counted is only what comes after that.
        is_counted = i in self._counted and not self._limits[i].is_arming
        seen = Seen.BETWEEN if is_counted else self._see_held(np.array([i]))[0]
        self._delays.watch(i, t_ns, seen, self._held_sample(i))

    def _present(self, i: int, t_ns: int) -> None:
        """Judge the held sample under what is in force now. A bad one changes nothing.

        Where samples are counted, those that come are judged so, and counting begins anew.
        """
        self._delays.touched.add(i)
        if i in self._counted:
            self._counted.forget(i)
            if self._delays.standing[i] != Standing.ASLEEP:
                return
        if self._held_quality[self._columns[i]] < FIRST_BAD or self._compare.is_once[i]:
            seen = self._see_held(np.array([i]))[0]
            self._delays.see(i, t_ns, seen, self._held_sample(i))

    def _held_sample(self, i: int) -> tuple[float, int, float]:
        """Give value and quality that are held for limit *i*, and its setpoint."""
        if i >= self._valued:
            return _NO_SAMPLE
        column = self._columns[i]
        value, quality = self._held_value[column], self._held_quality[column]
        return float(value), int(quality), self._setpoints[i]

    def _see_held(self, chosen: Ints) -> list[int]:
        """Give what the limits *chosen* see in the held samples under the present setpoints."""
        column = self._compare.column[chosen]
        value, quality = self._held_value[column], self._held_quality[column]
        seen = self._compare.see(chosen, value[None, :], quality[None, :])[0]
        # Before the first sample there is nothing to see, not even something bad.
        is_nothing = (quality == Quality.WAITING) & ~self._compare.is_once[chosen]
        seen[is_nothing] = Seen.BETWEEN
        return list(seen.tolist())

    def _look(self, grid: Grid, has_rows: Flags) -> None:
        """Find the columns where something may turn, and walk those."""
        is_loud = self._quiet.loud(grid)
        if is_loud is None:
            return
        is_loud &= has_rows
        chosen = np.flatnonzero(is_loud[self._compare.column])
        if self._counted:
            is_counted = np.array([i in self._counted for i in chosen.tolist()], dtype=bool)
            self._walk_counted(grid, chosen[is_counted])
            chosen = chosen[~is_counted]
        if chosen.size:
            self._walk(grid, chosen)

    def _walk(self, grid: Grid, chosen: Ints) -> None:
        """Show the limits *chosen* each sample at which what they see changes."""
        sights = sights_of(self._compare, grid, chosen, self._delays, self._quiet_span)
        self._delays.see_all(sights)

    def _walk_counted(self, grid: Grid, chosen: Ints) -> None:
        """Show limits that count every sample that is their own."""
        for i in chosen.tolist():
            column, setpoint = self._columns[i], self._setpoints[i]
            rows = slice(0, int(grid.count[column]))
            value, quality = grid.value[rows, column], grid.quality[rows, column]
            seen = self._compare.see(np.array([i]), value[:, None], quality[:, None])[:, 0]
            times = grid.t_ns[rows, column]
            columns = (array.tolist() for array in (seen, times, value, quality))
            for saw, t_ns, x, q in zip(*columns, strict=True):
                if self._delays.standing[i] == Standing.ASLEEP:
                    self._delays.see(i, t_ns, saw, (x, q, setpoint))
                    continue
                now_seen, first = self._counted.see(i, saw, (t_ns, x, q))
                self._delays.see_since(i, t_ns, now_seen, (*first, setpoint))
            self._delays.touched.add(i)

    def _settle(self) -> None:
        """Bring the quiet spans and the next due time up to date after something moved."""
        touched = self._delays.touched
        if touched:
            column = self._columns
            self._quiet.mend({column[i] for i in touched if i < self._valued})
            touched.clear()
        self._next_due_ns = self._delays.next_due_ns()

    def _quiet_span(self, i: int) -> tuple[float, float]:
        """Give the lowest and highest good value that leave limit *i* where it stands."""
        is_counting = i in self._counted and not self._counted.is_blank(i)
        return quiet_span(
            self._limits[i],
            self._delays.standing[i],
            self._setpoints[i],
            is_counting=is_counting,
        )

    def _use_setpoints(self, setpoint: Floats) -> None:
        """Put *setpoint* in force."""
        self._compare.setpoint = setpoint
        self._setpoints: list[float] = setpoint.tolist()

    def state(self) -> dict[str, Ints | Floats | Bytes]:
        """Give everything that must outlive a restart."""
        state = self._delays.state() | self._counted.state()
        state["place"] = saved_edits(self.place, self._limits, self._planned)
        state["held_value"] = self._held_value.copy()
        state["held_quality"] = self._held_quality.copy()
        return state

    def load_state(self, state: dict[str, Ints | Floats | Bytes]) -> None:
        """Take back what :meth:`state` gave."""
        self.place, edits = loaded_edits(state["place"], self._planned)
        self._use_setpoints(setpoints_at(self._limits[: self._valued], self.place))
        for i, limit in edits.items():
            self._take_edited(i, limit)
        self._delays.load_state(state)
        self._counted.load_state(state)
        self._held_value = np.array(state["held_value"], dtype=np.float64)
        self._held_quality = np.array(state["held_quality"], dtype=np.uint8)
        self._delays.last_seen[: self._valued] = self._see_held(np.arange(self._valued))
        self._quiet.mend_all()
        self._settle()
