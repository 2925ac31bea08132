"""The alarm states and events of ISA-18.2 / IEC 62682 as tables."""

from __future__ import annotations

from collections.abc import Mapping
from enum import IntFlag, StrEnum


class Core(StrEnum):
    """Core state of an alarm; what inhibits it is apart from it."""

    NORMAL = "normal"
    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    RETURNED_UNACKNOWLEDGED = "returned, unacknowledged"
    LATCHED_UNACKNOWLEDGED = "latched, unacknowledged"
    LATCHED_ACKNOWLEDGED = "latched, acknowledged"


class Inhibit(IntFlag):
    """What inhibits an alarm: three flags, independent of each other and of the core state."""

    NONE = 0
    SHELVED = 1
    SUPPRESSED = 2
    OUT_OF_SERVICE = 4


class Prompt(StrEnum):
    """What moves an alarm, by its name in the published state diagram."""

    #: The condition stands, its on-delay included.
    ALM = "ALM"
    #: The condition is gone, its off-delay included.
    RTN = "RTN"
    ACK = "ACK"
    RESET = "RESET"
    #: It was acknowledged long ago and still stands.
    REALARM = "REALARM"
    SHELVE = "SHELVE"
    UNSHELVE = "UNSHELVE"
    #: The time of the shelf is over.
    T_SHELVE = "T_SHELVE"
    SUP = "SUP"
    UNSUP = "UNSUP"
    #: Out of service, and returned to it.
    OOS = "OOS"
    RTS = "RTS"


CoreTable = Mapping[tuple[Core, Prompt], Core]

_SHARED: CoreTable = {
    (Core.NORMAL, Prompt.ALM): Core.UNACKNOWLEDGED,
    (Core.UNACKNOWLEDGED, Prompt.ACK): Core.ACKNOWLEDGED,
    (Core.UNACKNOWLEDGED, Prompt.REALARM): Core.UNACKNOWLEDGED,
    (Core.ACKNOWLEDGED, Prompt.REALARM): Core.UNACKNOWLEDGED,
    (Core.RETURNED_UNACKNOWLEDGED, Prompt.ALM): Core.UNACKNOWLEDGED,
    (Core.RETURNED_UNACKNOWLEDGED, Prompt.ACK): Core.NORMAL,
    (Core.LATCHED_UNACKNOWLEDGED, Prompt.ALM): Core.UNACKNOWLEDGED,
    (Core.LATCHED_UNACKNOWLEDGED, Prompt.ACK): Core.LATCHED_ACKNOWLEDGED,
    # A new occurrence is a new alarm: somebody has to see it.
    (Core.LATCHED_ACKNOWLEDGED, Prompt.ALM): Core.UNACKNOWLEDGED,
    (Core.LATCHED_ACKNOWLEDGED, Prompt.RESET): Core.NORMAL,
}

_PLAIN: CoreTable = {
    **_SHARED,
    (Core.UNACKNOWLEDGED, Prompt.RTN): Core.RETURNED_UNACKNOWLEDGED,
    (Core.ACKNOWLEDGED, Prompt.RTN): Core.NORMAL,
}

#: No acknowledging once the condition is gone.
_CLEARS_BY_ITSELF: CoreTable = {
    **_SHARED,
    (Core.UNACKNOWLEDGED, Prompt.RTN): Core.NORMAL,
    (Core.ACKNOWLEDGED, Prompt.RTN): Core.NORMAL,
}

_LATCHING: CoreTable = {
    **_SHARED,
    (Core.UNACKNOWLEDGED, Prompt.RTN): Core.LATCHED_UNACKNOWLEDGED,
    (Core.ACKNOWLEDGED, Prompt.RTN): Core.LATCHED_ACKNOWLEDGED,
}

#: Which flag an event sets or clears, and whether it sets it.
_FLAGS: Mapping[Prompt, tuple[Inhibit, bool]] = {
    Prompt.SHELVE: (Inhibit.SHELVED, True),
    Prompt.UNSHELVE: (Inhibit.SHELVED, False),
    Prompt.T_SHELVE: (Inhibit.SHELVED, False),
    Prompt.SUP: (Inhibit.SUPPRESSED, True),
    Prompt.UNSUP: (Inhibit.SUPPRESSED, False),
    Prompt.OOS: (Inhibit.OUT_OF_SERVICE, True),
    Prompt.RTS: (Inhibit.OUT_OF_SERVICE, False),
}

#: Of several flags the one whose name the alarm's state bears, the first before the others.
_BY_WEIGHT = (Inhibit.OUT_OF_SERVICE, Inhibit.SUPPRESSED, Inhibit.SHELVED)


def table_of(*, is_latching: bool, clears_by_itself: bool = False) -> CoreTable:
    """Give the table of an alarm; a latch outweighs that it clears by itself.

    Source:
        ANSI/ISA-18.2-2016 state diagram, by secondary texts; latching rows from a controller
        handbook's chapter on alarms.
    """
    if is_latching:
        return _LATCHING
    return _CLEARS_BY_ITSELF if clears_by_itself else _PLAIN


def next_core(core: Core, prompt: Prompt, table: CoreTable) -> Core:
    """Give the state after *prompt*; a pair that the table does not list changes nothing."""
    return table.get((core, prompt), core)


def next_flags(flags: Inhibit, prompt: Prompt) -> Inhibit:
    """Give the flags after *prompt*; what concerns no flag changes none."""
    flag, is_set = _FLAGS.get(prompt, (Inhibit.NONE, True))
    return flags | flag if is_set else flags & ~flag


def state_of(core: Core, flags: Inhibit) -> Core | Inhibit:
    """Give the one state of the published diagram in which an alarm is."""
    return next((flag for flag in _BY_WEIGHT if flag in flags), core)
