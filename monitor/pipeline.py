"""The steps from raw readings to events, in order; all state in arrays; no clock, no I/O."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from monitor.alarms.plan import AlarmsPlan
from monitor.channels.plan import ChannelsPlan
from monitor.events import Control, Event
from monitor.limits.plan import Limit
from monitor.samples import Admitted, Grid


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
    change a bit of what comes out. Rows after *until_ns* are kept for the next step.
    """

    def __init__(self, plan: Plan, start_ns: int) -> None:
        """Start with no readings, in the plan's first phase, at *start_ns*."""
        self.plan = plan
        self.until_ns = start_ns

    def step(
        self, admitted: Sequence[Admitted], controls: Sequence[Control], until_ns: int
    ) -> Step:
        """Take what has come; evaluate everything up to and including *until_ns*."""
        raise ArithmeticError(admitted, controls, until_ns)

    def save(self) -> bytes:
        """Give the whole state, for a checkpoint."""
        raise ArithmeticError

    @classmethod
    def restore(cls, plan: Plan, saved: bytes) -> Pipeline:
        """Go on from :meth:`save`; the plan must be the same."""
        raise ArithmeticError(plan, saved)
