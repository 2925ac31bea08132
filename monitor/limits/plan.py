"""What the limit stage needs to know: compiled from a stand file, checked there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from monitor.limits.condition import Condition


class Kind(StrEnum):
    """Kinds of limit, by what they look at."""

    # The value itself.
    HIGH_HIGH = "high_high"
    HIGH = "high"
    LOW = "low"
    LOW_LOW = "low_low"
    # A figure made of the channel, in a hidden column.
    RATE_OF_RISE = "rate_of_rise"
    RATE_OF_FALL = "rate_of_fall"
    #: Distance from a setpoint, another channel or a profile, of either sign.
    DEVIATION = "deviation"
    #: Spread of redundant sensors.
    DISAGREEMENT = "disagreement"
    #: A discrete channel is in a state in which it must not be.
    STATE = "state"
    #: Time until another limit is reached, at a stated confidence.
    TIME_TO_LIMIT = "time_to_limit"
    #: More used than planned at this time of the run.
    BUDGET = "budget"
    #: No change for too long.
    STUCK = "stuck"
    #: A periodic event that has not begun anew when it should have, and long after that.
    LATE = "late"
    MISSED = "missed"
    #: A discrete channel that is on for too long.
    OVERLONG = "overlong"
    #: Something that a phase or mode expects has not come.
    EXPECTED = "expected"
    # The quality.
    #: True while no reading has come for the channel's stale time.
    STALE = "stale"
    #: True while readings come and are bad (fault current, out of range, no finite result).
    FAULT = "fault"
    # No channel.
    #: Other limits, joined by and, or, not.
    COMBINATION = "combination"
    #: A phase that lasts longer than it may.
    PHASE_OVERLONG = "phase_overlong"


#: Behind the id of a limit that sleeps at first: the EXPECTED limit that it wakes in time.
ARMING = "arming"
QUALITY_KINDS = frozenset({Kind.STALE, Kind.FAULT})
#: Kinds without a column: :attr:`Limit.column` is :data:`NO_COLUMN`.
COLUMNLESS_KINDS = frozenset({Kind.COMBINATION, Kind.PHASE_OVERLONG})
NO_COLUMN = -1
#: Kinds that are true below their setpoint; EXPECTED may be either.
_LOW_KINDS = frozenset({Kind.LOW, Kind.LOW_LOW, Kind.RATE_OF_FALL, Kind.TIME_TO_LIMIT})
#: Kinds whose setpoint is 0.5, between no and yes, and tells people nothing.
FLAG_KINDS = frozenset({Kind.STATE, Kind.STUCK, Kind.LATE, Kind.MISSED, Kind.OVERLONG})


@dataclass(frozen=True, slots=True)
class Place:
    """Where a test stands: its phase, and the mode beside it (empty where there are none)."""

    phase: str
    mode: str = ""

    def chosen(self, values: Mapping[str, float], otherwise: float) -> float:
        """Give what holds here: the mode's, else the phase's, else *otherwise*."""
        return values.get(self.mode, values.get(self.phase, otherwise))

    def is_in(self, names: frozenset[str]) -> bool:
        """Whether one of *names* is the phase or the mode."""
        return self.phase in names or self.mode in names


@dataclass(frozen=True, slots=True)
class Limit:
    """One comparison of one column.

    Attributes:
        id: ``<tag>.<kind>``, for example ``PT-101.high``.
        column: Column of the grid that is compared (the hidden one where there is a filter or
            where the kind looks at a figure made of the channel).
        kind: See :class:`Kind`.
        setpoint: In the unit of what is compared; unused by quality kinds and combinations.
        setpoint_in: Setpoint in phases and modes where it differs; a mode goes before a phase.
        deadband: In the unit of what is compared, not negative.
        on_delay_ns: How long the condition must hold.
        off_delay_ns: How long the return must hold.
        bridge_ns: How long bad data may interrupt a running on-delay.
        raises_on_bad: After the bridge, bad data counts as the condition being true.
        n_of_m: (n, m): true when n of the last m samples are beyond the setpoint, instead of
            an on-delay; (0, 0) when unused.
        watched_in: Phases and modes in which it is watched; empty for always. Elsewhere it is
            clear, and what it waits for begins anew when it is watched again.
        is_once: What it looks for has to come once each time it is watched (kind EXPECTED).
        is_arming: Wakes when its value was once inside the band, each time it is watched.
        expects_low: EXPECTED: what has to come is a value below the setpoint, not above it.
        condition: COMBINATION: the expression.
        inputs: COMBINATION: (name in the expression, position in the plan), combinations
            before those that use them.
    """

    id: str
    column: int
    kind: Kind
    setpoint: float = 0.0
    setpoint_in: Mapping[str, float] = field(default_factory=dict)
    deadband: float = 0.0
    on_delay_ns: int = 0
    off_delay_ns: int = 0
    bridge_ns: int = 0
    raises_on_bad: bool = False
    n_of_m: tuple[int, int] = (0, 0)
    watched_in: frozenset[str] = frozenset()
    is_once: bool = False
    is_arming: bool = False
    expects_low: bool = False
    condition: Condition | None = None
    inputs: tuple[tuple[str, int], ...] = ()

    @property
    def is_high(self) -> bool:
        """Whether it is true above its setpoint. What is expected high is missed when low."""
        if self.kind is Kind.EXPECTED:
            return self.expects_low
        return self.kind not in _LOW_KINDS

    @property
    def is_wake_up(self) -> bool:
        """Whether it watches that another limit, which sleeps at first, wakes in time."""
        return self.id.endswith(f".{ARMING}")

    @property
    def compares(self) -> bool:
        """Whether it compares a value with a setpoint."""
        return self.kind not in QUALITY_KINDS and self.kind not in COLUMNLESS_KINDS

    @property
    def counts_from_phase(self) -> bool:
        """Whether what it waits for begins anew with a phase in which it is watched.

        Not what watches that a limit wakes: that limit is awake, and goes on.
        """
        is_expected = self.is_once and not self.is_wake_up
        return is_expected or self.kind is Kind.PHASE_OVERLONG

    def chosen_setpoint(self, place: Place) -> float:
        """Give the setpoint at *place*: the mode's, else the phase's, else its own."""
        return place.chosen(self.setpoint_in, self.setpoint)

    def is_watched(self, place: Place) -> bool:
        """Whether it is watched at *place*."""
        return not self.watched_in or place.is_in(self.watched_in)
