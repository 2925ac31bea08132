"""Where a value stands between its limits, as shares of the channel's span."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from monitor.display.state.kinds import ON_AXIS, setpoint_now
from monitor.link.messages import AlarmState, ChannelInfo

_HIGH_KINDS = ("high", "high_high")
_LOW_KINDS = ("low", "low_low")


@dataclass(frozen=True, slots=True)
class Mark:
    """A limit on the bar. *at* is 0 at the low end of the span and 1 at the high end."""

    at: float
    kind: str
    is_active: bool


@dataclass(frozen=True, slots=True)
class Band:
    """A bar from the low end of a channel's span to its high end.

    Attributes:
        at: Where the value stands, 0 to 1, or None where there is none to show.
        beyond: -1 or 1 when the value is off the low or the high end, else 0.
        normal_from: Where the stretch without any limit passed begins.
        normal_until: Where it ends.
        marks: Limits within the span.
    """

    at: float | None
    beyond: int
    normal_from: float
    normal_until: float
    marks: tuple[Mark, ...]


def share_of(value: float, low: float, high: float) -> float:
    """Give where *value* stands in [low, high]: 0 at the low end, 1 at the high end."""
    return (value - low) / (high - low) if high > low else math.nan


def _kept_in(share: float) -> float:
    """Bring a share into 0 to 1."""
    return min(1.0, max(0.0, share))


def band(info: ChannelInfo, value: float | None, alarms: Mapping[str, AlarmState]) -> Band:
    """Lay the bar out with the limits in force. Without a sensible span it is empty."""
    marks, ends = [], [0.0, 1.0]
    for limit in info.limits:
        setpoint = setpoint_now(limit, alarms) if limit.kind in ON_AXIS else None
        if setpoint is None or not info.high > info.low:
            continue
        at = share_of(setpoint, info.low, info.high)
        if limit.kind in _HIGH_KINDS:
            ends[1] = min(ends[1], _kept_in(at))
        elif limit.kind in _LOW_KINDS:
            ends[0] = max(ends[0], _kept_in(at))
        state = alarms.get(limit.id)
        if 0 <= at <= 1:
            marks.append(Mark(at, limit.kind, state is not None and state.is_active))
    share = math.nan if value is None else share_of(value, info.low, info.high)
    at_now = _kept_in(share) if math.isfinite(share) else None
    beyond = 0 if at_now is None else int(share > 1) - int(share < 0)
    return Band(at_now, beyond, ends[0], max(ends), tuple(marks))
