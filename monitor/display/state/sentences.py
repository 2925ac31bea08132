"""The journal's lines as sentences."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from monitor.display.state.index import Place, StandIndex
from monitor.display.state.kinds import amount_text, edit_text, kind_text, setpoint_text
from monitor.display.state.severity import PRIORITIES, Severity
from monitor.display.state.text import clock_text, duration_text, exact_number, plain_number
from monitor.events import Event, Field
from monitor.link.messages import ChannelInfo, LimitInfo

#: Fields that the sentences use up; the rest is shown behind them.
_USED = frozenset(
    {"by", "reason", "message", "priority", "value", "setpoint", "quality", "why", "cure"}
    | {"detail", "text", "state", "verb", "phase", "until_ns", "onset_ns", "true_ns"}
    | {"is_annunciated", "second", "cause", "group", "with", "mode"}
)
#: Writes a number of a limit on a channel with its unit.
_Write = Callable[[LimitInfo, ChannelInfo | None, float | None], str]
_AT_START = "start of run"
_BY_ITSELF = "conditions"
#: Endings of the two fields that an edit has for each thing it changes.
_FROM, _TO = "_from", "_to"


@dataclass(frozen=True, slots=True)
class EventLine:
    """One line of the event list. *severity* is that of the alarm for alarm events."""

    time: str
    text: str
    severity: Severity


_WHAT: dict[str, str] = {
    "run.started": "Run started",
    "run.resumed": "Run resumed",
    "run.closed": "Run closed",
    "recording.stopped": "Recording stopped: nothing is written down",
    "recording.resumed": "Recording resumed",
    "readings.dropped": "Readings dropped",
    "action.silence": "Tone silenced",
    "action.lamp_test": "Lamp test",
    "limit.armed": "awake: its value was inside the band",
    "limit.edited": "edited",
    "action.note": "Note",
    "action.refused": "Refused",
    "value.forced": "forced by hand",
    "value.released": "forced no more",
    "alarm.raised": "raised",
    "alarm.cleared": "returned to normal",
    "alarm.acknowledged": "acknowledged",
    "alarm.reset": "reset",
    "alarm.suppressed": "suppressed",
    "alarm.unsuppressed": "no longer suppressed",
    "alarm.shelved": "shelved",
    "alarm.unshelved": "no longer shelved",
    "alarm.out_of_service": "taken out of service",
    "alarm.returned_to_service": "returned to service",
    "alarm.annunciated": "annunciated",
    "alarm.realarmed": "still stands, annunciated again",
    "alarm.first_out": "first-out",
    "alarm.pending_lost": "was about to be raised when its data went bad",
    "condition.on": "condition began",
    "condition.off": "condition ended",
}


def event_line(event: Event, index: StandIndex) -> EventLine:
    """Make the line of one event."""
    family = event.kind.partition(".")[0]
    writer = _WRITERS.get(family, _plain)
    text = writer(event, index) + _who_and_why(event.fields) + _rest(event)
    return EventLine(clock_text(event.t_ns), text, _severity(event, index))


def _severity(event: Event, index: StandIndex) -> Severity:
    """Colour only what is abnormal; what was not shown, being inhibited, stands back."""
    if event.fields.get("is_annunciated") is False or event.kind in _BACK:
        return Severity.QUIET
    if event.kind in _LOUD:
        place = index.limits.get(event.subject)
        priority = place.limit.priority if place is not None else ""
        return Severity(priority) if priority in PRIORITIES else Severity.CALM
    if event.kind in ("link.down", "recording.stopped", "readings.dropped"):
        return Severity.BAD
    return Severity.DOUBT if event.kind in _DOUBTFUL else Severity.CALM


_LOUD = ("alarm.raised", "alarm.annunciated", "alarm.realarmed")
_BACK = ("alarm.suppressed", "alarm.unsuppressed", "condition.on", "condition.off")
_DOUBTFUL = ("action.refused", "phase.lapsed", "limit.edited", "value.forced")


def _alarm(event: Event, index: StandIndex) -> str:
    """Tell of an alarm: tag, message, what happened, at which value."""
    what = _WHAT.get(event.kind, event.kind)
    place = index.limits.get(event.subject)
    if place is None:
        return f"{event.subject}: {what}{_details(event)}"
    message = place.limit.message or kind_text(place.limit)
    at = _amount(event.fields.get("value"), place, amount_text, " at ")
    limit = _amount(event.fields.get("setpoint"), place, setpoint_text, ", limit ")
    limit = limit if at else ""
    said = f"{what}{_edits(event.fields, place)}{at}{limit}"
    return f"{place.tag}: {message} \N{EN DASH} {said}{_group(event, index)}{_details(event)}"


def _amount(value: Field, place: Place, write: _Write, before: str) -> str:
    """Write what a limit compared behind *before*; nothing where there is none."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return ""
    amount = write(place.limit, place.channel, float(value))
    return f"{before}{amount}" if amount else ""


