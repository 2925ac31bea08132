"""The alarm list: which alarms are shown, in which order, and what is said about each."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from monitor.display.state.index import Place
from monitor.display.state.kinds import QUALITY_KINDS, amount_text, kind_text
from monitor.display.state.model import Model
from monitor.display.state.severity import PRIORITIES, rank_of
from monitor.display.state.text import MINUS, age_text, clock_text, duration_text
from monitor.link.messages import AlarmState
from monitor.samples import QUALITY_TEXT

_FIRST_TEXT = {"first": "first-out", "undetermined": "first-out cannot be told"}


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
        first_out: ``first`` or ``undetermined`` of its group, else empty.
        behind: How many alarms are its consequences and therefore quiet.
        is_open: These are listed below it.
        is_behind: It is one of them, and stands below its cause.
        is_abort: It calls for a safe state.
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
    first_out: str = ""
    behind: int = 0
    is_open: bool = False
    is_behind: bool = False
    is_abort: bool = False

    @property
    def behind_text(self) -> str:
        """Say how many alarms are quiet because of this one."""
        if not self.behind:
            return ""
        return f"{MINUS if self.is_open else '+'}{self.behind} behind it"

    @property
    def words(self) -> str:
        """Say all that the message cell shows, shapes included."""
        parts = ["consequence" if self.is_behind else "", "abort" if self.is_abort else ""]
        parts += [_FIRST_TEXT.get(self.first_out, ""), self.message, self.behind_text]
        return ", ".join(part for part in parts if part)


@dataclass(frozen=True, slots=True)
class PriorityCount:
    """How many alarms of one priority stand, and how many of them nobody acknowledged."""

    priority: str
    unacknowledged: int
    standing: int


Listed = tuple[Place, AlarmState]


def is_inhibited(alarm: AlarmState) -> bool:
    """Tell whether an alarm is kept quiet by a phase, another alarm or a person."""
    return alarm.is_suppressed or alarm.is_shelved or alarm.is_out_of_service


def wants_attention(alarm: AlarmState) -> bool:
    """Tell whether an alarm is annunciated and not yet acknowledged."""
    return alarm.is_annunciated and not alarm.is_acknowledged


def stands(alarm: AlarmState) -> bool:
    """Tell whether an alarm is active, or awaits a person."""
    return alarm.is_active or alarm.is_latched or not alarm.is_acknowledged


def _is_listed(alarm: AlarmState, priority: str) -> bool:
    """Tell whether an alarm has a row: it stands, is awaited, or a person inhibits it."""
    if priority not in PRIORITIES:
        return False
    by_person = alarm.is_shelved or alarm.is_out_of_service
    return alarm.is_annunciated or stands(alarm) or by_person


def state_text(model: Model, alarm: AlarmState, now_ns: int) -> str:
    """Say in words where an alarm stands."""
    if alarm.is_out_of_service:
        return "out of service"
    if alarm.is_shelved:
        return f"shelved, {age_text(alarm.shelved_until_ns - now_ns)} left"
    if alarm.is_suppressed:
        return suppressed_text(model, alarm)
    if alarm.is_active:
        return "active" if alarm.is_acknowledged else "unacknowledged"
    if alarm.is_latched:
        return "gone, awaits reset" if alarm.is_acknowledged else "latched, unacknowledged"
    return "gone" if alarm.is_acknowledged else "gone, unacknowledged"


def suppressed_text(model: Model, alarm: AlarmState) -> str:
    """Say by what an alarm is suppressed by design."""
    if alarm.cause:
        return f"behind {model.index.limit_name(alarm.cause)}"
    place = model.index.limits[alarm.id]
    by_mode = model.phase.mode in place.limit.suppressed_in
    by_phase = model.phase.name in place.limit.suppressed_in
    return "suppressed by mode" if by_mode and not by_phase else "suppressed by phase"


def alarm_rows(model: Model, now_ns: int, opened: Collection[str] = ()) -> tuple[AlarmRow, ...]:
    """List alarms: those that want attention first, then by priority, then the newest.

    Consequences stand below their cause, and only where it is one of *opened*.
    """
    listed = {
        place.limit.id: (place, alarm)
        for place in model.index.limits.values()
        if (alarm := model.alarms.get(place.limit.id)) is not None
        and _is_listed(alarm, place.limit.priority)
    }
    behind: dict[str, list[Listed]] = {}
    for pair in sorted(listed.values(), key=lambda pair: _order(*pair)):
        behind.setdefault(_root(pair[1], listed), []).append(pair)
    rows = []
    for place, alarm in behind.get("", ()):
        below = behind.get(alarm.id, [])
        is_open = bool(below) and alarm.id in opened
        rows.append(_row(model, place, alarm, now_ns, (len(below), is_open, False)))
        if is_open:
            rows += [_row(model, *pair, now_ns, (0, False, True)) for pair in below]
    return tuple(rows)


def _root(alarm: AlarmState, listed: dict[str, Listed]) -> str:
    """Give the listed alarm at the end of the chain of causes; empty for none or a ring."""
    root, seen = "", {alarm.id}
    while alarm.is_suppressed and not (alarm.is_shelved or alarm.is_out_of_service):
        if alarm.cause in seen:
            return ""
        if alarm.cause not in listed:
            break
        root = alarm.cause
        seen.add(root)
        alarm = listed[root][1]
    return root


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


def _row(
    model: Model, place: Place, alarm: AlarmState, now_ns: int, group: tuple[int, bool, bool]
) -> AlarmRow:
    """Build one row. *group*: how many are behind it, whether they are shown, is it one."""
    since_ns = _shown_since(alarm)
    inhibited = is_inhibited(alarm)
    behind, is_open, is_behind = group
    return AlarmRow(
        id=alarm.id,
        priority=place.limit.priority,
        tag=place.tag,
        message=message_text(place, alarm),
        state=state_text(model, alarm, now_ns),
        time=clock_text(since_ns) if since_ns else "",
        age=duration_text(now_ns - since_ns) if since_ns else "",
        value=amount_text(place.limit, place.channel, alarm.value),
        is_unacknowledged=not alarm.is_acknowledged and not inhibited,
        is_inhibited=inhibited,
        can_reset=alarm.is_latched and not alarm.is_active,
        is_shelved=alarm.is_shelved,
        is_out_of_service=alarm.is_out_of_service,
        first_out=alarm.first_out,
        behind=behind,
        is_open=is_open,
        is_behind=is_behind,
        is_abort=bool(place.limit.safe_state),
    )


def message_text(place: Place, alarm: AlarmState) -> str:
    """Say what is wrong, with the quality behind it where quality is the matter."""
    message = place.limit.message or kind_text(place.limit)
    quality = QUALITY_TEXT.get(alarm.quality, "") if alarm.quality else ""
    is_about_quality = place.limit.kind in QUALITY_KINDS and quality not in (
        "",
        place.limit.kind,
    )
    return f"{message}: {quality}" if is_about_quality else message


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
