"""The abort criteria: what each waits for, how near it is, and what it calls for."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.alarm_rows import is_inhibited, stands, state_text
from monitor.display.state.kinds import ON_AXIS, is_watched, setpoint_now, setpoint_text
from monitor.display.state.model import Model
from monitor.display.state.severity import Severity
from monitor.display.state.text import NO_NUMBER, clock_text, number_text
from monitor.link.messages import AbortInfo, AlarmState


@dataclass(frozen=True, slots=True)
class AbortInput:
    """One limit that a criterion looks at.

    Attributes:
        name: Tag and kind.
        state: How it stands, in a word.
        value: Present value, where the limit is on the value itself.
        limit: Setpoint in force.
        is_standing: Its condition stands.
    """

    name: str
    state: str
    value: str
    limit: str
    is_standing: bool


@dataclass(frozen=True, slots=True)
class AbortRow:
    """One abort criterion.

    Attributes:
        limit: Id of its limit.
        title: What it is.
        when: What must stand together, for people.
        state: Where it stands, in words.
        safe_state: What it calls for.
        inputs: The limits that it looks at.
        severity: Loud while it is met, in doubt while it is inhibited.
    """

    limit: str
    title: str
    when: str
    state: str
    safe_state: str
    inputs: tuple[AbortInput, ...]
    severity: Severity

    @property
    def met(self) -> str:
        """Say how many of its inputs stand."""
        return f"{sum(one.is_standing for one in self.inputs)} of {len(self.inputs)}"


def abort_rows(model: Model, now_ns: int) -> tuple[AbortRow, ...]:
    """List the criteria in the order of the stand."""
    return tuple(_row(model, info, now_ns) for info in model.index.stand.aborts)


def _row(model: Model, info: AbortInfo, now_ns: int) -> AbortRow:
    """Build the row of one criterion."""
    alarm = model.alarms.get(info.limit, AlarmState(info.limit))
    when = info.when
    # Longest first: one id may be the beginning of another.
    for limit_id in sorted(info.inputs, key=len, reverse=True):
        when = when.replace(limit_id, model.index.limit_name(limit_id))
    return AbortRow(
        limit=info.limit,
        title=info.title,
        when=when,
        state=_state(model, alarm, now_ns),
        safe_state=info.safe_state,
        inputs=tuple(_input(model, limit_id) for limit_id in info.inputs),
        severity=_severity(alarm),
    )


def _state(model: Model, alarm: AlarmState, now_ns: int) -> str:
    """Say where a criterion stands."""
    if alarm.is_active and not is_inhibited(alarm):
        waits = "" if alarm.is_acknowledged else ", not acknowledged"
        return f"MET since {clock_text(alarm.true_ns)}{waits}"
    if stands(alarm) or is_inhibited(alarm):
        met = "met, but " if alarm.is_active else ""
        return met + state_text(model, alarm, now_ns)
    return "not met"


def _severity(alarm: AlarmState) -> Severity:
    """Say how far from normal a criterion is."""
    if is_inhibited(alarm):
        return Severity.DOUBT
    return Severity.TOP if stands(alarm) else Severity.CALM


def _input(model: Model, limit_id: str) -> AbortInput:
    """Say how one of the limits stands that a criterion looks at."""
    alarm = model.alarms.get(limit_id, AlarmState(limit_id))
    name = model.index.limit_name(limit_id)
    place = model.index.limits.get(limit_id)
    if place is None:
        return AbortInput(name, "unknown", "", "", False)
    limit = setpoint_text(place.limit, place.channel, setpoint_now(place.limit, model.alarms))
    value = ""
    if place.channel is not None and place.limit.kind in ON_AXIS:
        newest = model.values[model.index.channel[place.channel.tag]].value
        number = number_text(newest, place.channel.decimals)
        value = number if number == NO_NUMBER else f"{number} {place.channel.unit}".strip()
    return AbortInput(name, _word(model, alarm), value, limit, alarm.is_active)


def _word(model: Model, alarm: AlarmState) -> str:
    """Say in one word how a limit stands."""
    if alarm.is_active:
        return "STANDS"
    if alarm.armed == "asleep":
        return "asleep"
    place = model.index.limits[alarm.id]
    return "no" if is_watched(place.limit, model.phase) else "not watched now"
