"""What goes into the pipeline beside readings (controls) and what comes out (events).

Both are plain structures that the record and the link can encode. Every line of the journal
is an event that the pipeline made from readings and controls, so that replay can make it again.
"""

from __future__ import annotations

from typing import Literal

import msgspec

#: A field of an event. Whole numbers of ns end in ``_ns``.
Field = str | int | float | bool | None

Verb = Literal[
    "acknowledge",
    "reset",
    "silence",
    "enter_phase",
    "enter_mode",
    "edit_limit",
    "lamp_test",
    "force",
    "unforce",
    "shelve",
    "unshelve",
    "out_of_service",
    "return_to_service",
    "note",
]


class Action(msgspec.Struct, frozen=True, tag="action"):
    """Something a person did.

    Attributes:
        verb: What was done.
        subject: Limit id (``PT-101.high``), ``*`` for all, phase or mode name, tag of a
            measured channel that is forced, or empty.
        by: Name of who did it.
        reason: Why, in that person's words; needed to inhibit an alarm or edit a limit.
        seconds: How long, for a shelf or a forced value, in seconds of data time.
        second: Name of who agrees; needed to inhibit or edit what is of top priority.
        changes: What an edit changes: ``setpoint``, ``setpoint_in.<phase or mode>``,
            ``deadband`` in the unit of what is compared, ``on_delay_s``, ``off_delay_s``. For
            a forced channel ``value``, in its unit.
    """

    verb: Verb
    subject: str
    by: str
    reason: str = ""
    seconds: float = 0.0
    second: str = ""
    changes: dict[str, float] = {}


class LinkChange(msgspec.Struct, frozen=True, tag="link"):
    """An instrument's link came up or went down."""

    instrument: str
    is_up: bool
    why: str
    cure: str = ""


HostWhat = Literal[
    "run_started",
    "run_resumed",
    "run_closed",
    "recording_stopped",
    "recording_resumed",
    "readings_dropped",
]


class HostEvent(msgspec.Struct, frozen=True, tag="host"):
    """Something happened to the engine itself.

    Attributes:
        what: What happened.
        detail: For a person to read.
        numbers: Figures that belong to it, for example ``{"gap_ns": 12}``.
    """

    what: HostWhat
    detail: str = ""
    numbers: dict[str, int] = {}


class Control(msgspec.Struct, frozen=True):
    """Anything that is not a reading, with the data time from which it counts.

    Attributes:
        t_ns: Effective time; later than every W the pipeline was given before.
        seq: Rising number in the run; orders controls of one instant.
        what: The matter itself.
    """

    t_ns: int
    seq: int
    what: Action | LinkChange | HostEvent


EventKind = Literal[
    "run.started",
    "run.resumed",
    "run.closed",
    "phase.entered",
    "phase.lapsed",
    "mode.entered",
    "limit.armed",
    "limit.edited",
    "value.forced",
    "value.released",
    "alarm.raised",
    "alarm.cleared",
    "alarm.acknowledged",
    "alarm.reset",
    "alarm.suppressed",
    "alarm.unsuppressed",
    "alarm.shelved",
    "alarm.unshelved",
    "alarm.out_of_service",
    "alarm.returned_to_service",
    "alarm.annunciated",
    "alarm.realarmed",
    "alarm.first_out",
    "alarm.pending_lost",
    "condition.on",
    "condition.off",
    "action.refused",
    "action.silence",
    "action.lamp_test",
    "action.note",
    "link.up",
    "link.down",
    "recording.stopped",
    "recording.resumed",
    "readings.dropped",
]


class Event(msgspec.Struct, frozen=True):
    """One line of the journal.

    Attributes:
        t_ns: Data time of the event, from reading times, delays and controls only.
        kind: What happened.
        subject: Limit id, phase, instrument, or empty.
        fields: What else belongs to it, in a fixed order of keys.
    """

    t_ns: int
    kind: EventKind
    subject: str
    fields: dict[str, Field] = {}
