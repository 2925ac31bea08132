"""What an alarm means and what to do about it, for the panel beside the list."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.alarm_rows import stands, suppressed_text
from monitor.display.state.index import Place
from monitor.display.state.kinds import amount_text, kind_text, setpoint_now, setpoint_text
from monitor.display.state.model import Model
from monitor.display.state.text import clock_text, span_text
from monitor.link.messages import AlarmState

#: Consequences that are named; the others are counted.
_MOST_NAMED = 6


@dataclass(frozen=True, slots=True)
class Response:
    """What to do about one alarm.

    Attributes:
        title: What is wrong.
        facts: Tag, kind, priority, limit, in one line.
        text: What to do.
        safe_state: The safe state that an abort criterion calls for; empty for others.
        more: What else there is to know: first-out, consequences, edits, inhibition.
    """

    title: str
    facts: str
    text: str
    safe_state: str = ""
    more: str = ""


def response(model: Model, alarm_id: str) -> Response | None:
    """Say what an alarm means and what to do; None where the stand has no such alarm."""
    place = model.index.limits.get(alarm_id)
    if place is None:
        return None
    alarm = model.alarms.get(alarm_id, AlarmState(alarm_id))
    text = place.limit.response or "The stand file gives no response for this alarm."
    return Response(
        title=place.limit.message or place.limit.id,
        facts=" · ".join(_facts(model, place, alarm)),
        text=text,
        safe_state=place.limit.safe_state,
        more=". ".join(_more(model, place, alarm)),
    )


def _facts(model: Model, place: Place, alarm: AlarmState) -> list[str]:
    """List what is known of the limit."""
    facts = [f"{place.tag} · {kind_text(place.limit)}", f"priority {place.limit.priority}"]
    setpoint = setpoint_now(place.limit, model.alarms)
    limit = setpoint_text(place.limit, place.channel, setpoint)
    if limit:
        facts.append(f"limit {limit}{', edited' if alarm.is_edited else ''}")
    raised = amount_text(place.limit, place.channel, alarm.value)
    if raised:
        facts.append(f"raised at {raised}")
    return facts


def _more(model: Model, place: Place, alarm: AlarmState) -> list[str]:
    """List what else there is to know, most telling first."""
    group = place.limit.group
    told = {
        "first": f"First-out of {group}",
        "undetermined": f"First-out of {group} cannot be told: others came within one sample",
    }
    more = [told[alarm.first_out]] if alarm.first_out in told else []
    if alarm.is_suppressed:
        more.append(f"Quiet: {suppressed_text(model, alarm)}")
    reasons = (alarm.shelf_reason, alarm.service_reason)
    more += [f"{reason[0].upper()}{reason[1:]}" for reason in reasons if reason]
    more += _behind(model, alarm.id)
    if alarm.is_active and place.limit.realarm_s:
        every = span_text(round(place.limit.realarm_s))
        more.append(f"Comes again each {every} while it stands")
    if alarm.armed == "asleep":
        more.append("Asleep until its value was once inside the band")
    return more


def _behind(model: Model, alarm_id: str) -> list[str]:
    """Name the consequences that are quiet because of an alarm, the first to come first."""
    found = [
        one
        for one in model.alarms.values()
        if one.cause == alarm_id and one.is_suppressed and stands(one)
    ]
    found.sort(key=lambda one: one.onset_ns)
    names = [f"{model.index.limit_name(one.id)} {clock_text(one.onset_ns)}" for one in found]
    if not names:
        return []
    rest = len(names) - _MOST_NAMED
    more = f" and {rest} more" if rest > 0 else ""
    return [f"Behind it: {', '.join(names[:_MOST_NAMED])}{more}"]
