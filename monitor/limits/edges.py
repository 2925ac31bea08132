"""What the limit stage gives to the alarm stage: few, and in time order."""

from __future__ import annotations

from enum import IntEnum
from typing import NamedTuple


class Turn(IntEnum):
    """What happened to a limit."""

    RAISED = 1
    CLEARED = 2
    #: A running on-delay was given up because bad data outlasted the bridge.
    PENDING_LOST = 3
    #: A limit that waited until its value was inside the band is awake.
    ARMED = 4


class Edge(NamedTuple):
    """A limit turned.

    Attributes:
        t_ns: When it counts: onset plus delay, from reading times only.
        limit: Position of the limit in the plan.
        turn: See :class:`Turn`.
        onset_ns: Time of the first sample of this turn, before its delay.
        value: That sample's value, None where it was bad.
        quality: That sample's quality.
        setpoint: Setpoint that was in force at the onset.
    """

    t_ns: int
    limit: int
    turn: Turn
    onset_ns: int
    value: float | None
    quality: int
    setpoint: float
