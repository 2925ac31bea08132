"""The steps from raw readings to events, in order; all state in arrays; no clock, no I/O."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import msgspec
import numpy as np

from monitor.alarms.actions import refusal_of
from monitor.alarms.items import Item, Moved
from monitor.alarms.plan import AlarmsPlan
from monitor.alarms.stage import Alarms
from monitor.channels.plan import ChannelsPlan
from monitor.channels.stage import Channels
from monitor.events import Action, Control, Event
from monitor.limits.edges import Edge
from monitor.limits.plan import Limit, Place
from monitor.limits.stage import Limits
from monitor.packing import Packed, pack, unpack
from monitor.samples import Admitted, Grid, Ints


@dataclass(frozen=True, slots=True)
class Plan:
    """A stand, compiled. ``alarms.alarms[i]`` belongs to ``limits[i]``."""

    channels: ChannelsPlan
    limits: tuple[Limit, ...]
    alarms: AlarmsPlan


@dataclass(frozen=True, slots=True)
class Step:
    """What one step gave.

    Attributes:
        until_ns: The W of this step.
        grid: Every column over (W before, W], computed and hidden ones too.
        events: New events, oldest first.
        changed_alarms: Positions of alarms whose state changed.
    """

    until_ns: int
    grid: Grid
    events: tuple[Event, ...]
    changed_alarms: tuple[int, ...]


class Pipeline:
    """Live, replay and rehearsal run this same code.

    ``step`` may be called at any time with anything: how the input is cut into steps cannot
    change a bit of what comes out. Rows and controls after *until_ns* wait for a later step.

    Attributes:
        plan: What it was made from.
        until_ns: W so far.
        channels: The channel stage; holds the newest sample of each column.
        alarms: The alarm stage; holds each alarm's status and the phase.
    """

    def __init__(self, plan: Plan, start_ns: int) -> None:
        """Start with no readings, in the plan's first phase, at *start_ns*."""
        self.plan = plan
        self.until_ns = start_ns
        self.channels = Channels(plan.channels, start_ns)
        self._limits = Limits(plan.limits, len(plan.channels.column), plan.alarms.phases[0])
        self.alarms = Alarms(plan.alarms, start_ns)
        self._waiting: list[Control] = []

    @property
    def phase(self) -> str:
        """Name of the phase at W."""
        return self.alarms.phase

    @property
    def phase_since_ns(self) -> int:
        """When the phase began."""
        return self.alarms.phase_since_ns

    def step(
        self, admitted: Sequence[Admitted], controls: Sequence[Control], until_ns: int
    ) -> Step:
        """Take what has come; evaluate everything up to and including *until_ns*.

        Raises:
            ValueError: *until_ns* or a control lies before what was already evaluated; the
                caller broke the promise that W is.
        """
        due = self._take_controls(controls, until_ns)
        before_quality = self.channels.last_quality.copy()
        grid = self.channels.step(admitted, due, until_ns)
        edges = self._limit_edges(grid, due, until_ns)

        def quality_before(limit: int, t_ns: int) -> int:
            column = self.plan.limits[limit].column
            rows = grid.t_ns[: grid.count[column], column]
            n = int(np.searchsorted(rows, t_ns))
            return int(grid.quality[n - 1, column] if n else before_quality[column])

        events, changed = self.alarms.step(self._items(due, edges), until_ns, quality_before)
        self.until_ns = until_ns
        return Step(until_ns, grid, events, changed)

    def _take_controls(self, controls: Sequence[Control], until_ns: int) -> list[Control]:
        """Give the controls up to W in their order; keep the others."""
        early = [x for x in controls if x.t_ns <= self.until_ns]
        if early or until_ns < self.until_ns:
            raise ValueError(f"not after W = {self.until_ns}: {early or until_ns}")
        waiting = sorted([*self._waiting, *controls], key=lambda x: (x.t_ns, x.seq))
        due = [x for x in waiting if x.t_ns <= until_ns]
        self._waiting = waiting[len(due) :]
        return due

    def _limit_edges(
        self, grid: Grid, controls: Sequence[Control], until_ns: int
    ) -> list[Edge]:
        """Run the limits over the step, cut where a phase brings other setpoints."""
        edges: list[Edge] = []
        done_ns = self.until_ns
        for control in controls:
            phase = self._phase_entered(control)
            if not phase:
                continue
            if control.t_ns - 1 > done_ns:
                before, grid = cut(grid, control.t_ns)
                edges += self._limits.step(before, control.t_ns - 1)
                done_ns = control.t_ns - 1
            edges += self._limits.enter_phase(phase, control.t_ns)
        edges += self._limits.step(grid, until_ns)
        edges.sort(key=lambda edge: (edge.t_ns, edge.limit))
        return edges

    def _phase_entered(self, control: Control) -> str:
        """Give the phase that *control* brings; empty when it brings none or is refused."""
        what = control.what
        if not isinstance(what, Action) or what.verb != "enter_phase":
            return ""
        return "" if refusal_of(what, self.plan.alarms) else what.subject

    def _items(self, controls: Sequence[Control], edges: Sequence[Edge]) -> list[Item]:
        """Merge controls and edges; an accepted phase becomes a move."""
        items: list[Item] = []
        for control in controls:
            phase, what = self._phase_entered(control), control.what
            if phase and isinstance(what, Action):
                place = Place(phase, self.alarms.place.mode)
                items.append(Moved(control.t_ns, "phase", place, what.by, what.reason))
            else:
                items.append(control)
        # A stable sort: controls of one instant stay before its edges, each in own order.
        return sorted([*items, *edges], key=lambda item: item.t_ns)

    def save(self) -> bytes:
        """Give the whole state, for a checkpoint."""
        return msgspec.msgpack.encode(
            _Saved(
                self.until_ns,
                pack(self.channels.state()),
                pack(self._limits.state()),
                self.alarms.state(),
                self._waiting,
            )
        )

    @classmethod
    def restore(cls, plan: Plan, saved: bytes) -> Pipeline:
        """Go on from :meth:`save`.

        Raises:
            MonitorError: The plan is not the one that it was saved with.
        """
        state = msgspec.msgpack.decode(saved, type=_Saved)
        pipeline = cls(plan, state.until_ns)
        pipeline.channels.load_state(unpack(state.channels))
        # Alarms before limits: they look whether it is the same plan, for both.
        pipeline.alarms.load_state(state.alarms)
        pipeline._limits.load_state(unpack(state.limits))
        pipeline._waiting = state.waiting
        return pipeline


