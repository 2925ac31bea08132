"""The alarm list: which alarms are shown, in which order, and what is said about each."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.band import KIND_TEXT
from monitor.display.state.index import Place
from monitor.display.state.model import Model
from monitor.display.state.severity import PRIORITIES, rank_of
from monitor.display.state.text import clock_text, duration_text, number_text
from monitor.link.messages import AlarmState
from monitor.samples import QUALITY_TEXT


@dataclass(frozen=True, slots=True)
class AlarmRow:
    """One alarm in the list.

    Attributes:
        id: The limit's id, for acting on it.
        priority: Word of the stand file.
        tag: Channel as people know it.
        message: What is wrong.
        state: Where it stands, in words.
        time: When it was annunciated (or inhibited), UTC.
        age: For how long.
        value: Value that raised it, with its unit.
        is_unacknowledged: Wants to be acknowledged.
        is_inhibited: Shelved, out of service or suppressed: listed below, and quiet.
        can_reset: A latched alarm whose condition is gone.
        is_shelved: A person shelved it and may take it back.
        is_out_of_service: A person took it out of service and may return it.
    """

    id: str
    priority: str
    tag: str
    message: str
    state: str
    time: str
    age: str
    value: str
    is_unacknowledged: bool
    is_inhibited: bool
    can_reset: bool
    is_shelved: bool
    is_out_of_service: bool


@dataclass(frozen=True, slots=True)
class PriorityCount:
    """How many alarms of one priority stand, and how many of them nobody acknowledged."""

    priority: str
    unacknowledged: int
    standing: int


@dataclass(frozen=True, slots=True)
class Response:
    """What to do about one alarm, for the panel beside the list."""

    title: str
    facts: str
    text: str


def is_inhibited(alarm: AlarmState) -> bool:
    """Tell whether an alarm is kept quiet by a phase or a person."""
    return alarm.is_suppressed or alarm.is_shelved or alarm.is_out_of_service


def wants_attention(alarm: AlarmState) -> bool:
    """Tell whether an alarm is annunciated and not yet acknowledged."""
    return alarm.is_annunciated and not alarm.is_acknowledged


def _is_listed(alarm: AlarmState, priority: str) -> bool:
    """Tell whether an alarm has a row: it stands, is awaited, or a person inhibits it."""
    if priority not in PRIORITIES:
        return False
    stands = alarm.is_active or alarm.is_latched or not alarm.is_acknowledged
    return alarm.is_annunciated or stands or alarm.is_shelved or alarm.is_out_of_service


def state_text(alarm: AlarmState, now_ns: int) -> str:
    """Say in words where an alarm stands."""
    if alarm.is_out_of_service:
        return "out of service"
    if alarm.is_shelved:
        return f"shelved, {duration_text(alarm.shelved_until_ns - now_ns)} left"
    if alarm.is_suppressed:
        return "suppressed in this phase"
    if alarm.is_active:
        return "active" if alarm.is_acknowledged else "active, not acknowledged"
    if alarm.is_latched:
        rest = "" if alarm.is_acknowledged else ", not acknowledged"
        return f"gone, awaits reset{rest}"
    return "gone" if alarm.is_acknowledged else "gone, not acknowledged"


def alarm_rows(model: Model, now_ns: int) -> tuple[AlarmRow, ...]:
    """List alarms: those that want attention first, then by priority, then the newest."""
    listed = [
        (place, model.alarms[place.limit.id])
        for place in model.index.limits.values()
        if place.limit.id in model.alarms
        and _is_listed(model.alarms[place.limit.id], place.limit.priority)
    ]
    listed.sort(key=lambda pair: _order(*pair))
    return tuple(_row(place, alarm, now_ns) for place, alarm in listed)


def _order(place: Place, alarm: AlarmState) -> tuple[bool, bool, int, int, int]:
    """Give the sort key of an alarm; the stand file's order settles ties."""
    return (
        is_inhibited(alarm),
        alarm.is_acknowledged,
        rank_of(place.limit.priority),
        -_shown_since(alarm),
        place.order,
    )


def _shown_since(alarm: AlarmState) -> int:
    """Give the time that the list shows, in ns."""
    return alarm.annunciated_ns or alarm.true_ns or alarm.onset_ns


def _row(place: Place, alarm: AlarmState, now_ns: int) -> AlarmRow:
    """Build one row."""
    since_ns = _shown_since(alarm)
    inhibited = is_inhibited(alarm)
    return AlarmRow(
        id=alarm.id,
        priority=place.limit.priority,
        tag=place.tag,
        message=_message(place, alarm),
        state=state_text(alarm, now_ns),
        time=clock_text(since_ns) if since_ns else "",
        age=duration_text(now_ns - since_ns) if since_ns else "",
        value=_value_text(place, alarm),
        is_unacknowledged=not alarm.is_acknowledged and not inhibited,
        is_inhibited=inhibited,
        can_reset=alarm.is_latched and not alarm.is_active,
        is_shelved=alarm.is_shelved,
        is_out_of_service=alarm.is_out_of_service,
    )


def _message(place: Place, alarm: AlarmState) -> str:
    """Say what is wrong, with the quality behind it where quality is the matter."""
    message = place.limit.message or KIND_TEXT.get(place.limit.kind, place.limit.kind)
    quality = QUALITY_TEXT.get(alarm.quality, "") if alarm.quality else ""
    is_about_quality = place.limit.setpoint is None and quality not in ("", place.limit.kind)
    return f"{message}: {quality}" if is_about_quality else message


def _value_text(place: Place, alarm: AlarmState) -> str:
    """Write the value that raised an alarm; nothing where it has none."""
    if place.channel is None or alarm.value is None:
        return ""
    return f"{number_text(alarm.value, place.channel.decimals)} {place.channel.unit}".strip()


def alarm_summary(rows: tuple[AlarmRow, ...]) -> tuple[PriorityCount, ...]:
    """Count what stands by priority, most urgent first; inhibited alarms do not count."""
    return tuple(
        PriorityCount(
            priority,
            sum(row.priority == priority and row.is_unacknowledged for row in rows),
            sum(row.priority == priority and not row.is_inhibited for row in rows),
        )
        for priority in PRIORITIES
    )


def response(model: Model, alarm_id: str) -> Response | None:
    """Say what an alarm means and what to do; None where the stand has no such alarm."""
    place = model.index.limits.get(alarm_id)
    if place is None:
        return None
    alarm = model.alarms.get(alarm_id, AlarmState(alarm_id))
    facts = [f"{place.tag} · {KIND_TEXT.get(place.limit.kind, place.limit.kind)}"]
    facts.append(f"priority {place.limit.priority}")
    setpoint = place.limit.setpoint_in.get(model.phase.name, place.limit.setpoint)
    if setpoint is not None and place.channel is not None:
        number = number_text(setpoint, place.channel.decimals)
        facts.append(f"limit {number} {place.channel.unit}".strip())
    raised = _value_text(place, alarm)
    if raised:
        facts.append(f"raised at {raised}")
    if alarm.inhibit_reason:
        facts.append(alarm.inhibit_reason)
    text = place.limit.response or "The stand file gives no response for this alarm."
    return Response(place.limit.message or place.limit.id, " · ".join(facts), text)
