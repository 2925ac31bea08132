"""Every alarm that a stand will have, by the name under which a file may refer to it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.limits.plan import ARMING, Kind
from monitor.stand.alarm_plan import RECORDING, link_tag, with_sensor_alarms
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.locate import KeyPath
from monitor.stand.schema import AlarmBase, AlarmTable
from monitor.stand.schema_limits import SetpointTable


@dataclass(frozen=True, slots=True)
class Named:
    """An alarm of a stand.

    Attributes:
        id: The limit's id.
        path: Where it is written, or would be.
        table: What is written about it; an empty table where it exists by itself.
        kind: See :class:`Kind`.
        channel: The channel that it belongs to; None where there is none.
    """

    id: str
    path: KeyPath
    table: AlarmBase
    kind: Kind
    channel: ChannelDraft | None = None

    @property
    def is_arming(self) -> bool:
        """Tell whether it was made beside a limit that waits to be armed."""
        return self.id.endswith(f".{ARMING}")

    @property
    def is_written(self) -> bool:
        """Tell whether its table is its own: not that of an alarm or a phase it goes with."""
        return not self.is_arming and self.kind is not Kind.PHASE_OVERLONG


def overlong_tag(phase: str) -> str:
    """Name what the alarm of a phase that lasts too long stands for."""
    return f"phase:{phase}"


def overlong_id(phase: str) -> str:
    """Name the alarm of a phase that lasts too long."""
    return f"{overlong_tag(phase)}.{Kind.PHASE_OVERLONG}"


def combination_id(tag: str) -> str:
    """Name the limit of a combination."""
    return f"{tag}.{Kind.COMBINATION}"


def abort_id(tag: str) -> str:
    """Name the limit of an abort criterion."""
    return f"{tag}.abort"


def alarm_names(draft: Draft) -> dict[str, Named]:
    """Give every alarm by its id, those that exist by themselves among them."""
    return {one.id: one for one in (*_of_channels(draft), *_others(draft))}


def _of_channels(draft: Draft) -> Iterator[Named]:
    """Give the alarms of channels, as they are in the plan."""
    for channel in draft.channels.values():
        for kind, table in with_sensor_alarms(channel).items():
            name = f"{channel.tag}.{kind}"
            path = (*channel.path, "limits", kind.value)
            yield Named(name, path, table, kind, channel)
            if isinstance(table, SetpointTable) and table.arm_by_s is not None:
                arming = (*path, "arm_by_s")
                yield Named(f"{name}.{ARMING}", arming, table, Kind.EXPECTED, channel)


def _others(draft: Draft) -> Iterator[Named]:
    """Give the alarms of links, recording, phases, combinations and abort criteria."""
    for instrument in draft.instruments.values():
        name = f"{link_tag(instrument.name)}.{Kind.HIGH}"
        table = instrument.alarm or AlarmTable()
        yield Named(name, (*instrument.path, "alarm"), table, Kind.HIGH)
    yield Named(f"{RECORDING}.{Kind.HIGH}", (), AlarmTable(), Kind.HIGH)
    for number, phase in draft.phases.items():
        if phase.longest_s is not None:
            path: KeyPath = ("phases", number, "longest_s")
            table = AlarmTable(priority=phase.alarm.priority if phase.alarm else None)
            yield Named(overlong_id(phase.name), path, table, Kind.PHASE_OVERLONG)
    for tag, combination in draft.combinations.items():
        path = ("combinations", tag)
        yield Named(combination_id(tag), path, combination, Kind.COMBINATION)
    for tag, abort in draft.aborts.items():
        yield Named(abort_id(tag), ("abort", tag), abort, Kind.COMBINATION)
