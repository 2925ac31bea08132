"""What an event tells of the thing behind it, in a fixed order of fields."""

from __future__ import annotations

from collections.abc import Sequence

from monitor.alarms.items import Edited, Moved
from monitor.alarms.plan import Alarm
from monitor.alarms.status import AlarmStatus
from monitor.events import Event, EventKind, Field, HostEvent, LinkChange
from monitor.limits.edges import Edge
from monitor.limits.plan import Place
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
    """Tell of a limit that turned."""
    return {
        "onset_ns": edge.onset_ns,
        "value": edge.value,
        "setpoint": _setpoint(edge),
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
    return {"value": edge.value, "setpoint": _setpoint(edge), "quality": quality}


def _setpoint(edge: Edge) -> float | None:
    """Give the setpoint that was in force; None for what is not compared with one."""
    return edge.setpoint if edge.setpoint == edge.setpoint else None


def shown_fields(alarm: Alarm, status: AlarmStatus) -> dict[str, Field]:
    """Tell of an alarm that is shown later than it became true."""
    return {
        "onset_ns": status.onset_ns,
        "true_ns": status.true_ns,
        "priority": alarm.priority.value,
        "message": alarm.message,
    }


def realarmed_fields(alarm: Alarm, acknowledged_ns: int, *, is_shown: bool) -> dict[str, Field]:
    """Tell of an alarm that was acknowledged at *acknowledged_ns* and still stands."""
    return {
        "acknowledged_ns": acknowledged_ns,
        "priority": alarm.priority.value,
        "message": alarm.message,
        "is_annunciated": is_shown,
    }


def edited_event(edited: Edited, alarm: Alarm) -> Event:
    """Tell of a limit that was edited: who, who agreed, why, and each change."""
    fields: dict[str, Field] = {"by": edited.by, "second": edited.second}
    fields |= {"reason": edited.reason} | edited.fields
    return Event(edited.t_ns, "limit.edited", alarm.id, fields)


def moved_event(moved: Moved) -> Event:
    """Tell of a phase or mode that is entered."""
    kind: EventKind = "phase.entered" if moved.what == "phase" else "mode.entered"
    name = moved.place.phase if moved.what == "phase" else moved.place.mode
    return Event(moved.t_ns, kind, name, {"by": moved.by, "reason": moved.reason})


def started_events(t_ns: int, place: Place) -> list[Event]:
    """Tell of the phase and mode in which a run starts."""
    moves = [Moved(t_ns, "phase", place, "start of run", "")]
    if place.mode:
        moves.append(Moved(t_ns, "mode", place, "start of run", ""))
    return [moved_event(moved) for moved in moves]


def place_fields(place: Place) -> dict[str, Field]:
    """Tell of the phase, and of the mode where the stand has modes."""
    fields: dict[str, Field] = {"phase": place.phase}
    if place.mode:
        fields["mode"] = place.mode
    return fields


def first_out_fields(group: str, onset_ns: int, ids: Sequence[str]) -> dict[str, Field]:
    """Tell which alarm of a group came first, or among which that is undetermined."""
    among = ", ".join(ids) if len(ids) > 1 else ""
    return {"group": group, "onset_ns": onset_ns, "with": among}


def link_event(t_ns: int, what: LinkChange) -> Event:
    """Tell of an instrument's link."""
    kind: EventKind = "link.up" if what.is_up else "link.down"
    return Event(t_ns, kind, what.instrument, {"why": what.why, "cure": what.cure})


def host_event(t_ns: int, what: HostEvent) -> Event:
    """Tell of the engine itself; its figures come in the order of their names."""
    fields: dict[str, Field] = {"detail": what.detail}
    fields |= dict(sorted(what.numbers.items()))
    return Event(t_ns, _HOST_KINDS[what.what], "", fields)