class _Saved(msgspec.Struct):
    """What :meth:`Pipeline.save` writes."""

    until_ns: int
    channels: Packed
    limits: Packed
    alarms: bytes
    waiting: list[Control]


def cut(grid: Grid, t_ns: int) -> tuple[Grid, Grid]:
    """Cut a grid in two: the rows before *t_ns*, and the rows from it on."""
    if not grid.value.shape[0]:
        return grid, grid
    owns = np.arange(grid.value.shape[0])[:, None] < grid.count[None, :]
    early = np.count_nonzero((grid.t_ns < t_ns) & owns, axis=0)
    return _rows(grid, np.zeros_like(early), early), _rows(grid, early, grid.count - early)


def _rows(grid: Grid, first: Ints, count: Ints) -> Grid:
    """Take *count* rows of each column from row *first* on, padded with the last of them.

    A column without rows of its own is padded with what it has nearest; nobody looks there.
    """
    height = int(count.max(initial=0))
    row = first[None, :] + np.minimum(np.arange(height)[:, None], count[None, :] - 1)
    row = np.clip(row, 0, grid.value.shape[0] - 1)
    return Grid(
        np.take_along_axis(grid.t_ns, row, axis=0),
        np.take_along_axis(grid.value, row, axis=0),
        np.take_along_axis(grid.quality, row, axis=0),
        count.astype(np.int64),
    )
