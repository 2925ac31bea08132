"""The register of what is inhibited now, fit to hand over at a change of shift."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from monitor.display.state.alarm_rows import is_inhibited
from monitor.display.state.index import Place
from monitor.display.state.kinds import (
    BLIND_KINDS,
    edit_text,
    is_watched,
    kind_text,
    limit_text,
    setpoint_now,
)
from monitor.display.state.model import Model
from monitor.display.state.register_why import Reason, Reasons
from monitor.display.state.severity import PRIORITIES, Severity
from monitor.display.state.text import exact_number
from monitor.link.messages import AlarmState
from monitor.samples import Quality


class Section(StrEnum):
    """Ways in which something is inhibited, as headings; what people did comes first."""

    OUT_OF_SERVICE = "Out of service, by a person"
    SHELVED = "Shelved, by a person for a time"
    EDITED = "Limits that differ from the stand file"
    FORCED = "Values forced by hand"
    OVERDUE = "Calibration overdue"
    ASLEEP = "Asleep until the value was once inside the band"
    BEHIND = "Quiet as a consequence of another alarm"
    BY_DESIGN = "Suppressed in this phase or mode"
    UNWATCHED = "Not watched in this phase or mode"


NOTHING_ELSE = "nothing else"


@dataclass(frozen=True, slots=True)
class RegisterRow:
    """One thing that is inhibited.

    Attributes:
        key: Unique in the register.
        section: In what way.
        limit: Id of the limit, for acting on it; empty for a value.
        tag: Channel whose value is forced or in doubt; empty for a limit.
        what: Tag and limit, or tag and title.
        why: Who did it and why, or what does it by design.
        since: Since when, UTC.
        until: Until when, or until what happens.
        instead: What watches the same channel meanwhile.
        severity: In doubt where nothing watches instead.
    """

    key: str
    section: Section
    limit: str
    tag: str
    what: str
    why: str
    since: str
    until: str
    instead: str
    severity: Severity


def inhibited_count(model: Model) -> int:
    """Count what is inhibited; what the stand file never watches here is not."""
    limits = sum(
        section is not Section.UNWATCHED
        for place, alarm in _alarms(model)
        for section in _sections(model, place, alarm)
    )
    overdue = sum(value.quality == Quality.CALIBRATION_OVERDUE for value in model.values)
    return limits + len(model.forced) + overdue


def register_rows(model: Model, now_ns: int) -> tuple[RegisterRow, ...]:
    """List everything that is inhibited, section by section, in the order of the stand."""
    reasons = Reasons(model, now_ns)
    rows = [
        _limit_row(model, section, place, alarm, reasons)
        for place, alarm in _alarms(model)
        for section in _sections(model, place, alarm)
    ]
    rows += _value_rows(model, reasons)
    order = {section: number for number, section in enumerate(Section)}
    return tuple(sorted(rows, key=lambda row: order[row.section]))


def _alarms(model: Model) -> Iterator[tuple[Place, AlarmState]]:
    """Give every alarm that could speak, in the order of the stand."""
    for place in model.index.limits.values():
        alarm = model.alarms.get(place.limit.id)
        if alarm is not None and place.limit.priority in PRIORITIES:
            yield place, alarm


def _sections(model: Model, place: Place, alarm: AlarmState) -> Iterator[Section]:
    """Say in which ways an alarm is inhibited; leaving one does not leave another."""
    if alarm.is_out_of_service:
        yield Section.OUT_OF_SERVICE
    if alarm.is_shelved:
        yield Section.SHELVED
    if alarm.is_edited:
        yield Section.EDITED
    if not is_watched(place.limit, model.phase):
        # How long another phase may last is of no concern in this one.
        if place.limit.kind != "phase_overlong":
            yield Section.UNWATCHED
    elif alarm.armed == "asleep":
        yield Section.ASLEEP
    if alarm.is_suppressed:
        yield Section.BEHIND if alarm.cause else Section.BY_DESIGN


def _limit_row(
    model: Model, section: Section, place: Place, alarm: AlarmState, reasons: Reasons
) -> RegisterRow:
    """Build the row of one limit."""
    reason = _reason(section, place, alarm, reasons)
    what = f"{place.tag} {kind_text(place.limit)}"
    if section is Section.EDITED:
        edits = _edits(place, alarm)
        what += f": {edits}" if edits else ""
    instead, severity = _instead(model, place)
    if section in (Section.EDITED, Section.UNWATCHED):
        severity = Severity.CALM
    return RegisterRow(
        key=f"{section}: {alarm.id}",
        section=section,
        limit=alarm.id,
        tag="",
        what=what,
        why=reason.why,
        since=reason.since,
        until=reason.until,
        instead=instead,
        severity=severity,
    )


def _reason(section: Section, place: Place, alarm: AlarmState, reasons: Reasons) -> Reason:
    """Find out why, since when and until when."""
    return {
        Section.OUT_OF_SERVICE: reasons.out_of_service,
        Section.SHELVED: reasons.shelved,
        Section.EDITED: reasons.edited,
        Section.ASLEEP: reasons.asleep,
        Section.BEHIND: reasons.behind,
        Section.BY_DESIGN: reasons.by_design,
        Section.UNWATCHED: reasons.unwatched,
    }[section](place, alarm)


def _edits(place: Place, alarm: AlarmState) -> str:
    """Tell what differs from the stand file."""
    limit = place.limit
    planned: dict[str, float | None] = {
        "setpoint": limit.setpoint,
        "deadband": limit.deadband,
        "on_delay_s": limit.on_delay_s,
        "off_delay_s": limit.off_delay_s,
    }
    planned |= {f"setpoint_in.{name}": value for name, value in limit.setpoint_in.items()}
    return ", ".join(
        edit_text(limit, place.channel, key, planned.get(key), value)
        for key, value in alarm.edits.items()
    )


def _instead(model: Model, place: Place) -> tuple[str, Severity]:
    """Name what watches the same channel, and say how good that is."""
    if place.channel is None:
        return "", Severity.CALM
    others = [
        other
        for other in place.channel.limits
        if other.id != place.limit.id
        and other.priority in PRIORITIES
        and _is_watching(model, model.index.limits[other.id])
    ]
    on_value = [other for other in others if other.kind not in BLIND_KINDS]
    names = [
        limit_text(other, place.channel, setpoint_now(other, model.alarms))
        for other in [*on_value, *(one for one in others if one.kind in BLIND_KINDS)]
    ]
    severity = Severity.CALM if on_value else Severity.DOUBT
    return ", ".join(names) or NOTHING_ELSE, severity


def _is_watching(model: Model, place: Place) -> bool:
    """Tell whether a limit is awake and free to speak."""
    alarm = model.alarms.get(place.limit.id, AlarmState(place.limit.id))
    return (
        is_watched(place.limit, model.phase)
        and alarm.armed != "asleep"
        and not is_inhibited(alarm)
    )


def _value_rows(model: Model, reasons: Reasons) -> list[RegisterRow]:
    """List the values that are forced or whose calibration is overdue."""
    rows = []
    for value, info in zip(model.values, model.index.stand.channels, strict=True):
        name, forced = f"{info.tag} {info.title}", model.forced.get(info.tag)
        if forced is not None:
            what = f"{name}: {exact_number(forced.value)} {info.unit}".rstrip()
            rows.append(_value_row(Section.FORCED, info.tag, what, reasons.forced(forced)))
        if value.quality == Quality.CALIBRATION_OVERDUE:
            rows.append(_value_row(Section.OVERDUE, info.tag, name, reasons.overdue(info.tag)))
    return rows


def _value_row(section: Section, tag: str, what: str, reason: Reason) -> RegisterRow:
    """Build the row of one value."""
    return RegisterRow(
        key=f"{section}: {tag}",
        section=section,
        limit="",
        tag=tag,
        what=what,
        why=reason.why,
        since=reason.since,
        until=reason.until,
        instead="",
        severity=Severity.CALM,
    )
