"""All limits of a stand over one step: a quick look at all, an exact one where needed."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, nextafter

import numpy as np

from monitor.limits.compare import Comparison, Seen
from monitor.limits.delays import NEVER, Delays, Standing
from monitor.limits.edges import Edge
from monitor.limits.plan import Limit
from monitor.samples import (
    FIRST_SPECIAL,
    Bytes,
    Flags,
    Floats,
    Grid,
    Ints,
    Quality,
)


class Limits:
    """Samples in, edges out.

    Each column has a span of values that changes nothing for any limit on it, wherever these
    stand. The quick look is one minimum and one maximum over the block against these spans.
    Only columns outside, or with special quality, are looked at sample by sample, and there
    only the samples at which the comparison changes are walked in time.
    """

    def __init__(self, limits: Sequence[Limit], columns: int, phase: str) -> None:
        """Start with every limit clear.

        Args:
            limits: In the order of the plan.
            columns: Number of columns in the grids to come.
            phase: The phase whose setpoints are in force at first.
        """
        self._compare = Comparison(limits)
        self._delays = Delays(limits)
        self._by_column: list[list[int]] = [[] for _ in range(columns)]
        for i, limit in enumerate(limits):
            self._by_column[limit.column].append(i)
        self._quiet_from: Floats = np.full(columns, -np.inf)
        self._quiet_to: Floats = np.full(columns, np.inf)
        self._held_value: Floats = np.full(columns, np.nan)
        self._held_quality: Bytes = np.full(columns, Quality.WAITING, dtype=np.uint8)
        self._next_due_ns = NEVER
        # Lists beside the arrays: one limit at a time they are ten times as quick.
        self._columns: list[int] = self._compare.column.tolist()
        self._is_high: list[bool] = (self._compare.sign > 0).tolist()
        self._deadbands: list[float] = self._compare.deadband.tolist()
        self._use_setpoints(self._compare.setpoints_in(phase))
        self._mend_quiet_spans(range(columns))

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

    def enter_phase(self, phase: str, t_ns: int) -> list[Edge]:
        """Put the setpoints of *phase* in force and evaluate the held values anew at *t_ns*."""
        setpoint = self._compare.setpoints_in(phase)
        differs = (setpoint != self._compare.setpoint) & self._compare.is_value
        changed = np.flatnonzero(differs)
        self._use_setpoints(setpoint)
        for i, seen in zip(changed.tolist(), self._see_held(changed), strict=True):
            column = self._columns[i]
            value, quality = self._held_value[column], self._held_quality[column]
            sample = (float(value), int(quality), self._setpoints[i])
            self._delays.see(i, t_ns, seen, sample)
        self._delays.touched.update(changed.tolist())
        self._settle()
        return self._delays.take_edges()

    def _see_held(self, chosen: Ints) -> list[int]:
        """Give what the limits *chosen* see in the held samples under the present setpoints."""
        column = self._compare.column[chosen]
        value, quality = self._held_value[column], self._held_quality[column]
        seen = self._compare.see(chosen, value[None, :], quality[None, :])[0]
        # Before the first sample there is nothing to see, not even something bad.
        seen[quality == Quality.WAITING] = Seen.BETWEEN
        seen_now: list[int] = seen.tolist()
        return seen_now

    def _look(self, grid: Grid, has_rows: Flags) -> None:
        """Find the columns where something may turn, and walk those."""
        value, quality = grid.value, grid.quality
        # In a block of one row, each call that is saved is a tenth of the whole step.
        is_single = value.shape[0] == 1
        is_quiet = (value[0] if is_single else value.max(axis=0)) <= self._quiet_to
        is_quiet &= (value[0] if is_single else value.min(axis=0)) >= self._quiet_from
        if quality.max() >= FIRST_SPECIAL:
            is_quiet &= quality.max(axis=0) < FIRST_SPECIAL
        if not is_quiet.all():
            is_loud = has_rows & ~is_quiet
            chosen = np.flatnonzero(is_loud[self._compare.column])
            if chosen.size:
                self._walk(grid, chosen)

    def _walk(self, grid: Grid, chosen: Ints) -> None:
        """Show the limits *chosen* each sample at which what they see changes."""
        column = self._compare.column[chosen]
        value, quality = grid.value[:, column], grid.quality[:, column]
        seen = self._compare.see(chosen, value, quality)
        last_seen = self._delays.last_seen
        turns = np.empty(seen.shape, dtype=np.bool_)
        turns[0] = seen[0] != np.array([last_seen[i] for i in chosen.tolist()], dtype=np.int8)
        np.not_equal(seen[1:], seen[:-1], out=turns[1:])
        which, row = np.nonzero(turns.T)
        rows = zip(
            chosen[which].tolist(),
            grid.t_ns[row, column[which]].tolist(),
            seen[row, which].tolist(),
            value[row, which].tolist(),
            quality[row, which].tolist(),
            self._compare.setpoint[chosen[which]].tolist(),
            strict=True,
        )
        for i, t_ns, now_seen, x, q, setpoint in rows:
            self._delays.see(i, t_ns, now_seen, (x, q, setpoint))

    def _settle(self) -> None:
        """Bring the quiet spans and the next due time up to date after something moved."""
        touched = self._delays.touched
        if touched:
            column = self._columns
            self._mend_quiet_spans({column[i] for i in touched})
            touched.clear()
        self._next_due_ns = self._delays.next_due_ns()

    def _mend_quiet_spans(self, columns: range | list[int] | set[int]) -> None:
        """Compute anew, for each column, the span in which no limit on it can turn."""
        for column in columns:
            lowest, highest = -inf, inf
            for i in self._by_column[column]:
                low, high = self._quiet_span(i)
                if low > lowest:
                    lowest = low
                if high < highest:
                    highest = high
            self._quiet_from[column], self._quiet_to[column] = lowest, highest

    def _quiet_span(self, i: int) -> tuple[float, float]:
        """Give the lowest and highest good value that leave limit *i* where it stands."""
        standing, setpoint = self._delays.standing[i], self._setpoints[i]
        if setpoint != setpoint:
            return (-inf, inf) if standing == Standing.CLEAR else (inf, -inf)
        is_high = self._is_high[i]
        rise = setpoint if is_high else -setpoint
        fall = rise - self._deadbands[i]
        lowest, highest = inf, -inf
        if standing == Standing.CLEAR:
            lowest, highest = -inf, rise
        elif standing == Standing.PENDING:
            lowest, highest = nextafter(rise, inf), inf
        elif standing == Standing.ACTIVE:
            lowest, highest = fall, inf
        elif standing == Standing.CLEARING:
            lowest, highest = -inf, nextafter(fall, -inf)
        return (lowest, highest) if is_high else (-highest, -lowest)

    def _use_setpoints(self, setpoint: Floats) -> None:
        """Put *setpoint* in force."""
        self._compare.setpoint = setpoint
        self._setpoints: list[float] = setpoint.tolist()

    def state(self) -> dict[str, Ints | Floats | Bytes]:
        """Give everything that must outlive a restart."""
        state = self._delays.state()
        state["setpoint"] = self._compare.setpoint.copy()
        state["held_value"] = self._held_value.copy()
        state["held_quality"] = self._held_quality.copy()
        return state

    def load_state(self, state: dict[str, Ints | Floats | Bytes]) -> None:
        """Take back what :meth:`state` gave."""
        self._delays.load_state(state)
        self._use_setpoints(np.array(state["setpoint"], dtype=np.float64))
        self._held_value = np.array(state["held_value"], dtype=np.float64)
        self._held_quality = np.array(state["held_quality"], dtype=np.uint8)
        self._delays.last_seen = self._see_held(np.arange(len(self._columns)))
        self._mend_quiet_spans(range(len(self._by_column)))
        self._settle()
