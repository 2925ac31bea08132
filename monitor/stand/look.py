"""Looks at one value of a stand file: is it what a declared type asks for, and if not, why."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from datetime import date, datetime
from functools import lru_cache
from typing import Any

import msgspec
from msgspec import inspect

from monitor.errors import did_you_mean
from monitor.stand.locate import KeyPath, locate
from monitor.stand.report import Report


def said(value: Any) -> str:
    """Name a value of a file with its type, for an error."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f"the text {value if len(value) <= 40 else value[:37] + '...'!r}"
    if isinstance(value, int | float):
        return f"the number {value}"
    if isinstance(value, datetime | date):
        return f"the date {value}"
    return "a list" if isinstance(value, list) else "a table"


@lru_cache(maxsize=64)
def fields_of(kind: type[msgspec.Struct]) -> inspect.StructType:
    """Give what a struct declares."""
    found = inspect.type_info(kind)
    assert isinstance(found, inspect.StructType)
    return found


def note_unknown(
    report: Report, path: KeyPath, table: Iterable[str], known: Iterable[str]
) -> None:
    """Note every key of *table* that is not known."""
    names = list(known)
    for key in table:
        if key not in names:
            report.unknown_key((*path, key), names)


def look(info: inspect.Type, value: Any, path: KeyPath, report: Report) -> None:
    """Note everything about *value* that is not as *info* says."""
    found = _LOOKS.get(type(info))
    if found is not None:
        found(info, value, path, report)


def _struct(info: inspect.StructType, value: Any, path: KeyPath, report: Report) -> None:
    if not isinstance(value, dict):
        report.error(path, f"must be a table with keys, is {said(value)}")
        return
    known = [field.encode_name for field in info.fields]
    if info.tag_field:
        known.insert(0, info.tag_field)
    note_unknown(report, path, value, known)
    for field in info.fields:
        name = field.encode_name
        if name in value:
            look(field.type, value[name], (*path, name), report)
        elif field.required:
            report.missing((*path, name), f"write {name} = {_example(field.type)}")


def _union(info: inspect.UnionType, value: Any, path: KeyPath, report: Report) -> None:
    types = [part for part in info.types if not isinstance(part, inspect.NoneType)]
    structs = [part for part in types if isinstance(part, inspect.StructType)]
    if isinstance(value, dict) and structs:
        if len(structs) == 1:
            _struct(structs[0], value, path, report)
        else:
            _tagged(structs, value, path, report)
        return
    simple = [part for part in types if part not in structs]
    meant = [part for part in simple if _is_of(part, value)]
    if len(meant) == 1:
        simple, structs = meant, []
    if len(simple) == 1 and not structs:
        look(simple[0], value, path, report)
        return
    if not any(_fits(part, value) for part in simple):
        wanted = " or ".join(dict.fromkeys(_wanted(part) for part in types))
        report.error(path, f"must be {wanted}, is {said(value)}")


def _is_of(info: inspect.Type, value: Any) -> bool:
    """Tell whether a value is a number or a text as a type asks, within its bounds or not."""
    if isinstance(info, inspect.FloatType | inspect.IntType):
        numbers = int if isinstance(info, inspect.IntType) else int | float
        return isinstance(value, numbers) and not isinstance(value, bool)
    return isinstance(info, inspect.StrType) and isinstance(value, str)


def _tagged(
    structs: list[inspect.StructType], value: dict[str, Any], path: KeyPath, report: Report
) -> None:
    """Choose the struct that a table names, as in ``kind = "linear"``."""
    field = structs[0].tag_field or "kind"
    known = {str(part.tag): part for part in structs}
    if field not in value:
        report.missing((*path, field), f"one of {', '.join(known)}")
        return
    tag = value[field]
    if not isinstance(tag, str) or tag not in known:
        near = did_you_mean(tag, known) if isinstance(tag, str) else ""
        report.error((*path, field), f"unknown {tag!r}{near}; known are {', '.join(known)}")
        return
    _struct(known[tag], value, path, report)


def _fits(info: inspect.Type, value: Any) -> bool:
    """Tell whether a value is of one of several types."""
    trial = Report("", locate(""))
    look(info, value, ("x",), trial)
    return not trial.errors


def _list(
    info: inspect.ListType | inspect.VarTupleType, value: Any, path: KeyPath, report: Report
) -> None:
    if not isinstance(value, list):
        report.error(path, f"must be a list, is {said(value)}")
        return
    for number, item in enumerate(value):
        look(info.item_type, item, (*path, number), report)


def _tuple(info: inspect.TupleType, value: Any, path: KeyPath, report: Report) -> None:
    size = len(info.item_types)
    if not isinstance(value, list) or len(value) != size:
        has = f"a list of {len(value)}" if isinstance(value, list) else said(value)
        report.error(path, f"must be a list of {size}, as in {_example(info)}, is {has}")
        return
    for number, (part, item) in enumerate(zip(info.item_types, value, strict=True)):
        look(part, item, (*path, number), report)


