"""What another stand says otherwise about a limit, in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields

from monitor.alarms.plan import Alarm
from monitor.channels.plan import Filtered
from monitor.limits.condition import Condition
from monitor.limits.plan import Limit
from monitor.pipeline import Plan
from monitor.rehearse.words import filter_text

_S_PER_NS = 1e-9

#: Fields that are told. Places in a plan mean nothing to people, and texts raise no alarm.
_OF_LIMIT = frozenset(row.name for row in fields(Limit)) - {"id", "column", "kind", "inputs"}
_OF_ALARM = frozenset({"priority", "is_latching", "suppressed_in", "suppressed_by"})

_Facts = dict[str, object]


def changes(old: Plan, new: Plan) -> dict[str, tuple[str, ...]]:
    """Say for each limit that both stands have what is written otherwise in the new one."""
    before, after = _facts(old), _facts(new)
    return {
        limit: tuple(_told(before[limit], after[limit]))
        for limit in after
        if limit in before and before[limit] != after[limit]
    }


def _facts(plan: Plan) -> dict[str, _Facts]:
    """Give everything that is told of each limit, by its id."""
    filters = {plan.channels.column[row.tag]: row for row in plan.channels.filtered}
    return {
        limit.id: _facts_of(limit, alarm, filters.get(limit.column))
        for limit, alarm in zip(plan.limits, plan.alarms.alarms, strict=True)
    }


def _facts_of(limit: Limit, alarm: Alarm, filtered: Filtered | None) -> _Facts:
    """Give what is told of one limit."""
    found: _Facts = {row.name: getattr(limit, row.name) for row in fields(Limit)}
    found = {name: value for name, value in found.items() if name in _OF_LIMIT}
    found["filter"] = filter_text(filtered)
    needed, of = limit.n_of_m
    found["n_of_m"] = f"{needed} of {of}" if of else "none"
    found |= {
        row.name: getattr(alarm, row.name) for row in fields(Alarm) if row.name in _OF_ALARM
    }
    return found


def _told(before: _Facts, after: _Facts) -> Iterator[str]:
    """Write each fact that differs."""
    for name, value in after.items():
        if value != before[name]:
            words = name.removeprefix("is_").removesuffix("_ns").replace("_", " ")
            yield f"{words} {_text(name, before[name])} → {_text(name, value)}"


def _text(name: str, value: object) -> str:
    """Write a value of a field."""
    match value:
        case bool():
            return "yes" if value else "no"
        case int() if name.endswith("_ns"):
            return f"{value * _S_PER_NS:g} s"
        case float():
            return f"{value:g}"
        case Mapping():
            return _listed(f"{place} {number:g}" for place, number in sorted(value.items()))
        case frozenset():
            return _listed(sorted(value))
        case tuple():
            return _listed(value)
        case Condition():
            return repr(value.text)
        case _:
            return str(value)


def _listed(parts: Iterable[object]) -> str:
    """Write several things, or that there are none."""
    found = ", ".join(str(part) for part in parts)
    return found or "none"
