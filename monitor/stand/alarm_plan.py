"""From the limits of a draft to limits and alarms, with everything that a file may leave out.

What the defaults are, and why:

* Every measured channel has a ``stale`` and a ``fault`` alarm. Their priority is the highest
  among the value limits that fall blind with the channel (its own, and those of channels made
  of it or compared with it), but at least low and at most high: losing a sensor is never
  nothing, and a top-priority limit speaks for itself, because bad data raises it.
* A computed or voted channel with limits has a ``fault`` alarm for a result that is no number.
* Every instrument has an alarm for its link, medium or high by the same rule, and there is one
  for a recording that has stopped.
* Fault and link alarms wait two seconds, so that one odd reading or a short reconnection is no
  alarm, unless their priority is set to top.
* Stale and fault alarms are consequences of the alarms of those links without which there is
  no value. A link alarm stays until every channel has had time for a first reading, or they
  would sound as it ends.
* A limit that waits to be armed has a second alarm: that it was not inside its band in time.
* High-high names high, and low-low low, as the milder one that is acknowledged with it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from monitor.alarms.plan import Alarm, Priority
from monitor.limits.plan import Kind, Limit
from monitor.stand.alarm_texts import message_of, response_of
from monitor.stand.check_instruments import split_source
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.figures import Figures
from monitor.stand.figures import ns as ns
from monitor.stand.limit_plan import arming_of, limit_of, sensor_delay_s
from monitor.stand.limit_values import unit_of
from monitor.stand.schema import AlarmBase, AlarmTable
from monitor.stand.schema_limits import SetpointTable, WatchTable
from monitor.stand.sensor_priority import PRIORITIES, between, sensor_priorities
from monitor.stand.sources import everything_behind, inputs_of
from monitor.stand.timing import lag_s, period_s

_MILDER = {Kind.HIGH_HIGH: Kind.HIGH, Kind.LOW_LOW: Kind.LOW}
#: Shortest time for which a link alarm stays once the link is back.
_LINK_OFF_DELAY_S = 2.0
RECORDING = "host:recording"


@dataclass(frozen=True, slots=True)
class Pair:
    """A limit and what it means, which belong to the same position of a plan."""

    limit: Limit
    alarm: Alarm


def link_tag(instrument: str) -> str:
    """Name the channel that is 1 while an instrument's link is down."""
    return f"link:{instrument}"


def pair_of(limit: Limit, alarm: Alarm, table: AlarmBase) -> Pair:
    """Join a limit and its alarm, with what *table* says of the alarm.

    Where the table is silent, priority, message, response and those whose consequence it is
    are those of *alarm*.
    """
    told = replace(
        alarm,
        priority=table.priority or alarm.priority,
        message=table.message or alarm.message,
        response=table.response or alarm.response,
        is_latching=table.latch,
        suppressed_in=frozenset(table.suppressed_in),
        suppressed_by=tuple(dict.fromkeys((*table.suppressed_by, *alarm.suppressed_by))),
        clears_by_itself=table.clears_by_itself,
        realarm_ns=ns(table.realarm_s or 0.0),
        group=table.first_out,
    )
    return Pair(limit, told)


def alarm_pairs(draft: Draft, column: dict[str, int], figures: Figures) -> list[Pair]:
    """Make every limit with its alarm, in the order of the file, system alarms last.

    Args:
        draft: A stand without mistakes.
        column: Column of each tag, hidden ones too.
        figures: The hidden columns, all of which were made before.
    """
    priorities = sensor_priorities(draft)
    pairs: list[Pair] = []
    for channel in draft.channels.values():
        for kind, table in with_sensor_alarms(channel).items():
            place = column[figures.tag_for(channel, kind)]
            limit = limit_of(draft, channel, kind, table, place)
            pair = _pair(draft, channel, limit, table, priorities[channel.tag])
            pairs += (pair, *_arming_pair(channel, pair, table))
    for name in draft.instruments:
        pairs.append(_link_pair(draft, name, column[link_tag(name)], priorities))
    pairs.append(_recording_pair(column[RECORDING]))
    return pairs


def with_sensor_alarms(channel: ChannelDraft) -> dict[Kind, AlarmBase]:
    """Add the alarms that exist by themselves behind those that are written."""
    found = dict(channel.limits)
    if not channel.is_computed:
        found.setdefault(Kind.STALE, AlarmTable())
    if not channel.is_computed or channel.value_limits():
        found.setdefault(Kind.FAULT, AlarmTable())
    return found