def _dict(info: inspect.DictType, value: Any, path: KeyPath, report: Report) -> None:
    if not isinstance(value, dict):
        report.error(path, f"must be a table, is {said(value)}")
        return
    for key, item in value.items():
        look(info.value_type, item, (*path, key), report)


def _choice(
    info: inspect.LiteralType | inspect.EnumType, value: Any, path: KeyPath, report: Report
) -> None:
    known = _choices(info)
    if value not in known:
        near = did_you_mean(value, map(str, known)) if isinstance(value, str) else ""
        listed = ", ".join(map(str, known))
        report.error(path, f"unknown {value!r}{near}; known are {listed}")


def _choices(info: inspect.LiteralType | inspect.EnumType) -> list[Any]:
    if isinstance(info, inspect.EnumType):
        return [member.value for member in info.cls]
    return list(info.values)


def _number(
    info: inspect.FloatType | inspect.IntType, value: Any, path: KeyPath, report: Report
) -> None:
    is_whole = isinstance(info, inspect.IntType)
    if isinstance(value, bool) or not isinstance(value, int if is_whole else int | float):
        report.error(path, f"must be {_wanted(info)}, is {said(value)}")
    elif not abs(value) <= sys.float_info.max:
        report.error(path, f"must be a finite number, is {value}")
    else:
        for bound, holds, words in _bounds(info, value):
            if not holds:
                report.error(path, f"must be {words} {bound}, is {value}")


def _bounds(
    info: inspect.FloatType | inspect.IntType, value: float
) -> list[tuple[float, bool, str]]:
    """Give each bound that a type states, whether *value* keeps it, and its name."""
    bounds = [
        (info.ge, info.ge is None or value >= info.ge, "at least"),
        (info.gt, info.gt is None or value > info.gt, "more than"),
        (info.le, info.le is None or value <= info.le, "at most"),
        (info.lt, info.lt is None or value < info.lt, "less than"),
    ]
    return [(bound, holds, words) for bound, holds, words in bounds if bound is not None]


def _text(info: inspect.StrType, value: Any, path: KeyPath, report: Report) -> None:
    if not isinstance(value, str):
        report.error(path, f"must be a text in quotes, is {said(value)}")
    elif info.min_length and not value.strip():
        report.error(path, "must not be empty")
    elif info.max_length and len(value) > info.max_length:
        report.error(
            path, f"has {len(value)} characters; at most {info.max_length} are allowed"
        )


def _plain(info: inspect.Type, value: Any, path: KeyPath, report: Report) -> None:
    """Look at true or false, and at dates."""
    is_right = (
        isinstance(value, bool)
        if isinstance(info, inspect.BoolType)
        else isinstance(value, date) and not isinstance(value, datetime)
    )
    if not is_right:
        report.error(path, f"must be {_wanted(info)}, is {said(value)}")


def _wanted(info: inspect.Type) -> str:
    """Name what a type asks for."""
    if isinstance(info, inspect.StructType):
        return "a table"
    return _WANTED.get(type(info), "something else")


def _example(info: inspect.Type) -> str:
    """Give something to write where a key is missing."""
    if isinstance(info, inspect.UnionType):
        return _example(info.types[0])
    if isinstance(info, inspect.LiteralType | inspect.EnumType):
        return " or ".join(f'"{choice}"' for choice in _choices(info))
    if isinstance(info, inspect.TupleType):
        return f"[{', '.join(_example(part) for part in info.item_types)}]"
    return _EXAMPLES.get(type(info), "...")


_LOOKS: dict[type[inspect.Type], Callable[[Any, Any, KeyPath, Report], None]] = {
    inspect.StructType: _struct,
    inspect.UnionType: _union,
    inspect.ListType: _list,
    inspect.VarTupleType: _list,
    inspect.TupleType: _tuple,
    inspect.DictType: _dict,
    inspect.LiteralType: _choice,
    inspect.EnumType: _choice,
    inspect.FloatType: _number,
    inspect.IntType: _number,
    inspect.StrType: _text,
    inspect.BoolType: _plain,
    inspect.DateType: _plain,
}
_WANTED: dict[type[inspect.Type], str] = {
    inspect.FloatType: "a number",
    inspect.IntType: "a whole number",
    inspect.StrType: "a text in quotes",
    inspect.BoolType: "true or false",
    inspect.DateType: "a date such as 2026-05-01, without quotes",
    inspect.ListType: "a list",
    inspect.VarTupleType: "a list",
    inspect.DictType: "a table",
}
_EXAMPLES: dict[type[inspect.Type], str] = {
    inspect.FloatType: "0.0",
    inspect.IntType: "0",
    inspect.StrType: '"..."',
    inspect.BoolType: "true",
    inspect.DateType: "2026-05-01",
    inspect.ListType: "[...]",
    inspect.VarTupleType: "[...]",
    inspect.StructType: "{ ... }",
    inspect.DictType: "{ ... }",
}
