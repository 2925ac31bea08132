"""What the limit stage needs to know: compiled from a stand file, checked there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class Kind(StrEnum):
    """Kinds of limit. The first four compare a value, the last two judge its quality."""

    HIGH_HIGH = "high_high"
    HIGH = "high"
    LOW = "low"
    LOW_LOW = "low_low"
    #: True while no reading has come for the channel's stale time.
    STALE = "stale"
    #: True while readings come and are bad (fault current, out of range, no finite result).
    FAULT = "fault"


@dataclass(frozen=True, slots=True)
class Limit:
    """One comparison of one column.

    Attributes:
        id: ``<tag>.<kind>``, for example ``PT-101.high``.
        column: Column of the grid that is compared (the filtered one where there is a filter).
        kind: See :class:`Kind`.
        setpoint: In the channel's unit; unused by the quality kinds.
        setpoint_in: Setpoint in phases where it differs.
        deadband: In the channel's unit, not negative.
        on_delay_ns: How long the condition must hold.
        off_delay_ns: How long the return must hold.
        bridge_ns: How long bad data may interrupt a running on-delay.
        raises_on_bad: After the bridge, bad data counts as the condition being true.
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
