"""From the table of a limit to a limit of the plan, and to the one that watches its arming."""

from __future__ import annotations

from dataclasses import replace

from monitor.alarms.plan import Priority
from monitor.limits.plan import ARMING, FLAG_KINDS, Kind, Limit
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.figures import ns
from monitor.stand.limit_values import deadband_of, off_delay_s, on_delay_s, window_s
from monitor.stand.schema import AlarmBase, AlarmTable
from monitor.stand.schema_limits import (
    DelayedTable,
    ExpectedTable,
    SetpointTable,
    TimeToTable,
    WatchTable,
)
from monitor.stand.timing import bridge_s

#: How long a fault or a lost link lasts before it is an alarm, where nothing is written.
SENSOR_DELAY_S = 2.0
#: Between no and yes.
_HALF = 0.5


def limit_of(
    draft: Draft, channel: ChannelDraft, kind: Kind, table: AlarmBase, column: int
) -> Limit:
    """Make one limit."""
    limit = Limit(f"{channel.tag}.{kind}", column, kind, watched_in=frozenset(table.watched_in))
    if isinstance(table, WatchTable):
        return _watching(draft, channel, limit, table)
    assert isinstance(table, AlarmTable)
    return replace(
        limit,
        on_delay_ns=ns(sensor_delay_s(kind, table)),
        off_delay_ns=ns(table.off_delay_s or 0.0),
    )


def sensor_delay_s(kind: Kind, table: AlarmTable) -> float:
    """Give the delay of a sensor's alarm: staleness has waited already, top never waits."""
    if table.on_delay_s is not None:
        return table.on_delay_s
    waits = kind is not Kind.STALE and table.priority is not Priority.TOP
    return SENSOR_DELAY_S if waits else 0.0


def arming_of(limit: Limit, by_s: float) -> Limit:
    """Make the limit that the value was not inside the band of *limit* in time.

    What has to come is the value that clears *limit*: below its setpoint less the deadband for
    one on the high side.
    """
    return Limit(
        f"{limit.id}.{ARMING}",
        limit.column,
        Kind.EXPECTED,
        setpoint=limit.setpoint,
        setpoint_in=limit.setpoint_in,
        deadband=limit.deadband,
        on_delay_ns=ns(by_s),
        bridge_ns=limit.bridge_ns,
        watched_in=limit.watched_in,
        is_once=True,
        expects_low=limit.is_high,
    )


def _watching(draft: Draft, channel: ChannelDraft, limit: Limit, table: WatchTable) -> Limit:
    """Add what a limit on values has."""
    is_top = table.priority is Priority.TOP
    bridge = bridge_s(draft, channel) + window_s(table)
    found = replace(
        limit,
        setpoint=_setpoint(limit.kind, table),
        deadband=deadband_of(channel, limit.kind, table),
        on_delay_ns=ns(on_delay_s(channel, limit.kind, table)),
        off_delay_ns=ns(off_delay_s(channel, limit.kind, table)),
        bridge_ns=ns(bridge if table.bridge_s is None else table.bridge_s),
        raises_on_bad=is_top if table.on_bad is None else table.on_bad == "raise",
    )
    if isinstance(table, DelayedTable) and table.n_of_m is not None:
        found = replace(found, n_of_m=table.n_of_m)
    if isinstance(table, ExpectedTable):
        found = replace(found, is_once=True, expects_low=table.below is not None)
    if isinstance(table, SetpointTable):
        sign = _sign(limit.kind)
        elsewhere = {name: sign * value for name, value in table.setpoint_in.items()}
        found = replace(found, setpoint_in=elsewhere, is_arming=table.arm_by_s is not None)
    return found


def _setpoint(kind: Kind, table: WatchTable) -> float:
    """Give what is compared with; of a rate of fall it is negative."""
    match table:
        case SetpointTable():
            return _sign(kind) * table.setpoint
        case TimeToTable():
            return table.within_s
        case ExpectedTable():
            return table.below if table.below is not None else table.above or 0.0
    assert kind in FLAG_KINDS
    return _HALF


def _sign(kind: Kind) -> int:
    return -1 if kind is Kind.RATE_OF_FALL else 1
