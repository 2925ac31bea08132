"""The journal's lines as sentences."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from monitor.display.state.band import KIND_TEXT
from monitor.display.state.index import Place, StandIndex
from monitor.display.state.severity import PRIORITIES, Severity
from monitor.display.state.text import clock_text, duration_text, number_text, plain_number
from monitor.events import Event, Field

#: Fields that the sentences use up; the rest is shown behind them.
_USED = frozenset(
    {"by", "reason", "message", "priority", "value", "setpoint", "quality", "why", "cure"}
    | {"detail", "text", "state", "verb", "phase", "until_ns", "onset_ns", "true_ns"}
    | {"is_annunciated"}
)
_AT_START = "start of run"


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
    "action.note": "Note",
    "action.refused": "Refused",
    "alarm.raised": "raised",
    "alarm.cleared": "returned to normal",
    "alarm.acknowledged": "acknowledged",
    "alarm.reset": "reset",
    "alarm.suppressed": "suppressed in this phase",
    "alarm.unsuppressed": "no longer suppressed",
    "alarm.shelved": "shelved",
    "alarm.unshelved": "no longer shelved",
    "alarm.out_of_service": "taken out of service",
    "alarm.returned_to_service": "returned to service",
    "alarm.annunciated": "annunciated",
    "alarm.pending_lost": "was about to be raised when its data went bad",
    "condition.on": "condition began",
    "condition.off": "condition ended",
}


def event_line(event: Event, index: StandIndex) -> EventLine:
    """Make the line of one event."""
    family = event.kind.partition(".")[0]
    writer = _WRITERS.get(family, _plain)
    text = writer(event, index) + _who_and_why(event.fields) + _rest(event.fields)
    return EventLine(clock_text(event.t_ns), text, _severity(event, index))


def _severity(event: Event, index: StandIndex) -> Severity:
    """Colour only what is abnormal: alarms raised, links lost, recording stopped."""
    is_shown = event.fields.get("is_annunciated") is not False
    if event.kind in ("alarm.raised", "alarm.annunciated") and is_shown:
        place = index.limits.get(event.subject)
        priority = place.limit.priority if place is not None else ""
        return Severity(priority) if priority in PRIORITIES else Severity.CALM
    if event.kind in ("link.down", "recording.stopped", "readings.dropped"):
        return Severity.BAD
    return Severity.DOUBT if event.kind == "action.refused" else Severity.CALM


def _alarm(event: Event, index: StandIndex) -> str:
    """Tell of an alarm: tag, message, what happened, at which value."""
    what = _WHAT.get(event.kind, event.kind)
    place = index.limits.get(event.subject)
    if place is None:
        return f"{event.subject}: {what}{_details(event)}"
    message = place.limit.message or KIND_TEXT.get(place.limit.kind, place.limit.kind)
    at = _with_unit(event.fields.get("value"), place, " at ")
    limit = _with_unit(event.fields.get("setpoint"), place, ", limit ") if at else ""
    return f"{place.tag}: {message} \N{EN DASH} {what}{at}{limit}{_details(event)}"


def _with_unit(value: Field, place: Place, before: str) -> str:
    """Write a number in the channel's unit behind *before*; nothing where there is none."""
    if place.channel is None or isinstance(value, bool) or not isinstance(value, int | float):
        return ""
    number = number_text(float(value), place.channel.decimals)
    return f"{before}{number} {place.channel.unit}".rstrip()


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


def _phase(event: Event, index: StandIndex) -> str:
    """Tell of a phase."""
    return f"Phase {index.phase_title(event.subject)} entered"


def _link(event: Event, _index: StandIndex) -> str:
    """Tell of an instrument's link."""
    what = "up" if event.kind == "link.up" else "LOST"
    why = _words(event.fields, "why")
    cure = _words(event.fields, "cure")
    return (
        f"Link to {event.subject} {what}"
        + (f": {why}" if why else "")
        + (f". {cure}" if cure else "")
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
    return (f", by {by}" if by else "") + (f" ({reason})" if reason else "")


def _rest(fields: dict[str, Field]) -> str:
    """Write the fields that no sentence used, so that nothing is kept back."""
    left = [
        f"{key.removesuffix('_ns').replace('_', ' ')} {_field_text(key, value)}"
        for key, value in fields.items()
        if key not in _USED and value not in (None, "", False)
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
    "phase": _phase,
    "link": _link,
}
