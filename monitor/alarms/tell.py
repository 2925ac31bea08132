"""What an event tells of the thing behind it, in a fixed order of fields."""

from __future__ import annotations

from monitor.alarms.core import AlarmStatus
from monitor.alarms.plan import Alarm
from monitor.events import Event, EventKind, Field, HostEvent, LinkChange
from monitor.limits.edges import Edge
from monitor.samples import QUALITY_TEXT

_HOST_KINDS: dict[str, EventKind] = {
    "run_started": "run.started",
    "run_resumed": "run.resumed",
    "run_closed": "run.closed",
    "recording_stopped": "recording.stopped",
    "recording_resumed": "recording.resumed",
    "readings_dropped": "readings.dropped",
}


def edge_fields(alarm: Alarm, edge: Edge) -> dict[str, Field]:
    """Tell of a limit that turned; the setpoint is None for quality kinds."""
    is_compared = edge.setpoint == edge.setpoint
    return {
        "onset_ns": edge.onset_ns,
        "value": edge.value,
        "setpoint": edge.setpoint if is_compared else None,
        "quality": QUALITY_TEXT.get(edge.quality, str(edge.quality)),
        "priority": alarm.priority.value,
        "message": alarm.message,
    }


def lost_fields(alarm: Alarm, edge: Edge) -> dict[str, Field]:
    """Tell of an on-delay that bad data has ended."""
    return {"onset_ns": edge.onset_ns, "priority": alarm.priority.value}


def armed_fields(edge: Edge) -> dict[str, Field]:
    """Tell of a limit that wakes: the value that was inside its band."""
    quality = QUALITY_TEXT.get(edge.quality, str(edge.quality))
    return {"value": edge.value, "setpoint": edge.setpoint, "quality": quality}


def shown_fields(alarm: Alarm, status: AlarmStatus) -> dict[str, Field]:
    """Tell of an alarm that is shown later than it became true."""
    return {
        "onset_ns": status.onset_ns,
        "true_ns": status.true_ns,
        "priority": alarm.priority.value,
        "message": alarm.message,
    }


def link_event(t_ns: int, what: LinkChange) -> Event:
    """Tell of an instrument's link."""
    kind: EventKind = "link.up" if what.is_up else "link.down"
    return Event(t_ns, kind, what.instrument, {"why": what.why, "cure": what.cure})


def host_event(t_ns: int, what: HostEvent) -> Event:
    """Tell of the engine itself; its figures come in the order of their names."""
    fields: dict[str, Field] = {"detail": what.detail}
    fields |= dict(sorted(what.numbers.items()))
    return Event(t_ns, _HOST_KINDS[what.what], "", fields)
