"""Checks limits on a channel's value: setpoints, their order, deadbands, delays."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from monitor.limits.plan import Kind
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.limit_values import HIGHS, UPWARDS, deadband_of, window_s
from monitor.stand.locate import KeyPath
from monitor.stand.schema_limits import LimitTable, WatchTable
from monitor.stand.timing import delay_s, filter_of_s, sensor_s


def check_limits(draft: Draft) -> None:
    """Note what is wrong with the limits of each channel."""
    for channel in draft.channels.values():
        for kind, limit in channel.thresholds().items():
            _check_setpoints(draft, channel, kind, limit)
        for kind, watch in channel.value_limits().items():
            _check_time_to_respond(draft, channel, kind, watch)
        for check in (_check_stale, _check_order, _check_deadbands, _check_delays):
            check(draft, channel)


def _path(channel: ChannelDraft, kind: Kind) -> KeyPath:
    return (*channel.path, "limits", kind.value)


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


def _check_stale(draft: Draft, channel: ChannelDraft) -> None:
    """A computed channel has no readings of its own that could cease."""
    if channel.is_computed and Kind.STALE in channel.limits:
        draft.report.error(
            _path(channel, Kind.STALE), "belongs to a measured channel only; its inputs have it"
        )


def _pairs(channel: ChannelDraft) -> Iterator[tuple[str, Kind, float, Kind, float]]:
    """Give each two neighbouring setpoints, in general ('') and in phases that change one."""
    limits = channel.thresholds()
    kinds = [kind for kind in UPWARDS if kind in limits]
    for lower, upper in pairwise(kinds):
        below, above = limits[lower], limits[upper]
        yield "", lower, below.setpoint, upper, above.setpoint
        for phase in dict.fromkeys((*below.setpoint_in, *above.setpoint_in)):
            low = below.setpoint_in.get(phase, below.setpoint)
            yield phase, lower, low, upper, above.setpoint_in.get(phase, above.setpoint)


def _check_order(draft: Draft, channel: ChannelDraft) -> None:
    """Low-low below low below high below high-high, in every phase."""
    limits = channel.thresholds()
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
    limits = channel.thresholds()
    if span is None:
        return
    for kind, limit in limits.items():
        others = [Kind.LOW, Kind.LOW_LOW] if kind in HIGHS else [Kind.HIGH, Kind.HIGH_HIGH]
        other = next((limits[name].setpoint for name in others if name in limits), None)
        end = other if other is not None else span[kind not in HIGHS]
        band = limit.setpoint - end if kind in HIGHS else end - limit.setpoint
        deadband = deadband_of(channel, kind, limit)
        if band > 0 and deadband >= band:
            draft.report.error(
                (*_path(channel, kind), "deadband"),
                f"{deadband:g} reaches from {limit.setpoint:g} to {end:g}: "
                "it would never clear",
            )


def _check_delays(draft: Draft, channel: ChannelDraft) -> None:
    """The more urgent of two limits must not be the later one."""
    limits = channel.thresholds()
    for urgent, plain in ((Kind.HIGH_HIGH, Kind.HIGH), (Kind.LOW_LOW, Kind.LOW)):
        if urgent not in limits or plain not in limits:
            continue
        late = delay_s(draft, channel, urgent, limits[urgent])
        early = delay_s(draft, channel, plain, limits[plain])
        if late is not None and early is not None and late > early:
            draft.report.error(
                (*_path(channel, urgent), "on_delay_s"),
                f"{late:g} s is longer than the {early:g} s of {plain}; "
                f"write at most {early:g}",
            )


def _check_time_to_respond(
    draft: Draft, channel: ChannelDraft, kind: Kind, limit: WatchTable
) -> None:
    """Warn when an alarm would come after it is too late."""
    if limit.time_to_respond_s is None or draft.report.has_error_at(channel.path):
        return
    path = (*_path(channel, kind), "time_to_respond_s")
    late, delay = filter_of_s(draft, channel, limit), delay_s(draft, channel, kind, limit)
    if late is None or delay is None:
        what = "the median's delay" if late is None else "the samples that are counted"
        draft.report.warning(path, f"cannot be judged: write period_s, for {what}")
        return
    parts = {"sensor": sensor_s(draft, channel), "filter": late, "delay": delay}
    if window_s(limit):
        parts["window"] = window_s(limit)
    total = sum(parts.values())
    if total > limit.time_to_respond_s:
        listed = " + ".join(f"{name} {seconds:g}" for name, seconds in parts.items())
        draft.report.warning(
            path, f"{limit.time_to_respond_s:g} s is shorter than {listed} = {total:g} s"
        )
