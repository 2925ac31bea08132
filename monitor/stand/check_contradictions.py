"""Checks what two keys of a file say against each other: delays, windows, counts, groups."""

from __future__ import annotations

from collections import defaultdict

from monitor.alarms.plan import Priority
from monitor.errors import did_you_mean
from monitor.limits.plan import Kind
from monitor.stand.alarm_names import Named, alarm_names
from monitor.stand.check_setpoints import check_setpoints
from monitor.stand.check_suppression import check_suppression
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.schema import AlarmTable
from monitor.stand.schema_limits import (
    AfterTable,
    DelayedTable,
    ExpectedTable,
    LongestTable,
    RateTable,
    SetpointTable,
    StuckTable,
    TimeToTable,
    WatchTable,
)
from monitor.stand.timing import delay_s, period_s

#: Fewest periods in the window of a slope: two points always lie on a line.
_LEAST_FOR_SLOPE = 3
#: Fewest periods in the window of a forecast: its confidence needs degrees of freedom.
_LEAST_FOR_FORECAST = 8
#: Longest run of samples that are counted.
_MOST_COUNTED = 99


def check_contradictions(draft: Draft) -> None:
    """Note what cannot be meant together."""
    check_setpoints(draft)
    check_suppression(draft)
    written = [one for one in alarm_names(draft).values() if one.is_written]
    for one in written:
        for check in (_check_delay, _check_counted, _check_realarm, _check_window):
            check(draft, one)
    _check_groups(draft, written)
    for channel in draft.channels.values():
        _check_late(draft, channel)
        _check_overlong(draft, channel)


def _check_groups(draft: Draft, written: list[Named]) -> None:
    """Warn of a first-out group in which nothing can be first."""
    groups: dict[str, list[Named]] = defaultdict(list)
    for one in written:
        groups[one.table.first_out].append(one)
    for group, members in groups.items():
        if group and len(members) == 1:
            near = did_you_mean(group, [other for other in groups if other not in ("", group)])
            draft.report.warning(
                (*members[0].path, "first_out"),
                f"no other alarm is in the group {group!r}: there is nothing to come first of"
                f"{near}",
            )


def _delays(draft: Draft, one: Named) -> list[tuple[str, float]]:
    """Give the keys of an alarm that say how long something must last, with their seconds."""
    table = one.table
    found: list[tuple[str, float | None]] = []
    if isinstance(table, WatchTable) and one.channel is not None:
        found.append((_delay_key(table), delay_s(draft, one.channel, one.kind, table)))
    elif isinstance(table, AlarmTable):
        found.append(("on_delay_s", table.on_delay_s))
    if isinstance(table, SetpointTable):
        found.append(("arm_by_s", table.arm_by_s))
    return [(key, seconds) for key, seconds in found if seconds is not None]


def _delay_key(table: WatchTable) -> str:
    """Name the key that says how long a limit waits."""
    match table:
        case StuckTable():
            return "for_s"
        case AfterTable():
            return "after_s"
        case LongestTable():
            return "longest_s"
        case ExpectedTable():
            return "within_s"
        case DelayedTable() if table.n_of_m is not None:
            return "n_of_m"
    return "on_delay_s"


def _check_delay(draft: Draft, one: Named) -> None:
    """What is watched in a phase must have the time to come in it."""
    lasts = {
        phase.name: phase.longest_s if phase.planned_s is None else phase.planned_s
        for phase in draft.phases.values()
    }
    known = [(name, lasts.get(name)) for name in one.table.watched_in]
    stated = [(name, seconds) for name, seconds in known if seconds is not None]
    if not known or len(stated) < len(known):
        return
    longest = max(seconds for _, seconds in stated)
    for key, seconds in _delays(draft, one):
        if seconds >= longest:
            listed = ", ".join(f"{name} {lasting:g} s" for name, lasting in stated)
            draft.report.error(
                (*one.path, key),
                f"{seconds:g} s is no shorter than what it is watched in ({listed}): "
                "it could not come in time",
            )


def _check_counted(draft: Draft, one: Named) -> None:
    """N of m samples stand instead of a delay."""
    table = one.table
    if not isinstance(table, DelayedTable) or table.n_of_m is None:
        return
    path = (*one.path, "n_of_m")
    needed, of = table.n_of_m
    if needed > of:
        draft.report.error(path, f"asks for {needed} of {of} samples; write [{of}, {needed}]")
    elif needed < 1 or of > _MOST_COUNTED:
        draft.report.error(
            path, f"is [{needed}, {of}]; count from 1 sample to {_MOST_COUNTED} samples"
        )
    if table.on_delay_s is not None:
        draft.report.error(
            (*one.path, "on_delay_s"), "stands beside n_of_m; take one of them out"
        )


def _check_realarm(draft: Draft, one: Named) -> None:
    """What is never annunciated cannot be annunciated anew."""
    if one.table.priority is Priority.JOURNAL and one.table.realarm_s is not None:
        draft.report.error(
            (*one.path, "realarm_s"), 'stands beside priority = "journal", which never sounds'
        )


def _check_window(draft: Draft, one: Named) -> None:
    """A line through a window needs readings in it."""
    table = one.table
    period = period_s(draft, one.channel) if one.channel is not None else None
    if not isinstance(table, RateTable | TimeToTable) or period is None:
        return
    least = _LEAST_FOR_SLOPE if isinstance(table, RateTable) else _LEAST_FOR_FORECAST
    if table.window_s < least * period:
        draft.report.error(
            (*one.path, "window_s"),
            f"{table.window_s:g} s holds fewer than {least} readings, one every {period:g} s; "
            f"write at least {least * period:g}",
        )


def _after_s(channel: ChannelDraft, kind: Kind) -> float | None:
    """Give when an event is late, or missed; None where the file does not say."""
    table = channel.limits.get(kind)
    return table.after_s if isinstance(table, AfterTable) else None


def _check_late(draft: Draft, channel: ChannelDraft) -> None:
    """An event is late before it is missed."""
    late, missed = _after_s(channel, Kind.LATE), _after_s(channel, Kind.MISSED)
    if late is not None and missed is not None and late >= missed:
        draft.report.error(
            (*channel.path, "limits", "late", "after_s"),
            f"{late:g} s is not before missed, {missed:g} s",
        )


def _check_overlong(draft: Draft, channel: ChannelDraft) -> None:
    """An event is over before the next one is due."""
    table = channel.limits.get(Kind.OVERLONG)
    known = [(kind, _after_s(channel, kind)) for kind in (Kind.LATE, Kind.MISSED)]
    due = next(((kind, after) for kind, after in known if after is not None), None)
    if isinstance(table, LongestTable) and due and table.longest_s >= due[1]:
        draft.report.error(
            (*channel.path, "limits", "overlong", "longest_s"),
            f"{table.longest_s:g} s is not shorter than the {due[1]:g} s after which the next "
            f"one is {due[0]}",
        )
