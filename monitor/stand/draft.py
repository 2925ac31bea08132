"""A stand file between reading and compiling: what was sound in it, ready to be checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any, TypeVar

import msgspec

from monitor.channels.formula import Formula
from monitor.errors import did_you_mean
from monitor.limits.plan import Kind
from monitor.stand.decode import decode_sound
from monitor.stand.locate import KeyPath
from monitor.stand.look import note_unknown, said
from monitor.stand.report import Report
from monitor.stand.schema import AlarmBase, AlarmTable, ChannelTable, ChartTable, StandTable
from monitor.stand.schema_limits import TABLES, LimitTable, WatchTable
from monitor.stand.schema_phases import AbortTable, CombinationTable, ModeTable, PhaseTable
from monitor.units import Unit

if TYPE_CHECKING:
    # Only for its name: importing the registry imports every driver.
    from drivers.registry import InstrumentKind

_Struct = TypeVar("_Struct", bound=msgspec.Struct)
_TOP_KEYS = (
    "stand",
    "instruments",
    "channels",
    "phases",
    "modes",
    "charts",
    "combinations",
    "abort",
)


@dataclass(slots=True)
class InstrumentDraft:
    """An instrument. None where that part is missing or wrong.

    *period_s* is the time between two readings, where its settings state one.
    """

    name: str
    kind: InstrumentKind | None = None
    settings: msgspec.Struct | None = None
    signals: tuple[str, ...] | None = None
    alarm: AlarmTable | None = None
    period_s: float | None = None

    @property
    def path(self) -> KeyPath:
        """Where it stands."""
        return ("instruments", self.name)


@dataclass(slots=True)
class ChannelDraft:
    """A channel: its sound keys, its sound limits in their order, and what checks found out.

    *unit*, *formula* and *span* are filled in by the checks and stay None where there are
    mistakes in them. *period_s* is the time between two readings where the channel or its
    instrument states one.
    """

    tag: str
    table: ChannelTable
    limits: dict[Kind, AlarmBase] = field(default_factory=dict)
    unit: Unit | None = None
    formula: Formula | None = None
    span: tuple[float, float] | None = None
    period_s: float | None = None

    @property
    def path(self) -> KeyPath:
        """Where it stands."""
        return ("channels", self.tag)

    @property
    def is_computed(self) -> bool:
        """Tell whether it is made of other channels, by a formula or a vote."""
        return self.table.formula is not None or self.is_voted

    @property
    def is_voted(self) -> bool:
        """Tell whether it is made of redundant sensors."""
        return self.table.vote is not None

    @property
    def title(self) -> str:
        """Its title, or its tag where it has none."""
        return self.table.title or self.tag

    @property
    def stale_after_s(self) -> float:
        """When a value is stale: as stated, or 5 s, or three periods if that is longer."""
        return self.table.stale_after_s or max(5.0, 3 * (self.period_s or 0.0))

    def value_limits(self) -> dict[Kind, WatchTable]:
        """Give the limits that look at values, not at the quality."""
        return {k: table for k, table in self.limits.items() if isinstance(table, WatchTable)}

    def thresholds(self) -> dict[Kind, LimitTable]:
        """Give the limits that compare the value itself."""
        return {k: table for k, table in self.limits.items() if isinstance(table, LimitTable)}

    def input_tags(self) -> dict[str, str]:
        """Give the tag of each input of its formula; those that vote go by their tags."""
        if self.table.vote is not None:
            return {tag: tag for tag in self.table.vote}
        inputs = self.table.inputs
        return {
            name: wanted if isinstance(wanted, str) else wanted.tag
            for name, wanted in inputs.items()
        }


@dataclass(slots=True)
class Draft:
    """All of a stand file.

    Attributes:
        report: Where mistakes are noted.
        kinds: The instrument kinds of this installation.
        overrides: Settings of instruments from the command line.
        today: The day by which calibrations are judged.
        raw: The values as the file has them.
        stand: Its first table.
        instruments: By name, all that the file names.
        channels: By tag, all whose table could be read.
        tags: Every tag that the file names, also those that could not be read.
        phases: In the order of the file; those that could be read.
        modes: Likewise, with their number in the file.
        charts: Likewise.
        combinations: By tag, all whose table could be read.
        aborts: Likewise, the abort criteria.
        computed_order: Tags of computed channels, inputs first.
    """

    report: Report
    kinds: Mapping[str, InstrumentKind]
    overrides: Mapping[str, Mapping[str, str]]
    today: date
    raw: dict[str, Any]
    stand: StandTable | None = None
    instruments: dict[str, InstrumentDraft] = field(default_factory=dict)
    channels: dict[str, ChannelDraft] = field(default_factory=dict)
    tags: tuple[str, ...] = ()
    phases: dict[int, PhaseTable] = field(default_factory=dict)
    modes: dict[int, ModeTable] = field(default_factory=dict)
    charts: dict[int, ChartTable] = field(default_factory=dict)
    combinations: dict[str, CombinationTable] = field(default_factory=dict)
    aborts: dict[str, AbortTable] = field(default_factory=dict)
    computed_order: tuple[str, ...] = ()

    @property
    def phase_names(self) -> list[str]:
        """Names of all phases that the file names, in their order."""
        return [phase.name for phase in self.phases.values()]

    @property
    def mode_names(self) -> list[str]:
        """Names of all modes that the file names, in their order."""
        return [mode.name for mode in self.modes.values()]

    def check_phase(self, path: KeyPath, name: str) -> None:
        """Note a phase that the file does not have."""
        if name in self.phase_names or self._has_unread_places():
            return
        near = did_you_mean(name, self.phase_names)
        known = ", ".join(self.phase_names)
        is_mode = "; it is a mode" if name in self.mode_names else ""
        self.report.error(path, f"unknown phase {name!r}{is_mode or near}; phases are {known}")

    def check_place(self, path: KeyPath, name: str) -> None:
        """Note what is neither a phase nor a mode of the file."""
        phases, modes = self.phase_names, self.mode_names
        if name in phases or name in modes or self._has_unread_places():
            return
        if not modes:
            self.check_phase(path, name)
            return
        near = did_you_mean(name, [*phases, *modes])
        self.report.error(
            path,
            f"unknown phase or mode {name!r}{near}; phases are {', '.join(phases)}; "
            f"modes are {', '.join(modes)}",
        )

    def _has_unread_places(self) -> bool:
        """Tell whether a name may be missing only because it is written wrongly."""
        for key, found in (("phases", self.phases), ("modes", self.modes)):
            entries = self.raw.get(key, [])
            if not isinstance(entries, list) or len(found) < len(entries):
                return True
            if any(self.report.has_error_at((key, number, "name")) for number in found):
                return True
        return not self.phases


def read_draft(draft: Draft) -> None:
    """Read everything but the instruments, noting what is wrong by itself."""
    report, raw = draft.report, draft.raw
    note_unknown(report, (), raw, _TOP_KEYS)
    if "stand" in raw:
        draft.stand = decode_sound(report, ("stand",), raw["stand"], StandTable)
    else:
        report.missing(("stand",), 'write [stand] with name = "..."')
    draft.phases = _read_entries(draft, "phases", PhaseTable)
    draft.modes = _read_entries(draft, "modes", ModeTable)
    draft.charts = _read_entries(draft, "charts", ChartTable)
    draft.combinations = _read_named(draft, "combinations", CombinationTable)
    draft.aborts = _read_named(draft, "abort", AbortTable)
    channels = named_tables(draft, "channels")
    draft.tags = tuple(channels)
    for tag, table in channels.items():
        _read_channel(draft, tag, table)


def named_tables(draft: Draft, key: str) -> dict[str, dict[str, Any]]:
    """Give the tables below *key*, noting what is none."""
    found = draft.raw.get(key, {})
    if not isinstance(found, dict):
        draft.report.error((key,), f"must be tables like [{key}.NAME], is {said(found)}")
        return {}
    for name, table in found.items():
        if not isinstance(table, dict):
            draft.report.error((key, name), f"must be a table, is {said(table)}")
    return {name: table for name, table in found.items() if isinstance(table, dict)}


def _read_entries(draft: Draft, key: str, struct: type[_Struct]) -> dict[int, _Struct]:
    """Read a list of tables; give those that could be read, by their number."""
    found: dict[int, _Struct] = {}
    for number, table in enumerate(_entries(draft, key)):
        decoded = decode_sound(draft.report, (key, number), table, struct)
        if decoded is not None:
            found[number] = decoded
    return found


def _read_named(draft: Draft, key: str, struct: type[_Struct]) -> dict[str, _Struct]:
    """Read tables with names; give those that could be read."""
    found: dict[str, _Struct] = {}
    for name, table in named_tables(draft, key).items():
        decoded = decode_sound(draft.report, (key, name), table, struct)
        if decoded is not None:
            found[name] = decoded
    return found


def _entries(draft: Draft, key: str) -> list[Any]:
    """Give the entries of a list of tables."""
    found = draft.raw.get(key, [])
    if not isinstance(found, list):
        draft.report.error(
            (key,), f"must be a list of tables; write [[{key}]] with two brackets"
        )
        return []
    return found


def _read_channel(draft: Draft, tag: str, table: dict[str, Any]) -> None:
    """Read one channel and its limits."""
    path: KeyPath = ("channels", tag)
    decoded = decode_sound(draft.report, path, table, ChannelTable)
    if decoded is None:
        return
    channel = ChannelDraft(tag, decoded, period_s=decoded.period_s)
    draft.channels[tag] = channel
    known = {kind.value: kind for kind in TABLES}
    note_unknown(draft.report, (*path, "limits"), decoded.limits, known)
    for name, limit in decoded.limits.items():
        if name in known:
            _read_limit(draft, channel, known[name], limit)


def _read_limit(draft: Draft, channel: ChannelDraft, kind: Kind, table: Any) -> None:
    """Read one limit."""
    path = (*channel.path, "limits", kind.value)
    decoded = decode_sound(draft.report, path, table, TABLES[kind])
    if decoded is not None:
        channel.limits[kind] = decoded
