"""What the table of a limit comes to: deadband and delays with their defaults, units.

A limit has no deadband and no delay unless one is written: nobody should wait without knowing
it. A channel that states its ``signal_type`` gets the published starting points instead, for
the value itself, its deviation and its sensors' disagreement (the deadband for the value only:
a setpoint of half a kilopascal has no room for some per cent of the span). An alarm of top
priority never gets an on-delay that was not written.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from monitor.alarms.plan import Priority
from monitor.limits.plan import Kind
from monitor.stand.draft import ChannelDraft
from monitor.stand.schema_limits import (
    AfterTable,
    DelayedTable,
    ExpectedTable,
    LongestTable,
    RateTable,
    SetpointTable,
    StuckTable,
    TimeToTable,
    WatchTable,
)

_PERCENT = re.compile(r"\s*(\d+\.?\d*|\.\d+)\s*%\s*")


@dataclass(frozen=True, slots=True)
class StartingPoint:
    """A first guess: a deadband in % of the span, and on- and off-delay in seconds."""

    deadband_percent: float
    delay_s: float


#: By ``signal_type``.
#:
#: Source: deadbands from a handbook's text that quotes the guidance of ANSI/ISA-18.2 and
#: EEMUA 191; delays from memory of the same guidance, to be checked.
STARTING_POINTS = {
    "flow": StartingPoint(5, 15),
    "level": StartingPoint(5, 60),
    "pressure": StartingPoint(2, 15),
    "temperature": StartingPoint(1, 60),
}
_NONE = StartingPoint(0, 0)
#: The kinds that compare the value itself, from the lowest setpoint to the highest.
UPWARDS = (Kind.LOW_LOW, Kind.LOW, Kind.HIGH, Kind.HIGH_HIGH)
HIGHS = frozenset({Kind.HIGH, Kind.HIGH_HIGH})
RATES = frozenset({Kind.RATE_OF_RISE, Kind.RATE_OF_FALL})
#: Kinds whose figure is a difference of two values of the channel.
DIFFERENCES = frozenset({Kind.DEVIATION, Kind.DISAGREEMENT, Kind.BUDGET})
_DELAYED_BY_SIGNAL = frozenset({*UPWARDS, Kind.DEVIATION, Kind.DISAGREEMENT})


def percent_of(text: str) -> float | None:
    """Read ``"2 %"``; None for any other text."""
    found = _PERCENT.fullmatch(text)
    return float(found[1]) if found else None


def deadband_of(channel: ChannelDraft, kind: Kind, table: WatchTable) -> float:
    """Give the deadband in the unit of what is compared; 0 where it cannot be told."""
    if isinstance(table, TimeToTable):
        return table.deadband
    if not isinstance(table, SetpointTable):
        return 0.0
    if isinstance(table.deadband, float):
        return table.deadband
    low, high = channel.span or (0.0, 0.0)
    percent = percent_of(table.deadband) if table.deadband is not None else None
    if table.deadband is None and kind in UPWARDS:
        percent = _starting_point(channel).deadband_percent
    return (percent or 0.0) / 100 * (high - low)


def on_delay_s(channel: ChannelDraft, kind: Kind, table: WatchTable) -> float:
    """Give how long the condition must hold."""
    match table:
        case StuckTable():
            return table.for_s
        case AfterTable():
            return table.after_s
        case LongestTable():
            return table.longest_s
        case ExpectedTable():
            return table.within_s
        case DelayedTable() if table.on_delay_s is not None:
            return table.on_delay_s
    is_default = kind in _DELAYED_BY_SIGNAL and table.priority is not Priority.TOP
    has_samples = isinstance(table, DelayedTable) and table.n_of_m is not None
    return _starting_point(channel).delay_s if is_default and not has_samples else 0.0


def off_delay_s(channel: ChannelDraft, kind: Kind, table: WatchTable) -> float:
    """Give how long the return must hold."""
    if table.off_delay_s is not None:
        return table.off_delay_s
    return _starting_point(channel).delay_s if kind in _DELAYED_BY_SIGNAL else 0.0


def window_s(table: WatchTable) -> float:
    """Give the window over which a figure is made; 0 for those that need none."""
    return table.window_s if isinstance(table, RateTable | TimeToTable) else 0.0


def unit_of(channel: ChannelDraft, kind: Kind, table: WatchTable) -> str:
    """Give the unit of what is compared where it is not the channel's, else nothing.

    A difference of two temperatures in °C is in K.
    """
    own = channel.unit.text if channel.unit else ""
    difference = "K" if own == "°C" else own
    if isinstance(table, RateTable):
        return f"{difference or '1'}/{table.per}"
    if kind is Kind.TIME_TO_LIMIT:
        return "s"
    return difference if kind in DIFFERENCES and difference != own else ""


def _starting_point(channel: ChannelDraft) -> StartingPoint:
    """Give the published starting point; nothing where the type is not stated."""
    return STARTING_POINTS.get(channel.table.signal_type or "", _NONE)
