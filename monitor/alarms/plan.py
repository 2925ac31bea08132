"""What the alarm stage needs to know: compiled from a stand file, checked there."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


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
        suppressed_in: Phases in which it is suppressed by design.
    """

    id: str
    tag: str
    priority: Priority
    message: str
    response: str = ""
    is_latching: bool = False
    suppressed_in: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class AlarmsPlan:
    """Alarms in the order of the limits, and phases in their order; the first one starts."""

    alarms: tuple[Alarm, ...]
    phases: tuple[str, ...]
