"""Decodes one table of a stand file, and tells everything that is wrong with it.

msgspec itself stops at the first mistake and does not know the table's name; so each value is
looked at first, by the types that a struct declares, and msgspec makes the struct from what was
found to be sound.
"""

from __future__ import annotations

from typing import Any, TypeVar

import msgspec

from monitor.stand.locate import KeyPath
from monitor.stand.look import fields_of, look
from monitor.stand.report import Report

_Struct = TypeVar("_Struct", bound=msgspec.Struct)


def decode(report: Report, path: KeyPath, table: Any, kind: type[_Struct]) -> _Struct | None:
    """Make a struct of *table*.

    Args:
        report: Where mistakes are noted.
        path: Where the table stands.
        table: What the file has there.
        kind: What it should be.

    Returns:
        The struct; None when anything in the table is wrong.
    """
    before = report.errors
    look(fields_of(kind), table, path, report)
    return None if report.errors > before else _converted(report, path, table, kind)


def decode_sound(
    report: Report, path: KeyPath, table: Any, kind: type[_Struct]
) -> _Struct | None:
    """Make a struct of the sound part of *table*, so that more of it can be checked.

    As :func:`decode`, but a key that is wrong is left out, and its default stands in for it:
    whoever looks at that must ask the report whether there was a mistake. None when a key is
    missing or wrong that has no default.
    """
    info = fields_of(kind)
    look(info, table, path, report)
    if not isinstance(table, dict):
        return None
    known = {field.encode_name for field in info.fields}
    sound = {
        key: value
        for key, value in table.items()
        if key in known and not report.has_error_at((*path, key))
    }
    needed = {field.encode_name for field in info.fields if field.required}
    return _converted(report, path, sound, kind) if needed <= set(sound) else None


def _converted(
    report: Report, path: KeyPath, table: dict[str, Any], kind: type[_Struct]
) -> _Struct | None:
    """Let msgspec make the struct; it may know more rules than were looked at."""
    try:
        return msgspec.convert(table, kind)
    except msgspec.ValidationError as error:
        report.error(path, str(error).replace("`", "'"))
        return None
