"""Checks limits: setpoints, deadbands, delays, phases, priorities."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from monitor.alarms.plan import Priority
from monitor.limits.plan import Kind
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.locate import KeyPath
from monitor.stand.schema import AlarmTable, LimitTable
from monitor.stand.timing import filter_s, sensor_s

#: The kinds that compare, from the lowest setpoint to the highest.
UPWARDS = (Kind.LOW_LOW, Kind.LOW, Kind.HIGH, Kind.HIGH_HIGH)
HIGHS = (Kind.HIGH, Kind.HIGH_HIGH)
#: From this many alarms of top priority on, it is asked whether they are the rarest.
#:
#: Source: ANSI/ISA-18.2-2016 and IEC 62682:2014: the higher a priority, the less often it is
#: used. Both give shares (about 5 % for the highest of three) only for alarms that sound.
_MANY_TOP = 4


def check_limits(draft: Draft) -> None:
    """Note what is wrong with limits and alarms."""
    for channel in draft.channels.values():
        for kind, limit in channel.limits.items():
            path = _path(channel, kind)
            _check_phases(draft, path, limit)
            if isinstance(limit, LimitTable):
                _check_setpoints(draft, channel, kind, limit)
                _check_response(draft, path, limit)
                _check_time_to_respond(draft, channel, kind, limit)
            else:
                _check_quality_kind(draft, channel, kind)
        for check in (_check_order, _check_deadbands, _check_delays):
            check(draft, channel)
    for instrument in draft.instruments.values():
        if instrument.alarm is not None:
            _check_phases(draft, (*instrument.path, "alarm"), instrument.alarm)
    _check_share_of_top(draft)


def _path(channel: ChannelDraft, kind: Kind) -> KeyPath:
    return (*channel.path, "limits", kind.value)


def _check_phases(draft: Draft, path: KeyPath, alarm: AlarmTable) -> None:
    """Phases must exist; suppressed in all of them, an alarm never comes."""
    for number, name in enumerate(alarm.suppressed_in):
        draft.check_place((*path, "suppressed_in", number), name)
    names = set() if draft.report.has_error_at(("phases",)) else set(draft.phase_names)
    if names and names <= set(alarm.suppressed_in):
        draft.report.warning((*path, "suppressed_in"), "names every phase: it never sounds")
    if isinstance(alarm, LimitTable):
        for name in alarm.setpoint_in:
            draft.check_place((*path, "setpoint_in", name), name)


def _setpoints(path: KeyPath, limit: LimitTable) -> Iterator[tuple[KeyPath, float]]:
    """Give every setpoint of a limit with its place."""
    yield (*path, "setpoint"), limit.setpoint
    for phase, setpoint in limit.setpoint_in.items():
        yield (*path, "setpoint_in", phase), setpoint


def _check_setpoints(
    draft: Draft, channel: ChannelDraft, kind: Kind, limit: LimitTable
) -> None:
    """A setpoint lies where the sensor can get past it and the bar can show it."""
    reach = channel.table.range
    for path, setpoint in _setpoints(_path(channel, kind), limit):
        span = channel.span
        if span is not None and not span[0] <= setpoint <= span[1]:
            draft.report.error(
                path, f"{setpoint:g} is outside the span from {span[0]:g} to {span[1]:g}"
            )
        elif reach is not None and setpoint == reach[kind in HIGHS]:
            draft.report.error(
                path,
                f"{setpoint:g} is the end of the range: beyond it the value is bad, "
                "so this can never come true",
            )


def _check_response(draft: Draft, path: KeyPath, limit: LimitTable) -> None:
    """An alarm that nobody knows what to do about is none."""
    if limit.priority is not Priority.JOURNAL and not limit.response.strip():
        draft.report.warning(
            (*path, "response"), 'missing; write what to do, or priority = "journal"'
        )


def _check_quality_kind(draft: Draft, channel: ChannelDraft, kind: Kind) -> None:
    """A computed channel has no readings of its own that could cease."""
    if channel.is_computed and kind is Kind.STALE:
        draft.report.error(
            _path(channel, kind), "belongs to a measured channel only; its inputs have it"
        )


def _pairs(channel: ChannelDraft) -> Iterator[tuple[str, Kind, float, Kind, float]]:
    """Give each two neighbouring setpoints, in general ('') and in phases that change one."""
    limits = channel.value_limits()
    kinds = [kind for kind in UPWARDS if kind in limits]
    for lower, upper in pairwise(kinds):
        below, above = limits[lower], limits[upper]
        yield "", lower, below.setpoint, upper, above.setpoint
        for phase in dict.fromkeys((*below.setpoint_in, *above.setpoint_in)):
            low = below.setpoint_in.get(phase, below.setpoint)
            yield phase, lower, low, upper, above.setpoint_in.get(phase, above.setpoint)


def _check_order(draft: Draft, channel: ChannelDraft) -> None:
    """Low-low below low below high below high-high, in every phase."""
    limits = channel.value_limits()
    told: set[Kind] = set()
    for phase, lower, low, upper, high in _pairs(channel):
        if low < high or upper in told:
            continue
        if not phase:
            told.add(upper)
        moved = lower if phase and phase not in limits[upper].setpoint_in else upper
        end = ("setpoint_in", phase) if phase else ("setpoint",)
        where = f" in phase {phase!r}" if phase else ""
        draft.report.error(
            (*_path(channel, moved), *end),
            f"{upper} {high:g} is not above {lower} {low:g}{where}",
        )


def _check_deadbands(draft: Draft, channel: ChannelDraft) -> None:
    """An alarm must be able to clear before the one on the other side comes."""
    span = channel.span
    limits = channel.value_limits()
    if span is None:
        return
    for kind, limit in limits.items():
        others = [Kind.LOW, Kind.LOW_LOW] if kind in HIGHS else [Kind.HIGH, Kind.HIGH_HIGH]
        other = next((limits[name].setpoint for name in others if name in limits), None)
        end = other if other is not None else span[kind not in HIGHS]
        band = limit.setpoint - end if kind in HIGHS else end - limit.setpoint
        if band > 0 and limit.deadband >= band:
            draft.report.error(
                (*_path(channel, kind), "deadband"),
                f"{limit.deadband:g} reaches from {limit.setpoint:g} to {end:g}: "
                "it would never clear",
            )


def _check_delays(draft: Draft, channel: ChannelDraft) -> None:
    """The more urgent of two limits must not be the later one."""
    limits = channel.value_limits()
    for urgent, plain in ((Kind.HIGH_HIGH, Kind.HIGH), (Kind.LOW_LOW, Kind.LOW)):
        if urgent not in limits or plain not in limits:
            continue
        late, early = limits[urgent].on_delay_s or 0.0, limits[plain].on_delay_s or 0.0
        if late > early:
            draft.report.error(
                (*_path(channel, urgent), "on_delay_s"),
                f"{late:g} s is longer than the {early:g} s of {plain}; "
                f"write at most {early:g}",
            )


def _check_time_to_respond(
    draft: Draft, channel: ChannelDraft, kind: Kind, limit: LimitTable
) -> None:
    """Warn when an alarm would come after it is too late."""
    if limit.time_to_respond_s is None or draft.report.has_error_at(channel.path):
        return
    path = (*_path(channel, kind), "time_to_respond_s")
    late = filter_s(draft, channel)
    if late is None:
        draft.report.warning(path, "cannot be judged: write period_s, for the median's delay")
        return
    parts = {
        "sensor": sensor_s(draft, channel),
        "filter": late,
        "delay": limit.on_delay_s or 0.0,
    }
    total = sum(parts.values())
    if total > limit.time_to_respond_s:
        listed = " + ".join(f"{name} {seconds:g}" for name, seconds in parts.items())
        draft.report.warning(
            path, f"{limit.time_to_respond_s:g} s is shorter than {listed} = {total:g} s"
        )


def _check_share_of_top(draft: Draft) -> None:
    """Warn when the highest priority is no rarer than the next one."""
    paths: dict[Priority, list[KeyPath]] = {Priority.TOP: [], Priority.HIGH: []}
    for channel in draft.channels.values():
        for kind, limit in channel.value_limits().items():
            if limit.priority in paths:
                paths[limit.priority].append((*_path(channel, kind), "priority"))
    top, high = len(paths[Priority.TOP]), len(paths[Priority.HIGH])
    if top >= _MANY_TOP and top >= high:
        draft.report.warning(
            paths[Priority.TOP][0],
            f"{top} alarms are of top priority and {high} of high: the higher, the rarer, or "
            "the word loses its meaning",
        )
