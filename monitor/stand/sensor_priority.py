"""How urgent the loss of a sensor is: as the most urgent alarm that falls blind with it."""

from __future__ import annotations

from monitor.alarms.plan import Priority
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

    A channel blinds its own limits, those of channels that are made of it, and those that
    compare another channel with it.
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
    for channel in _made_ones_first(draft):
        for needed in inputs_of(channel):
            _raise(found, needed, found[channel.tag])
    return {tag: between(Priority.LOW, found[tag], Priority.HIGH) for tag in found}


def _raise(found: dict[str, Priority], tag: str, priority: Priority) -> None:
    found[tag] = max(found[tag], priority, key=PRIORITIES.index)


def _made_ones_first(draft: Draft) -> list[ChannelDraft]:
    """Give all channels so that each stands before those that it is made of."""
    made = [draft.channels[tag] for tag in reversed(draft.computed_order)]
    return made + [one for one in draft.channels.values() if not one.is_computed]
