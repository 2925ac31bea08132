"""How long it takes until a limit speaks: sensor, filter and delay, one after the other."""

from __future__ import annotations

from monitor.limits.plan import Kind
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.limit_values import on_delay_s, window_s
from monitor.stand.schema import AlarmBase
from monitor.stand.schema_limits import AS_MEASURED, DelayedTable, WatchTable


def source_of(draft: Draft, channel: ChannelDraft) -> ChannelDraft | None:
    """Give the measured channel whose rows a channel follows; itself when it is measured.

    None where a mistake in the file leaves that open.
    """
    seen: set[str] = set()
    found: ChannelDraft | None = channel
    while found is not None and found.is_computed:
        if found.tag in seen:
            return None
        seen.add(found.tag)
        clock = clock_of(found)
        found = draft.channels.get(clock) if clock else None
    return found


def clock_of(channel: ChannelDraft) -> str | None:
    """Give the tag whose rows a computed channel follows; None when it has no input."""
    tags = list(channel.input_tags().values())
    return channel.table.clock or (tags[0] if tags else None)


def period_s(draft: Draft, channel: ChannelDraft) -> float | None:
    """Give the time between two readings; None where the file does not state it."""
    source = source_of(draft, channel)
    return channel.period_s or (source.period_s if source else None)


def filter_s(draft: Draft, channel: ChannelDraft) -> float | None:
    """Give the time by which the alarm filter is late; None where that is not known.

    A median of n samples follows a step after (n + 1) / 2 samples, of which the newest one is
    no delay; a first-order lag has followed to 63 % after its time constant; a moving average
    is late by half its window.

    Source: common definitions of filter delay, hand-worked.
    """
    table = channel.table.filter
    if table is None:
        return 0.0
    if table.lag_s is not None:
        return table.lag_s
    if table.mean_s is not None:
        return table.mean_s / 2
    period = period_s(draft, channel)
    if period is None or table.median_of is None:
        return None
    return (table.median_of - 1) / 2 * period


def filter_of_s(draft: Draft, channel: ChannelDraft, table: WatchTable) -> float | None:
    """Give the time by which the filter makes one limit late: 0 where it looks behind it."""
    return 0.0 if isinstance(table, AS_MEASURED) else filter_s(draft, channel)


def sensor_s(draft: Draft, channel: ChannelDraft) -> float:
    """Give the time constant of the sensor; of the slowest input of a computed channel."""
    seen: dict[str, float] = {}
    waiting = [channel]
    while waiting:
        one = waiting.pop()
        seen[one.tag] = one.table.time_constant_s
        tags = one.input_tags().values() if one.is_computed else ()
        inputs = (draft.channels.get(tag) for tag in tags if tag not in seen)
        waiting += [found for found in inputs if found is not None]
    return max(seen.values())


def lag_s(draft: Draft, channel: ChannelDraft, table: AlarmBase) -> float:
    """Give how late the onset of an alarm is by sensor, filter and window.

    Half the window of a slope: a line through it stands for its middle. What the file leaves
    open counts as nothing. A sensor's own alarm looks at neither.
    """
    if not isinstance(table, WatchTable):
        return 0.0
    filtering = filter_of_s(draft, channel, table) or 0.0
    return sensor_s(draft, channel) + filtering + window_s(table) / 2


def delay_s(draft: Draft, channel: ChannelDraft, kind: Kind, table: WatchTable) -> float | None:
    """Give how long a limit waits at least: its on-delay, or the samples that it counts.

    None where it counts samples and the file does not state their period.
    """
    if not isinstance(table, DelayedTable) or table.n_of_m is None:
        return on_delay_s(channel, kind, table)
    period = period_s(draft, channel)
    return None if period is None else (table.n_of_m[0] - 1) * period


def bridge_s(draft: Draft, channel: ChannelDraft) -> float:
    """Give how long bad data may interrupt a delay: two periods, or the stale time."""
    period = period_s(draft, channel)
    if period is not None:
        return 2 * period
    source = source_of(draft, channel)
    return source.stale_after_s if source else channel.stale_after_s
