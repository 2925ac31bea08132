"""What the alarm stage needs to know: compiled from a stand file, checked there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from monitor.limits.plan import Limit


class Priority(StrEnum):
    """How urgent an alarm is; ``JOURNAL`` is written down and never annunciated."""

    TOP = "top"
    HIGH = "high"
    MEDIUM = "medium"
    LOW = "low"
    JOURNAL = "journal"


@dataclass(frozen=True, slots=True)
class Alarm:
    """What an edge of the limit of the same position means to a person.

    Attributes:
        id: The limit's id.
        tag: Tag of the channel as people know it (never the hidden one).
        priority: See :class:`Priority`.
        message: One line, what is wrong.
        response: What to do about it.
        is_latching: Stays until reset after the condition is gone.
        suppressed_in: Phases and modes in which it is suppressed by design.
        suppressed_by: Ids of alarms whose consequence it is: while one of them stands, this
            one is suppressed by design.
        clears_by_itself: Needs no acknowledging once its condition is gone.
        realarm_ns: Acknowledged and still standing for so long, it is annunciated anew;
            0 for never.
        milder: Id of the alarm that acknowledging this one acknowledges too (high-high: high).
        group: First-out group; empty for none.
        lag_ns: How late its onset is by sensor and filter; first-out takes it off.
        period_ns: Time between two samples; onsets no further apart are not put in order.
        unit: Unit of the compared value where it is not the channel's (a rate, a time).
        safe_state: The safe state that this abort criterion calls for; empty for others.
    """

    id: str
    tag: str
    priority: Priority
    message: str
    response: str = ""
    is_latching: bool = False
    suppressed_in: frozenset[str] = frozenset()
    suppressed_by: tuple[str, ...] = ()
    clears_by_itself: bool = False
    realarm_ns: int = 0
    milder: str = ""
    group: str = ""
    lag_ns: int = 0
    period_ns: int = 0
    unit: str = ""
    safe_state: str = ""


@dataclass(frozen=True, slots=True)
class AutomaticEntry:
    """A phase that is entered by itself, from one of *after*, when all *conditions* stand.

    Attributes:
        phase: The phase to enter.
        after: Phases from which it is entered so.
        conditions: Positions in :attr:`AlarmsPlan.conditions`; at least two, independent.
    """

    phase: str
    after: frozenset[str]
    conditions: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class AlarmsPlan:
    """Alarms in the order of the limits, phases and modes in theirs; the first ones start.

    Attributes:
        alarms: One for each limit of the plan.
        phases: Names of the phases.
        modes: Names of the modes; empty where a stand has none. No name is both.
        conditions: What automatic entries wait for; their setpoints know no phase.
        automatic: Phases that are entered by themselves.
        lapses: (position of a PHASE_OVERLONG limit, its phase): when it is raised, what the
            phase suppresses by design is suppressed no more.
        forcible: Tags of measured channels, whose value a hand may force, with the lowest and
            highest value that the sensor can give.
        behind_top: Limits that may not be edited, and tags that may not be forced, by one
            person alone: an alarm of top priority goes by them.
    """

    alarms: tuple[Alarm, ...]
    phases: tuple[str, ...]
    modes: tuple[str, ...] = ()
    conditions: tuple[Limit, ...] = ()
    automatic: tuple[AutomaticEntry, ...] = ()
    lapses: tuple[tuple[int, str], ...] = ()
    forcible: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    behind_top: frozenset[str] = frozenset()
