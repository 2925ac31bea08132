"""The alarm states of ISA-18.2 / IEC 62682 as a table, and what is known of one alarm."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Core(StrEnum):
    """Core state of an alarm; the three inhibiting flags are apart from it."""

    NORMAL = "normal"
    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    RETURNED_UNACKNOWLEDGED = "returned, unacknowledged"
    LATCHED_UNACKNOWLEDGED = "latched, unacknowledged"
    LATCHED_ACKNOWLEDGED = "latched, acknowledged"


class Prompt(StrEnum):
    """What moves an alarm from one core state to another."""

    RAISED = "raised"
    CLEARED = "cleared"
    ACKNOWLEDGE = "acknowledge"
    RESET = "reset"


_SHARED: dict[tuple[Core, Prompt], Core] = {
    (Core.NORMAL, Prompt.RAISED): Core.UNACKNOWLEDGED,
    (Core.UNACKNOWLEDGED, Prompt.ACKNOWLEDGE): Core.ACKNOWLEDGED,
    (Core.RETURNED_UNACKNOWLEDGED, Prompt.RAISED): Core.UNACKNOWLEDGED,
    (Core.RETURNED_UNACKNOWLEDGED, Prompt.ACKNOWLEDGE): Core.NORMAL,
    (Core.LATCHED_UNACKNOWLEDGED, Prompt.RAISED): Core.UNACKNOWLEDGED,
    (Core.LATCHED_UNACKNOWLEDGED, Prompt.ACKNOWLEDGE): Core.LATCHED_ACKNOWLEDGED,
    # A new occurrence is a new alarm: somebody has to see it.
    (Core.LATCHED_ACKNOWLEDGED, Prompt.RAISED): Core.UNACKNOWLEDGED,
    (Core.LATCHED_ACKNOWLEDGED, Prompt.RESET): Core.NORMAL,
}

_PLAIN = {
    (Core.UNACKNOWLEDGED, Prompt.CLEARED): Core.RETURNED_UNACKNOWLEDGED,
    (Core.ACKNOWLEDGED, Prompt.CLEARED): Core.NORMAL,
}

_LATCHING = {
    (Core.UNACKNOWLEDGED, Prompt.CLEARED): Core.LATCHED_UNACKNOWLEDGED,
    (Core.ACKNOWLEDGED, Prompt.CLEARED): Core.LATCHED_ACKNOWLEDGED,
}

_TABLES = {False: _SHARED | _PLAIN, True: _SHARED | _LATCHING}


def next_core(core: Core, prompt: Prompt, *, is_latching: bool) -> Core:
    """Give the state after *prompt*; a pair that the table does not list changes nothing.

    Source:
        ANSI/ISA-18.2-2016 state diagram, by secondary texts; latching rows from a controller
        handbook's chapter on alarms.
    """
    return _TABLES[is_latching].get((core, prompt), core)


@dataclass(slots=True)
class AlarmStatus:
    """What is known of one alarm. Times are 0 while they do not apply.

    Attributes:
        id: The limit's id.
        core: Its core state.
        is_active: The condition stands, delays included.
        is_suppressed: By design, in this phase.
        is_out_of_service: By a person, without an end.
        shelved_until_ns: End of its shelf; 0 when it is not shelved.
        onset_ns: When the condition began.
        true_ns: When its delay had run out.
        annunciated_ns: When this occurrence was first shown to people.
        is_owed: People were shown it and nobody has acknowledged since: a later occurrence that
            comes and goes unseen must not wipe that out.
        value: Value at the onset; None for quality kinds and bad data.
        quality: Quality at the onset.
        shelf_reason: Who shelved it and why.
        service_reason: Who took it out of service and why.
    """

    id: str
    core: Core = Core.NORMAL
    is_active: bool = False
    is_suppressed: bool = False
    is_out_of_service: bool = False
    shelved_until_ns: int = 0
    onset_ns: int = 0
    true_ns: int = 0
    annunciated_ns: int = 0
    is_owed: bool = False
    value: float | None = None
    quality: int = 0
    shelf_reason: str = ""
    service_reason: str = ""

    @property
    def is_shelved(self) -> bool:
        """Whether a person set it aside for a time."""
        return self.shelved_until_ns > 0

    @property
    def is_acknowledged(self) -> bool:
        """Whether nobody needs to acknowledge it."""
        return self.core in (Core.NORMAL, Core.ACKNOWLEDGED, Core.LATCHED_ACKNOWLEDGED)

    @property
    def is_latched(self) -> bool:
        """Whether the condition is gone and a reset is awaited."""
        return self.core in (Core.LATCHED_UNACKNOWLEDGED, Core.LATCHED_ACKNOWLEDGED)

    @property
    def is_inhibited(self) -> bool:
        """Whether any of the three flags is set."""
        return self.is_suppressed or self.is_shelved or self.is_out_of_service

    @property
    def is_annunciated(self) -> bool:
        """Whether it is shown and sounds: the core says so and all flags are clear."""
        return self.core is not Core.NORMAL and not self.is_inhibited

    @property
    def inhibit_reason(self) -> str:
        """Who set it aside and why; empty when nobody did."""
        return "; ".join(text for text in (self.shelf_reason, self.service_reason) if text)
