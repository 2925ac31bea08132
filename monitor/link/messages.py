"""Messages between the engine and its displays, as MessagePack maps with a ``type`` key.

Order on a fresh connection: display ``Hello`` -> engine ``Welcome`` or ``Refused`` -> engine
``Snapshot``; then the display says ``Ready(seq)`` and the engine answers with one ``Change``
as soon as there is something new. One change is in flight at most; what comes meanwhile is
merged, bounded, and if the bound is passed the engine sends a new ``Snapshot`` instead.
``Ask`` is answered by ``Part`` ... ``Done``; ``Act`` by ``Acted``, and may be repeated.
"""

from __future__ import annotations

import msgspec

from monitor.events import Event, Verb
from monitor.link.stand_info import (
    AbortInfo,
    ChannelInfo,
    ChartInfo,
    LimitInfo,
    ModeInfo,
    PhaseInfo,
    StandInfo,
)
from monitor.link.states import (
    AlarmState,
    ForcedState,
    LinkState,
    PhaseState,
    RecordingState,
)

# What a snapshot is made of can be had here, too.
__all__ = [
    "AbortInfo",
    "AlarmState",
    "ChannelInfo",
    "ChartInfo",
    "ForcedState",
    "LimitInfo",
    "LinkState",
    "ModeInfo",
    "PhaseInfo",
    "PhaseState",
    "RecordingState",
    "StandInfo",
]

#: Raised when either end would misread the other.
LINK_VERSION = 2


class Message(msgspec.Struct, frozen=True, tag_field="type"):
    """Base of every message."""


class Value(msgspec.Struct, frozen=True, array_like=True):
    """Newest sample of a channel. *value* is None where the quality is bad or none came."""

    t_ns: int
    value: float | None
    quality: int


class Column(msgspec.Struct, frozen=True, array_like=True):
    """New rows of one channel as raw little-endian bytes: int64, float64, uint8."""

    channel: int
    t_ns: bytes
    value: bytes
    quality: bytes


class Hello(Message, frozen=True, tag="hello"):
    """First word of a display."""

    version: int
    token: str
    name: str


class Welcome(Message, frozen=True, tag="welcome"):
    """The engine accepts."""

    version: int
    run_id: str


class Refused(Message, frozen=True, tag="refused"):
    """The engine does not accept; the text says what to do."""

    why: str


class Snapshot(Message, frozen=True, tag="snapshot"):
    """Everything a display needs to start. *events* is the newest part of the journal."""

    seq: int
    until_ns: int
    run_id: str
    started_ns: int
    speed: float
    stand: StandInfo
    phase: PhaseState
    values: list[Value]
    alarms: list[AlarmState]
    events: list[Event]
    links: list[LinkState]
    recording: RecordingState
    health: dict[str, float]
    forced: list[ForcedState] = []


class Ready(Message, frozen=True, tag="ready"):
    """The display has taken everything up to *seq*."""

    seq: int


class Change(Message, frozen=True, tag="change"):
    """What is new since the last change. Absent parts did not change."""

    seq: int
    until_ns: int
    columns: list[Column] = []
    alarms: list[AlarmState] = []
    events: list[Event] = []
    links: list[LinkState] = []
    phase: PhaseState | None = None
    recording: RecordingState | None = None
    health: dict[str, float] | None = None
    forced: list[ForcedState] | None = None


class Ask(Message, frozen=True, tag="ask"):
    """Ask for history of some channels, reduced to *points* pairs of minimum and maximum."""

    id: int
    channels: list[int]
    from_ns: int
    until_ns: int
    points: int


class Part(Message, frozen=True, tag="part"):
    """History of one channel: int64 times, float64 values with NaN as gaps, as raw bytes.

    Where it is reduced, two rows stand for each interval: minimum and maximum in their order.
    """

    id: int
    channel: int
    t_ns: bytes
    value: bytes


class Done(Message, frozen=True, tag="done"):
    """All parts of an Ask were sent (or it was cancelled)."""

    id: int


class Cancel(Message, frozen=True, tag="cancel"):
    """The display no longer wants that history."""

    id: int


class Act(Message, frozen=True, tag="act"):
    """A person acts. *id* is unique per client run, so that repeating it does nothing twice.

    *subject* may be several ids with spaces between for ``acknowledge``. *second* is who
    agrees, where that is needed; *changes* what an edit of a limit changes, or the ``value``
    that a channel is forced to.
    """

    id: str
    verb: Verb
    subject: str
    by: str
    reason: str = ""
    seconds: float = 0.0
    second: str = ""
    changes: dict[str, float] = {}


class Acted(Message, frozen=True, tag="acted"):
    """Answer to an Act: effective time in ns, or why it was refused (*refusal* not empty)."""

    id: str
    effective_ns: int
    refusal: str = ""


class Beat(Message, frozen=True, tag="beat"):
    """Sign of life, both ways, at least each second while nothing else is sent."""

    now_ns: int


FromDisplay = Hello | Ready | Ask | Cancel | Act | Beat
FromEngine = Welcome | Refused | Snapshot | Change | Part | Done | Acted | Beat
