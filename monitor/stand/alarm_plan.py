"""From the limits of a draft to limits and alarms, with everything that a file may leave out.

What the defaults are, and why:

* A value's limit has no delay unless one is written: nobody should wait without knowing it.
* Every measured channel has a ``stale`` and a ``fault`` alarm. Their priority is the highest
  among the value limits that fall blind with the channel (its own, and those of channels
  computed from it), but at least low and at most high: losing a sensor is never nothing, and a
  top-priority limit speaks for itself, because bad data raises it.
* A computed channel with limits has a ``fault`` alarm for a result that is no number.
* Every instrument has an alarm for its link, medium or high by the same rule, and there is one
  for a recording that has stopped.
* Fault and link alarms wait two seconds, so that one odd reading or a short reconnection is no
  alarm, unless their priority is set to top.
"""

from __future__ import annotations

from dataclasses import dataclass

from monitor.alarms.plan import Alarm, Priority
from monitor.limits.plan import Kind, Limit
from monitor.stand.check_instruments import split_source
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.schema import AlarmTable, LimitTable, ThermocoupleTable
from monitor.stand.timing import bridge_s

#: From the least to the most urgent.
_UPWARDS = (Priority.JOURNAL, Priority.LOW, Priority.MEDIUM, Priority.HIGH, Priority.TOP)
_WORDS = {
    Kind.HIGH_HIGH: "very high",
    Kind.HIGH: "high",
    Kind.LOW: "low",
    Kind.LOW_LOW: "very low",
}
_SENSOR_DELAY_S = 2.0
RECORDING = "host:recording"


@dataclass(frozen=True, slots=True)
class Pair:
    """A limit and what it means, which belong to the same position of a plan."""

    limit: Limit
    alarm: Alarm


def ns(seconds: float) -> int:
    """Turn seconds of a stand file into ns."""
    return round(seconds * 1e9)


def link_tag(instrument: str) -> str:
    """Name the channel that is 1 while an instrument's link is down."""
    return f"link:{instrument}"


def alarm_pairs(
    draft: Draft, column: dict[str, int], limit_column: dict[str, int]
) -> list[Pair]:
    """Make every limit with its alarm, in the order of the file, system alarms last.

    Args:
        draft: A stand without mistakes.
        column: Column of each tag.
        limit_column: Column that value limits of a tag compare: the filtered one, if any.
    """
    priorities = _sensor_priorities(draft)
    pairs: list[Pair] = []
    for channel in draft.channels.values():
        for kind, table in _with_sensor_alarms(channel).items():
            columns = limit_column if isinstance(table, LimitTable) else column
            limit = _limit(draft, channel, kind, table, columns[channel.tag])
            pairs.append(Pair(limit, _alarm(channel, kind, table, priorities[channel.tag])))
    for name in draft.instruments:
        pairs.append(_link_pair(draft, name, column[link_tag(name)], priorities))
    pairs.append(_recording_pair(column[RECORDING]))
    return pairs


def _with_sensor_alarms(channel: ChannelDraft) -> dict[Kind, LimitTable | AlarmTable]:
    """Add the alarms that exist by themselves behind those that are written."""
    found = dict(channel.limits)
    if not channel.is_computed:
        found.setdefault(Kind.STALE, AlarmTable())
    if not channel.is_computed or channel.value_limits():
        found.setdefault(Kind.FAULT, AlarmTable())
    return found


def _limit(
    draft: Draft, channel: ChannelDraft, kind: Kind, table: AlarmTable, column: int
) -> Limit:
    """Make one limit."""
    name = f"{channel.tag}.{kind}"
    if not isinstance(table, LimitTable):
        return Limit(
            name,
            column,
            kind,
            on_delay_ns=ns(_sensor_delay_s(kind, table)),
            off_delay_ns=ns(table.off_delay_s),
        )
    is_top = table.priority is Priority.TOP
    bridge = table.bridge_s if table.bridge_s is not None else bridge_s(draft, channel)
    return Limit(
        name,
        column,
        kind,
        setpoint=table.setpoint,
        setpoint_in=dict(table.setpoint_in),
        deadband=table.deadband,
        on_delay_ns=ns(table.on_delay_s or 0.0),
        off_delay_ns=ns(table.off_delay_s),
        bridge_ns=ns(bridge),
        raises_on_bad=is_top if table.on_bad is None else table.on_bad == "raise",
    )