def _edits(fields: dict[str, Field], place: Place) -> str:
    """Tell what an edit changed, from what to what."""
    told = []
    for key, new in fields.items():
        name = key.removesuffix(_TO)
        if name != key and isinstance(new, int | float):
            told.append(
                edit_text(place.limit, place.channel, name, fields.get(name + _FROM), new)
            )
    return f": {', '.join(told)}" if told else ""


def _group(event: Event, index: StandIndex) -> str:
    """Tell of which group an alarm is the first, or whose consequence it is."""
    group, cause = _words(event.fields, "group"), _words(event.fields, "cause")
    of_group = f" of {group}" if group else ""
    others = _words(event.fields, "with")
    names = ", ".join(index.limit_name(one) for one in others.split(", "))
    if others and event.kind == "alarm.first_out":
        of_group += f" cannot be told: {names} came within one sample"
    elif others:
        of_group += f" with {names}"
    where = "was behind" if event.kind == "alarm.unsuppressed" else "behind"
    return of_group + (f", {where} {index.limit_name(cause)}" if cause else "")


def _details(event: Event) -> str:
    """Tell what is out of the ordinary: a doubtful value, a latch, an end, not shown."""
    fields, told = event.fields, []
    quality = _words(fields, "quality")
    if quality not in ("", "good"):
        told.append(quality)
    if _words(fields, "state").startswith("latched"):
        told.append("awaits reset")
    until_ns = fields.get("until_ns")
    if isinstance(until_ns, int):
        told.append(f"until {clock_text(until_ns)} UTC")
    if fields.get("is_annunciated") is False:
        told.append("not shown, because it is inhibited")
    return "".join(f", {text}" for text in told)


def _value(event: Event, index: StandIndex) -> str:
    """Tell of a value that is forced by hand, or let go."""
    number, what = index.channel.get(event.subject), _WHAT.get(event.kind, event.kind)
    value = event.fields.get("value")
    to = ""
    if number is not None and isinstance(value, int | float):
        unit = index.stand.channels[number].unit
        to = f" to {exact_number(float(value))} {unit}".rstrip()
    return f"{event.subject}: {what}{to}{_details(event)}"


def _phase(event: Event, index: StandIndex) -> str:
    """Tell of a phase."""
    title = index.phase_title(event.subject)
    if event.kind == "phase.lapsed":
        return f"Phase {title} lasts longer than it may: what it suppresses speaks again"
    return f"Phase {title} entered"


def _mode(event: Event, index: StandIndex) -> str:
    """Tell of a mode."""
    return f"Mode {index.mode_title(event.subject)} entered"


def _link(event: Event, _index: StandIndex) -> str:
    """Tell of an instrument's link."""
    what = "up" if event.kind == "link.up" else "LOST"
    why = _words(event.fields, "why")
    cure = _words(event.fields, "cure")
    return (
        f"Link to {event.subject} {what}"
        + (f": {why}" if why else "")
        + (f"; {cure}" if cure else "")
    )


def _plain(event: Event, _index: StandIndex) -> str:
    """Tell of anything else."""
    what = _WHAT.get(event.kind, event.kind)
    verb = _words(event.fields, "verb").replace("_", " ")
    what = f"{what} to {verb}" if verb else what
    words = [_words(event.fields, key) for key in ("detail", "text", "why")]
    said = "; ".join(word for word in words if word)
    subject = f" {event.subject}" if event.subject and event.subject != "*" else ""
    return f"{what}{subject}" + (f": {said}" if said else "")


def _who_and_why(fields: dict[str, Field]) -> str:
    """Tell who did it and why."""
    by, reason = _words(fields, "by"), _words(fields, "reason")
    if by == _AT_START:
        return " at the start of the run"
    why = f" ({reason})" if reason else ""
    if by == _BY_ITSELF:
        return f" by itself{why}"
    second = _words(fields, "second")
    agreed = f" and {second}" if second else ""
    return (f", by {by}{agreed}" if by else "") + why


def _rest(event: Event) -> str:
    """Write the fields that no sentence used, so that nothing is kept back."""
    used = (_FROM, _TO) if event.kind == "limit.edited" else ()
    left = [
        f"{key.removesuffix('_ns').replace('_', ' ')} {_field_text(key, value)}"
        for key, value in event.fields.items()
        if key not in _USED and not key.endswith(used) and value not in (None, "", False)
    ]
    return f" [{', '.join(left)}]" if left else ""


def _field_text(key: str, value: Field) -> str:
    """Write one field: times of day as such, other whole numbers of ns as durations."""
    if key.endswith("_ns") and isinstance(value, int):
        return clock_text(value) if value > 10**17 else duration_text(value)
    if isinstance(value, bool):
        return "yes"
    return plain_number(value) if isinstance(value, int | float) else str(value)


def _words(fields: dict[str, Field], key: str) -> str:
    """Give a field that is text."""
    value = fields.get(key)
    return value if isinstance(value, str) else ""


_WRITERS: dict[str, Callable[[Event, StandIndex], str]] = {
    "alarm": _alarm,
    "condition": _alarm,
    "limit": _alarm,
    "value": _value,
    "phase": _phase,
    "mode": _mode,
    "link": _link,
}
