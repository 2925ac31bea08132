"""How things stand now: the parts of a snapshot that change in a run."""

from __future__ import annotations

import msgspec


class AlarmState(msgspec.Struct, frozen=True, omit_defaults=True):
    """Where one alarm stands. Times are 0 while they do not apply.

    Attributes:
        id: The limit's id.
        is_active: The condition stands (delays included).
        is_acknowledged: Nobody needs to acknowledge it.
        is_latched: The condition is gone and a reset is awaited.
        is_suppressed: By design, in this phase or mode, or as a consequence of *cause*.
        is_shelved: By a person, until *shelved_until_ns*.
        is_out_of_service: By a person, without an end.
        is_annunciated: It is shown and sounds: the core says so and all three flags are clear.
        onset_ns: When the condition began.
        true_ns: When its delay had run out.
        annunciated_ns: When it was first shown for this occurrence.
        value: The value that raised it, None for quality kinds.
        quality: Quality at that time.
        setpoint: In force now, after phase, mode and edits; None where nothing is compared or
            where it is not watched now.
        cause: Id of the alarm that suppresses it; empty for none.
        first_out: ``first`` when it came first of its group, ``undetermined`` when that cannot
            be told, else empty.
        armed: ``asleep`` until its value was once inside the band, ``armed`` from then on;
            empty when it is always awake.
        is_edited: It differs from what the stand file says.
        edits: What was edited in this run, as it is now, by the words of ``Act.changes``.
        suppressed_since_ns: Since when it is suppressed.
        shelved_since_ns: When it was shelved.
        shelf_reason: Who shelved it and why: ``shelved by <names>: <reason>``.
        out_since_ns: When it was taken out of service.
        service_reason: Who did and why: ``out of service by <names>: <reason>``.
    """

    id: str
    is_active: bool = False
    is_acknowledged: bool = True
    is_latched: bool = False
    is_suppressed: bool = False
    is_shelved: bool = False
    is_out_of_service: bool = False
    is_annunciated: bool = False
    onset_ns: int = 0
    true_ns: int = 0
    annunciated_ns: int = 0
    shelved_until_ns: int = 0
    value: float | None = None
    quality: int = 0
    setpoint: float | None = None
    cause: str = ""
    first_out: str = ""
    armed: str = ""
    is_edited: bool = False
    edits: dict[str, float] = {}
    suppressed_since_ns: int = 0
    shelved_since_ns: int = 0
    shelf_reason: str = ""
    out_since_ns: int = 0
    service_reason: str = ""


class LinkState(msgspec.Struct, frozen=True):
    """An instrument's link. *counts* are its drop and error counters in plain words."""

    instrument: str
    is_up: bool
    since_ns: int
    why: str
    cure: str
    readings: int
    last_reading_ns: int
    counts: dict[str, int]
    examples: dict[str, str]


class RecordingState(msgspec.Struct, frozen=True):
    """*state* is ``recording``, ``stopped`` (cannot write) or ``closed``."""

    state: str
    folder: str
    why: str
    bytes_written: int
    synced_until_ns: int


class PhaseState(msgspec.Struct, frozen=True):
    """The phase and the mode now, and since when. *mode* is empty where a stand has none.

    *is_lapsed* when the phase lasts longer than it may: what it suppresses speaks again.
    """

    name: str
    since_ns: int
    mode: str = ""
    mode_since_ns: int = 0
    is_lapsed: bool = False


class ForcedState(msgspec.Struct, frozen=True):
    """A channel's value that a person has set.

    Attributes:
        tag: The channel.
        value: In its unit.
        since_ns: From when on.
        until_ns: When it is let go by itself.
        by: Who forced it.
        second: Who agreed; empty where nobody had to.
        reason: Why.
    """

    tag: str
    value: float
    since_ns: int
    until_ns: int
    by: str
    second: str
    reason: str