def _arming_pair(channel: ChannelDraft, pair: Pair, table: AlarmBase) -> Iterator[Pair]:
    """Make the alarm that a limit was not armed in time, where it waits to be armed."""
    if not isinstance(table, SetpointTable) or table.arm_by_s is None:
        return
    limit = arming_of(pair.limit, table.arm_by_s)
    alarm = Alarm(
        id=limit.id,
        tag=channel.tag,
        priority=between(Priority.JOURNAL, pair.alarm.priority, Priority.HIGH),
        message=f"{pair.alarm.message}: not inside its band in time",
        response=f"Until {channel.tag} was inside once, {pair.limit.id} does not watch: "
        "find out what keeps it away.",
        suppressed_in=pair.alarm.suppressed_in,
        suppressed_by=pair.alarm.suppressed_by,
        unit=pair.alarm.unit,
    )
    yield Pair(limit, alarm)


def _pair(
    draft: Draft, channel: ChannelDraft, limit: Limit, table: AlarmBase, sensor: Priority
) -> Pair:
    """Add to a limit of a channel what it means."""
    kind = limit.kind
    has_milder = _MILDER.get(kind) in channel.limits
    is_watch = isinstance(table, WatchTable)
    alarm = Alarm(
        id=limit.id,
        tag=channel.tag,
        priority=sensor,
        message=message_of(channel, kind, table),
        response=response_of(channel, kind),
        suppressed_by=() if is_watch else links_behind(draft, channel),
        milder=f"{channel.tag}.{_MILDER[kind]}" if has_milder else "",
        lag_ns=ns(lag_s(draft, channel, table)),
        period_ns=ns(period_s(draft, channel) or 0.0),
        unit=unit_of(channel, kind, table) if isinstance(table, WatchTable) else "",
    )
    return pair_of(limit, alarm, table)


def links_behind(draft: Draft, channel: ChannelDraft) -> tuple[str, ...]:
    """Name the link alarms without whose links a channel has no value.

    A vote does without any one of its sensors: only a link that all of them need counts.
    """
    tags = everything_behind(draft, channel.tag)
    known = [draft.channels[tag] for tag in tags if tag in draft.channels]
    measured = [one for one in known if not one.is_computed]
    # A cold junction, which is made of nothing, before its thermocouple.
    measured.sort(key=lambda one: len(inputs_of(one)))
    made = [draft.channels[tag] for tag in draft.computed_order if tag in tags]
    needed: dict[str, frozenset[str]] = {}
    for one in (*measured, *made):
        needed[one.tag] = _instruments_of(one, needed)
    names = needed.get(channel.tag, frozenset())
    return tuple(f"{link_tag(name)}.{Kind.HIGH}" for name in draft.instruments if name in names)


def _instruments_of(channel: ChannelDraft, needed: dict[str, frozenset[str]]) -> frozenset[str]:
    """Give the instruments that a channel needs, from those that its inputs need."""
    each = [needed.get(tag, frozenset()) for tag in inputs_of(channel)]
    if channel.is_voted:
        return frozenset.intersection(*each) if each else frozenset()
    return frozenset({split_source(channel.table.source or "")[0]}).union(*each)


def _link_pair(draft: Draft, name: str, column: int, priorities: dict[str, Priority]) -> Pair:
    """Make the alarm of a lost link."""
    table = draft.instruments[name].alarm or AlarmTable()
    channels = [
        channel
        for channel in draft.channels.values()
        if split_source(channel.table.source or "")[0] == name
    ]
    blinded = (priorities[channel.tag] for channel in channels)
    highest = max(blinded, key=PRIORITIES.index, default=Priority.MEDIUM)
    limit = Limit(
        f"{link_tag(name)}.{Kind.HIGH}",
        column,
        Kind.HIGH,
        setpoint=0.5,
        on_delay_ns=ns(sensor_delay_s(Kind.FAULT, table)),
        off_delay_ns=ns(_link_off_s(table, channels)),
        watched_in=frozenset(table.watched_in),
    )
    alarm = Alarm(
        id=limit.id,
        tag=link_tag(name),
        priority=between(Priority.MEDIUM, highest, Priority.HIGH),
        message=f"Link to {name} lost",
        response=f"See the row of {name} for the cause; check its power, cable and port.",
    )
    return pair_of(limit, alarm, table)


def _link_off_s(table: AlarmTable, channels: list[ChannelDraft]) -> float:
    """Give how long a link alarm stays: every channel has had a reading by then."""
    if table.off_delay_s is not None:
        return table.off_delay_s
    slowest = max((one.period_s or 0.0 for one in channels), default=0.0)
    return max(_LINK_OFF_DELAY_S, 2 * slowest)


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
