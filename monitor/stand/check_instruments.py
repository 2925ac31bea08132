"""Checks the instruments of a stand: their kind, their settings, and what they deliver."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import msgspec
from msgspec import inspect

from drivers.errors import SettingsError
from monitor.errors import did_you_mean
from monitor.stand.decode import decode, decode_sound
from monitor.stand.draft import Draft, InstrumentDraft, named_tables
from monitor.stand.locate import KeyPath
from monitor.stand.look import fields_of, note_unknown
from monitor.stand.schema import AlarmTable

if TYPE_CHECKING:
    from drivers.registry import InstrumentKind

_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_]*")
#: Keys of an instrument that are no settings of its kind.
_OWN_KEYS = ("kind", "alarm")


def check_instruments(draft: Draft) -> None:
    """Decode every instrument and note what is wrong with it."""
    tables = named_tables(draft, "instruments")
    if not tables:
        draft.report.missing(("instruments",), "write [instruments.NAME] with its kind")
    for name in draft.overrides:
        if name not in tables:
            known = ", ".join(tables) or "none"
            draft.report.error(
                ("instruments", name),
                f"set from outside, but unknown{did_you_mean(name, tables)}; known are {known}",
            )
    for name, table in tables.items():
        draft.instruments[name] = _instrument(draft, name, table)
    for name, channels in _channels_of(draft).items():
        if not channels:
            draft.report.warning(("instruments", name), "no channel reads from it")


def _channels_of(draft: Draft) -> dict[str, list[str]]:
    """Give the tags that read from each instrument."""
    found: dict[str, list[str]] = {name: [] for name in draft.instruments}
    for channel in draft.channels.values():
        instrument, _ = split_source(channel.table.source or "")
        found.get(instrument, []).append(channel.tag)
    return found


def split_source(source: str) -> tuple[str, str]:
    """Split ``instrument.signal``; a signal may hold dots, an instrument's name not."""
    instrument, _, signal = source.partition(".")
    return instrument, signal


def _instrument(draft: Draft, name: str, table: dict[str, Any]) -> InstrumentDraft:
    """Decode one instrument."""
    found = InstrumentDraft(name)
    report, path = draft.report, found.path
    if not _NAME.fullmatch(name):
        report.error(path, "a name is a letter, then letters, digits and _")
    if "alarm" in table:
        found.alarm = decode_sound(report, (*path, "alarm"), table["alarm"], AlarmTable)
    found.kind = _kind(draft, path, table)
    if found.kind is None:
        return found
    keys = [field.encode_name for field in fields_of(found.kind.settings).fields]
    note_unknown(report, path, table, (*_OWN_KEYS, *keys))
    settings = {key: value for key, value in table.items() if key in keys}
    settings |= _overrides(draft, name, found.kind)
    found.settings = _settings(draft, path, settings, found.kind)
    if found.settings is not None:
        found.signals = found.kind.signals(found.settings)
        # Settings of any kind, and of other packages: only some state a period.
        found.period_s = getattr(found.settings, "period_s", None) or None
    return found


def _kind(draft: Draft, path: KeyPath, table: dict[str, Any]) -> InstrumentKind | None:
    """Look the kind up."""
    known = ", ".join(draft.kinds)
    kind = table.get("kind")
    if kind is None:
        draft.report.missing((*path, "kind"), f"kinds are {known}")
    elif not isinstance(kind, str) or kind not in draft.kinds:
        near = did_you_mean(str(kind), draft.kinds)
        draft.report.error((*path, "kind"), f"unknown kind {kind!r}{near}; kinds are {known}")
    else:
        return draft.kinds[kind]
    return None


def _settings(
    draft: Draft, path: KeyPath, table: dict[str, Any], kind: InstrumentKind
) -> msgspec.Struct | None:
    """Decode the settings and let the kind look at them as a whole."""
    settings = decode(draft.report, path, table, kind.settings)
    if settings is None:
        return None
    try:
        kind.check(settings)
    except SettingsError as error:
        draft.report.error((*path, *_key_path(error.key)), error.problem)
        return None
    return settings


def _key_path(key: str) -> KeyPath:
    """Split the key of a setting, as in ``requests[0].send``, where lists count from 0."""
    parts = re.findall(r"\[\d+\]|[^.\[\]]+", key)
    return tuple(int(part[1:-1]) if part.startswith("[") else part for part in parts)


def _overrides(draft: Draft, name: str, kind: InstrumentKind) -> dict[str, Any]:
    """Give the settings of one instrument that come from outside, in their types."""
    found: dict[str, Any] = {}
    types = {field.encode_name: field.type for field in fields_of(kind.settings).fields}
    for key, text in draft.overrides.get(name, {}).items():
        path = ("instruments", name, key)
        if key not in types:
            near = did_you_mean(key, types)
            draft.report.error(path, f"set from outside, but unknown{near}")
            continue
        value = _typed(text, types[key])
        if value is None:
            draft.report.error(path, f"set from outside to {text!r}, which does not fit")
        else:
            found[key] = value
    return found


def _typed(text: str, info: inspect.Type) -> str | int | float | bool | None:
    """Read a setting from text as the type asks; None when it does not fit."""
    parts = info.types if isinstance(info, inspect.UnionType) else (info,)
    readers: dict[type[inspect.Type], type[int] | type[float] | type[bool]] = {
        inspect.IntType: int,
        inspect.FloatType: float,
        inspect.BoolType: bool,
    }
    for part in parts:
        wanted = readers.get(type(part))
        if wanted is None:
            continue
        try:
            return msgspec.convert(text, wanted, strict=False)
        except msgspec.ValidationError:
            continue
    is_text = any(isinstance(part, inspect.StrType) for part in parts)
    return text if is_text else None
