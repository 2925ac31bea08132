"""Limits and alarms in words: what is compared, what is wrong, what to do about a sensor."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from monitor.limits.plan import QUALITY_KINDS, Kind
from monitor.stand.check_instruments import split_source
from monitor.stand.draft import ChannelDraft
from monitor.stand.limit_values import unit_of
from monitor.stand.schema import AlarmBase
from monitor.stand.schema_limits import (
    AfterTable,
    BudgetTable,
    DelayedTable,
    DeviationTable,
    DisagreementTable,
    ExpectedTable,
    LongestTable,
    SetpointTable,
    StateTable,
    StuckTable,
    TimeToTable,
    WatchTable,
)

_WORDS = {
    Kind.HIGH_HIGH: "very high",
    Kind.HIGH: "high",
    Kind.LOW: "low",
    Kind.LOW_LOW: "very low",
    Kind.RATE_OF_RISE: "rises too fast",
    Kind.RATE_OF_FALL: "falls too fast",
}


def message_of(channel: ChannelDraft, kind: Kind, table: AlarmBase) -> str:
    """Say what is wrong, in one line."""
    unit = channel.unit.text if channel.unit else ""
    if kind in _WORDS:
        return f"{channel.title} {_WORDS[kind]}"
    if kind in QUALITY_KINDS:
        return f"{channel.title}: {_sensor_trouble(channel, kind)}"
    return f"{channel.title}{_SAID[type(table)](table, kind, unit)}"


def response_of(channel: ChannelDraft, kind: Kind) -> str:
    """Say what to do about a sensor; nothing for other alarms, which need their own words."""
    blind = f"until then the limits of {channel.tag} are blind"
    instrument, signal = split_source(channel.table.source or "")
    if kind is Kind.STALE:
        return f"Check that {instrument} is on and sends {signal}; {blind}."
    if kind is Kind.FAULT and channel.is_computed:
        return f"Check {', '.join(dict.fromkeys(channel.input_tags().values()))}; {blind}."
    if kind is Kind.FAULT:
        return f"Check the sensor and its wiring to {instrument}; {blind}."
    return ""


def figure_of(channel: ChannelDraft, kind: Kind, table: WatchTable) -> str:
    """Say what a limit compares with what: ``150 kPa; climb 160``, ``0.5 kPa off PT-302``."""
    unit = channel.unit.text if channel.unit else ""
    text = _COMPARED[type(table)](table, unit) if type(table) in _COMPARED else ""
    if isinstance(table, SetpointTable):
        text = f"{_number(table.setpoint, unit_of(channel, kind, table) or unit)}{text}"
        text += "".join(f"; {place} {value:g}" for place, value in table.setpoint_in.items())
    if isinstance(table, DelayedTable) and table.n_of_m is not None:
        text += f", {table.n_of_m[0]} of {table.n_of_m[1]} samples"
    return text


def _number(value: float, unit: str) -> str:
    return f"{value:g} {unit}".strip()


def _expected(table: ExpectedTable, unit: str) -> str:
    if table.below is not None:
        return f"below {_number(table.below, unit)}"
    return f"above {_number(table.above or 0.0, unit)}"


def _sensor_trouble(channel: ChannelDraft, kind: Kind) -> str:
    if kind is Kind.STALE:
        return f"no reading for {channel.stale_after_s:g} s"
    return "no result" if channel.is_computed else "sensor fault"


def _origin(table: DeviationTable, unit: str) -> str:
    if table.profile is not None:
        return "its profile"
    if isinstance(table.origin, str):
        return table.origin
    return _number(table.origin or 0.0, unit)


def _bound(reaches: float | str, unit: str) -> str:
    if isinstance(reaches, str):
        return _WORDS[Kind(reaches)]
    return _number(reaches, unit)


#: Behind the channel's title, out of its table, its kind and the channel's unit.
_SAID: dict[type[AlarmBase], Callable[[Any, Kind, str], str]] = {
    DeviationTable: lambda table, _, unit: f" is off {_origin(table, unit)}",
    DisagreementTable: lambda _, __, ___: ": the sensors disagree",
    StateTable: lambda table, _, __: f" is {table.state:g}, which it must not be",
    TimeToTable: lambda table, _, unit: f" on its way to {_bound(table.reaches, unit)}",
    BudgetTable: lambda _, __, ___: ": more than planned by now",
    StuckTable: lambda table, _, __: f" has not changed for {table.for_s:g} s",
    AfterTable: lambda table, kind, _: f" {kind}: not begun for {table.after_s:g} s",
    LongestTable: lambda table, _, __: f" on for longer than {table.longest_s:g} s",
    ExpectedTable: lambda _, __, ___: " expected and absent",
}
#: Out of its table and the channel's unit; behind the setpoint where there is one.
_COMPARED: dict[type[AlarmBase], Callable[[Any, str], str]] = {
    DeviationTable: lambda table, unit: f" off {_origin(table, unit)}",
    DisagreementTable: lambda _, __: " apart",
    BudgetTable: lambda _, __: " over plan",
    StateTable: lambda table, _: f"is {table.state:g}",
    TimeToTable: lambda table, unit: f"{table.within_s:g} s to {_bound(table.reaches, unit)}",
    StuckTable: lambda table, unit: (
        f"within {_number(table.band, unit)}" if table.band else "unchanged"
    ),
    AfterTable: lambda _, __: "not begun",
    LongestTable: lambda _, __: "on",
    ExpectedTable: _expected,
}
