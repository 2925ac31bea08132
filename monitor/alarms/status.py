"""What is known of one alarm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from monitor.alarms.core import Core, Inhibit, Prompt, next_flags

#: Whether an alarm came first in its group; ``undetermined``: it is one of several.
FirstOutMark = Literal["", "first", "undetermined"]


@dataclass(slots=True)
class AlarmStatus:
    """What is known of one alarm. Times are 0 while they do not apply.

    Attributes:
        id: The limit's id.
        core: Its core state.
        flags: What inhibits it.
        is_active: The condition stands, delays included.
        onset_ns: When the condition began.
        true_ns: When its delay had run out.
        annunciated_ns: When this occurrence was first shown to people.
        acknowledged_ns: When it was acknowledged, while it stands and is acknowledged.
        is_owed: People were shown it and nobody has acknowledged since: a later occurrence that
            comes and goes unseen must not wipe that out.
        value: Value at the onset; None for quality kinds and bad data.
        quality: Quality at the onset.
        cause: Id of the alarm whose consequence it is now, the first in the plan's order;
            empty when it is suppressed by phase or mode alone, or not.
        first_out: Whether it came first in its group.
        suppressed_since_ns: Since when it is suppressed by design.
        shelved_since_ns: When it was shelved.
        shelved_until_ns: End of its shelf.
        shelf_reason: Who shelved it and why.
        out_since_ns: When it was taken out of service.
        service_reason: Who took it out of service and why.
    """

    id: str
    core: Core = Core.NORMAL
    flags: Inhibit = Inhibit.NONE
    is_active: bool = False
    onset_ns: int = 0
    true_ns: int = 0
    annunciated_ns: int = 0
    acknowledged_ns: int = 0
    is_owed: bool = False
    value: float | None = None
    quality: int = 0
    cause: str = ""
    first_out: FirstOutMark = ""
    suppressed_since_ns: int = 0
    shelved_since_ns: int = 0
    shelved_until_ns: int = 0
    shelf_reason: str = ""
    out_since_ns: int = 0
    service_reason: str = ""

    def turn_flag(self, prompt: Prompt) -> None:
        """Set or clear the flag that *prompt* concerns."""
        self.flags = next_flags(self.flags, prompt)

    @property
    def is_suppressed(self) -> bool:
        """Whether it is suppressed by design: by phase, by mode or by its cause."""
        return Inhibit.SUPPRESSED in self.flags

    @property
    def is_shelved(self) -> bool:
        """Whether a person set it aside for a time."""
        return Inhibit.SHELVED in self.flags

    @property
    def is_out_of_service(self) -> bool:
        """Whether a person set it aside without an end."""
        return Inhibit.OUT_OF_SERVICE in self.flags

    @property
    def is_inhibited(self) -> bool:
        """Whether any of the three flags is set."""
        return self.flags != Inhibit.NONE

    @property
    def is_acknowledged(self) -> bool:
        """Whether nobody needs to acknowledge it."""
        return self.core in (Core.NORMAL, Core.ACKNOWLEDGED, Core.LATCHED_ACKNOWLEDGED)

    @property
    def is_latched(self) -> bool:
        """Whether the condition is gone and a reset is awaited."""
        return self.core in (Core.LATCHED_UNACKNOWLEDGED, Core.LATCHED_ACKNOWLEDGED)

    @property
    def is_annunciated(self) -> bool:
        """Whether it is shown and sounds: the core says so and all flags are clear."""
        return self.core is not Core.NORMAL and not self.flags

    @property
    def inhibit_reason(self) -> str:
        """Who set it aside and why; empty when nobody did."""
        return "; ".join(text for text in (self.shelf_reason, self.service_reason) if text)
