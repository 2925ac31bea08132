"""Kinds of limit in words, and what a limit compares as a person reads it."""

from __future__ import annotations

from collections.abc import Mapping

from monitor.display.state.text import (
    MINUS,
    NS,
    duration_text,
    exact_number,
    number_text,
    plain_number,
)
from monitor.link.messages import AlarmState, ChannelInfo, LimitInfo, PhaseState

#: Short words for all kinds.
KIND_TEXT: dict[str, str] = {
    "high_high": "high-high",
    "high": "high",
    "low": "low",
    "low_low": "low-low",
    "rate_of_rise": "rises too fast",
    "rate_of_fall": "falls too fast",
    "deviation": "deviation",
    "disagreement": "sensors disagree",
    "state": "wrong state",
    "time_to_limit": "limit is near",
    "budget": "over the plan",
    "stuck": "stuck",
    "late": "late",
    "missed": "missed",
    "overlong": "on for too long",
    "expected": "expected, absent",
    "arming": "not in its band in time",
    "stale": "stale",
    "fault": "sensor fault",
    "combination": "combination",
    "abort": "abort criterion",
    "phase_overlong": "phase too long",
}
#: Kinds that compare the value itself: only these have a place on the channel's axis.
ON_AXIS = frozenset({"high_high", "high", "low", "low_low"})
#: Kinds that judge the quality.
QUALITY_KINDS = frozenset({"stale", "fault"})
#: A time to a limit beyond this, in s, means that nothing leads there.
_NEVER_S = 1e8
#: A difference that is only that of binary numbers, as a share of the number.
_ROUNDING = 1e-9
#: Kinds that do not look at how high or low a value is.
BLIND_KINDS = QUALITY_KINDS | {"stuck"}


def kind_text(limit: LimitInfo) -> str:
    """Say in words what a limit looks at; abort criteria by what they are for."""
    ending = limit.id.rpartition(".")[2]
    return KIND_TEXT.get(ending) or KIND_TEXT.get(limit.kind, limit.kind)


def setpoint_now(limit: LimitInfo, alarms: Mapping[str, AlarmState]) -> float | None:
    """Give the setpoint in force, after phase, mode and edits; None where there is none."""
    state = alarms.get(limit.id)
    return limit.setpoint if state is None else state.setpoint


def is_watched(limit: LimitInfo, phase: PhaseState) -> bool:
    """Tell whether a limit is looked at in this phase and mode."""
    return not limit.watched_in or not {phase.name, phase.mode}.isdisjoint(limit.watched_in)


def amount_text(limit: LimitInfo, channel: ChannelInfo | None, value: float | None) -> str:
    """Write what a limit compares, with its unit; empty where it means nothing to people."""
    if value is None or (limit.setpoint is None and not limit.unit):
        return ""
    if limit.unit == "s":
        return "not in sight" if value >= _NEVER_S else duration_text(round(value * NS))
    if limit.unit:
        return f"{plain_number(value).replace('-', MINUS, 1)} {limit.unit}"
    if channel is None:
        return ""
    return f"{number_text(value, channel.decimals)} {channel.unit}".strip()


def setpoint_text(limit: LimitInfo, channel: ChannelInfo | None, setpoint: float | None) -> str:
    """Write a setpoint with its unit; one that falls between the channel's digits in full."""
    if setpoint is None or channel is None or limit.unit or limit.setpoint is None:
        return amount_text(limit, channel, setpoint)
    if abs(round(setpoint, channel.decimals) - setpoint) > _ROUNDING * max(1.0, abs(setpoint)):
        return f"{exact_number(setpoint)} {channel.unit}".strip()
    return amount_text(limit, channel, setpoint)


def limit_text(limit: LimitInfo, channel: ChannelInfo | None, setpoint: float | None) -> str:
    """Name a limit with its setpoint, for example ``high-high 48.0 kPa``."""
    return f"{kind_text(limit)} {setpoint_text(limit, channel, setpoint)}".rstrip()


#: What can be edited of a limit, by the words of an edit, beside setpoints in phases and modes.
EDIT_TEXT: dict[str, str] = {
    "setpoint": "setpoint",
    "deadband": "deadband",
    "on_delay_s": "on-delay",
    "off_delay_s": "off-delay",
}
#: Before the name of a phase or mode whose setpoint is edited.
SETPOINT_IN = "setpoint_in."


def edit_name(key: str) -> str:
    """Name what an edit changes: ``setpoint in climb`` for ``setpoint_in.climb``."""
    if key.startswith(SETPOINT_IN):
        return f"setpoint in {key.removeprefix(SETPOINT_IN)}"
    return EDIT_TEXT.get(key, key)


def edit_amount(limit: LimitInfo, channel: ChannelInfo | None, key: str, value: object) -> str:
    """Write a value of an edit with its unit; ``none`` where there was none."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return "none"
    unit = "s" if key.endswith("_delay_s") else edit_unit(limit, channel)
    return f"{exact_number(float(value))} {unit}".strip()


def edit_unit(limit: LimitInfo, channel: ChannelInfo | None) -> str:
    """Give the unit in which a setpoint is edited."""
    return limit.unit or (channel.unit if channel is not None else "")


def edit_text(
    limit: LimitInfo, channel: ChannelInfo | None, key: str, old: object, new: object
) -> str:
    """Tell one change of an edit: ``setpoint 44 kPa to 46 kPa``."""
    was = edit_amount(limit, channel, key, old)
    return f"{edit_name(key)} {was} to {edit_amount(limit, channel, key, new)}"
