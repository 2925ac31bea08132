"""How urgent the loss of a sensor is: as the most urgent alarm that falls blind with it."""

from __future__ import annotations

from collections.abc import Iterator

from monitor.alarms.plan import Priority
from monitor.limits.plan import QUALITY_KINDS, Kind
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.schema_limits import DeviationTable
from monitor.stand.sources import inputs_of

#: From the least to the most urgent.
PRIORITIES = (Priority.JOURNAL, Priority.LOW, Priority.MEDIUM, Priority.HIGH, Priority.TOP)


def between(least: Priority, wanted: Priority, most: Priority) -> Priority:
    """Keep a priority within bounds."""
    return min(max(least, wanted, key=PRIORITIES.index), most, key=PRIORITIES.index)


def sensor_priorities(draft: Draft) -> dict[str, Priority]:
    """Give the priority of each channel's sensor alarms, from all limits that it blinds.

    A channel blinds its own limits, those of channels that are made of it, those that compare
    another channel with it, and the combinations that look at any of these.
    """
    found = {
        channel.tag: max(
            (limit.priority for limit in channel.value_limits().values()),
            key=PRIORITIES.index,
            default=Priority.LOW,
        )
        for channel in draft.channels.values()
    }
    for channel in draft.channels.values():
        for table in channel.limits.values():
            if isinstance(table, DeviationTable) and isinstance(table.origin, str):
                _raise(found, table.origin, table.priority)
    for tag, priority in _combined(draft):
        _raise(found, tag, priority)
    for channel in _made_ones_first(draft):
        for needed in inputs_of(channel):
            _raise(found, needed, found[channel.tag])
    return {tag: between(Priority.LOW, found[tag], Priority.HIGH) for tag in found}


def _combined(draft: Draft) -> Iterator[tuple[str, Priority]]:
    """Give the channels that combinations and abort criteria look at, with their priority."""
    tables = {f"{tag}.{Kind.COMBINATION}": one for tag, one in draft.combinations.items()}
    tables |= {f"{tag}.abort": one for tag, one in draft.aborts.items()}
    for table in tables.values():
        waiting = list(table.inputs.values())
        for name in waiting:
            if name in tables:
                waiting += [one for one in tables[name].inputs.values() if one not in waiting]
            tag, kind = name.split(".", 1)[0], name.rpartition(".")[2]
            if tag in draft.channels and kind not in QUALITY_KINDS:
                yield tag, table.priority


def _raise(found: dict[str, Priority], tag: str, priority: Priority) -> None:
    found[tag] = max(found[tag], priority, key=PRIORITIES.index)


def _made_ones_first(draft: Draft) -> list[ChannelDraft]:
    """Give all channels so that each stands before those that it is made of."""
    made = [draft.channels[tag] for tag in reversed(draft.computed_order)]
    return made + [one for one in draft.channels.values() if not one.is_computed]
