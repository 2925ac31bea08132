"""The steps from raw readings to events, in order; all state in arrays; no clock, no I/O."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import msgspec
import numpy as np

from monitor.alarms.actions import refusal_of
from monitor.alarms.judge import Judge
from monitor.alarms.phases import Phases
from monitor.alarms.plan import AlarmsPlan
from monitor.alarms.stage import Alarms
from monitor.channels.plan import ChannelsPlan, OffProfile
from monitor.channels.stage import Channels
from monitor.errors import MonitorError
from monitor.events import Action, Control, Event
from monitor.limits.edits import LimitNow
from monitor.limits.plan import NO_COLUMN, Limit
from monitor.packing import Packed, pack, unpack
from monitor.samples import Admitted, Grid, Quality


@dataclass(frozen=True, slots=True)
class Plan:
    """A stand, compiled. ``alarms.alarms[i]`` belongs to ``limits[i]``.

    Limits with a column come first, then phases that may last too long, then combinations.
    """

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
        alarms: The alarm stage; holds each alarm's status, the phase and the mode.
    """

    def __init__(self, plan: Plan, start_ns: int) -> None:
        """Start with no readings, in the plan's first phase and mode, at *start_ns*."""
        columns = len(plan.channels.column)
        self.plan = plan
        self.until_ns = start_ns
        self.channels = Channels(plan.channels, start_ns)
        self._phases = Phases(plan.alarms, columns, start_ns)
        self._judge = Judge(
            plan.limits, plan.alarms, columns, start_ns, _of_phase(plan.channels)
        )
        self.alarms = Alarms(plan.alarms, start_ns)
        self._waiting: list[Control] = []
        self._behind = _columns_behind(plan.limits)

    @property
    def phase(self) -> str:
        """Name of the phase at W."""
        return self.alarms.phase

    @property
    def phase_since_ns(self) -> int:
        """When the phase began."""
        return self.alarms.phase_since_ns

    def limit_now(self, position: int) -> LimitNow:
        """Tell what is in force for the limit at *position*, edits included."""
        return self._judge.now(position)

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
        grid = self.channels.step(admitted, self._for_channels(due), until_ns)
        moves = self._phases.step(grid, due, until_ns)
        if self.plan.channels.derived:
            since = [move.since for move in moves if move.moved.what == "phase"]
            self.channels.finish(grid, since)
        items = self._judge.step(grid, due, moves, until_ns)

        def quality_before(limit: int, t_ns: int) -> int:
            """Give the quality behind a limit just before an instant."""
            worst = int(Quality.GOOD)
            for column in self._behind[limit]:
                rows = grid.t_ns[: grid.count[column], column]
                n = int(np.searchsorted(rows, t_ns))
                found = grid.quality[n - 1, column] if n else before_quality[column]
                worst = max(worst, int(found))
            return worst

        events, changed = self.alarms.step(items, until_ns, quality_before)
        self.until_ns = until_ns
        return Step(until_ns, grid, events, changed)

    def _for_channels(self, controls: Sequence[Control]) -> list[Control]:
        """Give the controls without values that cannot be forced: alarms refuse those."""
        return [
            x
            for x in controls
            if not isinstance(x.what, Action)
            or x.what.verb not in ("force", "unforce")
            or not refusal_of(x.what, self.plan.alarms)
        ]

    def _take_controls(self, controls: Sequence[Control], until_ns: int) -> list[Control]:
        """Give the controls up to W in their order; keep the others."""
        early = [x for x in controls if x.t_ns <= self.until_ns]
        if early or until_ns < self.until_ns:
            raise ValueError(f"not after W = {self.until_ns}: {early or until_ns}")
        waiting = sorted([*self._waiting, *controls], key=lambda x: (x.t_ns, x.seq))
        due = [x for x in waiting if x.t_ns <= until_ns]
        self._waiting = waiting[len(due) :]
        return due

    def save(self) -> bytes:
        """Give the whole state, for a checkpoint."""
        return msgspec.msgpack.encode(
            _Saved(
                self.until_ns,
                pack(self.channels.state()),
                pack(self._phases.state()),
                pack(self._judge.state()),
                self.alarms.state(),
                self._waiting,
            )
        )

    @classmethod
    def restore(cls, plan: Plan, saved: bytes) -> Pipeline:
        """Go on from :meth:`save`.

        Raises:
            MonitorError: The plan or the program is not the one that it was saved with.
        """
        try:
            state = msgspec.msgpack.decode(saved, type=_Saved)
        except msgspec.MsgspecError as error:
            raise MonitorError(f"saved by another version of this program: {error}") from error
        pipeline = cls(plan, state.until_ns)
        pipeline.channels.load_state(unpack(state.channels))
        # Alarms before limits: they look whether it is the same plan, for both.
        pipeline.alarms.load_state(state.alarms)
        pipeline._phases.load_state(unpack(state.phases))
        pipeline._judge.load_state(unpack(state.limits))
        pipeline._waiting = state.waiting
        return pipeline


def _of_phase(plan: ChannelsPlan) -> list[int]:
    """Give the columns whose values count from the beginning of the phase."""
    return [
        plan.column[one.tag]
        for one in plan.derived
        if isinstance(one, OffProfile) and not one.is_over_run and len(one.points) > 1
    ]


def _columns_behind(limits: Sequence[Limit]) -> list[frozenset[int]]:
    """Give the columns whose values a limit goes by; of a combination those of its inputs."""
    found: list[frozenset[int]] = []
    for limit in limits:
        own = frozenset[int]() if limit.column == NO_COLUMN else frozenset({limit.column})
        found.append(own.union(*(found[i] for _, i in limit.inputs)))
    return found


class _Saved(msgspec.Struct):
    """What :meth:`Pipeline.save` writes."""

    until_ns: int
    channels: Packed
    phases: Packed
    limits: Packed
    alarms: bytes
    waiting: list[Control]