def _sensor_delay_s(kind: Kind, table: AlarmTable) -> float:
    """Give the delay of a sensor's alarm: staleness has waited already, top never waits."""
    if table.on_delay_s is not None:
        return table.on_delay_s
    waits = kind is not Kind.STALE and table.priority is not Priority.TOP
    return _SENSOR_DELAY_S if waits else 0.0


def _alarm(channel: ChannelDraft, kind: Kind, table: AlarmTable, sensor: Priority) -> Alarm:
    """Make one alarm."""
    message, response = _texts(channel, kind)
    return Alarm(
        id=f"{channel.tag}.{kind}",
        tag=channel.tag,
        priority=table.priority or sensor,
        message=table.message or message,
        response=table.response or response,
        is_latching=table.latch,
        suppressed_in=frozenset(table.suppressed_in),
    )


def _texts(channel: ChannelDraft, kind: Kind) -> tuple[str, str]:
    """Say what is wrong, and for a sensor's alarm what to do, where the file does not."""
    blind = f"until then the limits of {channel.tag} are blind"
    instrument, signal = split_source(channel.table.source or "")
    if kind is Kind.STALE:
        message = f"{channel.title}: no reading for {channel.stale_after_s:g} s"
        return message, f"Check that {instrument} is on and sends {signal}; {blind}."
    if kind is Kind.FAULT and channel.is_computed:
        listed = ", ".join(dict.fromkeys(channel.input_tags().values()))
        return f"{channel.title}: no result", f"Check {listed}; {blind}."
    if kind is Kind.FAULT:
        message = f"{channel.title}: sensor fault"
        return message, f"Check the sensor and its wiring to {instrument}; {blind}."
    return f"{channel.title} {_WORDS[kind]}", ""


def _sensor_priorities(draft: Draft) -> dict[str, Priority]:
    """Give the priority of each channel's sensor alarms, from all limits that it blinds."""
    own = {
        channel.tag: max(
            (limit.priority for limit in channel.value_limits().values()),
            key=_UPWARDS.index,
            default=Priority.LOW,
        )
        for channel in draft.channels.values()
    }
    found = dict(own)
    for tag in reversed(draft.computed_order):
        for needed in draft.channels[tag].input_tags().values():
            found[needed] = max(found[needed], found[tag], key=_UPWARDS.index)
    for channel in draft.channels.values():
        table = channel.table.convert
        if isinstance(table, ThermocoupleTable) and table.cold_junction:
            junction = table.cold_junction
            found[junction] = max(found[junction], found[channel.tag], key=_UPWARDS.index)
    return {tag: _between(Priority.LOW, found[tag], Priority.HIGH) for tag in found}


def _between(least: Priority, wanted: Priority, most: Priority) -> Priority:
    """Keep a priority within bounds."""
    return min(max(least, wanted, key=_UPWARDS.index), most, key=_UPWARDS.index)


def _link_pair(draft: Draft, name: str, column: int, priorities: dict[str, Priority]) -> Pair:
    """Make the alarm of a lost link."""
    table = draft.instruments[name].alarm or AlarmTable()
    blinded = [
        priorities[channel.tag]
        for channel in draft.channels.values()
        if split_source(channel.table.source or "")[0] == name
    ]
    highest = max(blinded, key=_UPWARDS.index, default=Priority.MEDIUM)
    name_of_limit = f"{link_tag(name)}.{Kind.HIGH}"
    limit = Limit(
        name_of_limit,
        column,
        Kind.HIGH,
        setpoint=0.5,
        on_delay_ns=ns(_sensor_delay_s(Kind.FAULT, table)),
        off_delay_ns=ns(table.off_delay_s),
    )
    alarm = Alarm(
        id=name_of_limit,
        tag=link_tag(name),
        priority=table.priority or _between(Priority.MEDIUM, highest, Priority.HIGH),
        message=table.message or f"Link to {name} lost",
        response=table.response
        or f"See the row of {name} for the cause; check its power, cable and port.",
        is_latching=table.latch,
        suppressed_in=frozenset(table.suppressed_in),
    )
    return Pair(limit, alarm)


def _recording_pair(column: int) -> Pair:
    """Make the alarm of a recording that has stopped."""
    name = f"{RECORDING}.{Kind.HIGH}"
    alarm = Alarm(
        id=name,
        tag=RECORDING,
        priority=Priority.HIGH,
        message="Nothing is being recorded",
        response="See the recording's row for the cause; make room on the disk. "
        "The watch goes on, and so does the recording as soon as it can.",
    )
    return Pair(Limit(name, column, Kind.HIGH, setpoint=0.5), alarm)
