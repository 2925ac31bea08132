"""Checks combinations and abort criteria: their conditions, what they look at, loops."""

from __future__ import annotations

from collections.abc import Mapping

from monitor.alarms.plan import Priority
from monitor.errors import did_you_mean
from monitor.limits.condition import parse_condition
from monitor.stand.alarm_names import Named, abort_id, alarm_names
from monitor.stand.combination_plan import signs_of
from monitor.stand.draft import Draft
from monitor.stand.locate import KeyPath
from monitor.stand.schema_limits import WatchTable
from monitor.stand.schema_phases import AbortTable, CombinationTable

#: Signs that mean something in the names of limits, links and hidden channels.
_RESERVED = ".:~*"


def check_combinations(draft: Draft) -> None:
    """Note what is wrong with combinations and abort criteria."""
    _check_tags(draft)
    names = alarm_names(draft)
    for one in _combinations(names):
        table = one.table
        assert isinstance(table, CombinationTable)
        _check_condition(draft, one.path, table)
        _check_inputs(draft, names, one, table)
        _check_words(draft, one.path, table)
    _check_loops(draft, names)
    for tag in draft.aborts:
        if not draft.report.errors:
            _check_bad_data(draft, names, abort_id(tag))


def _combinations(names: Mapping[str, Named]) -> list[Named]:
    """Give combinations and abort criteria."""
    return [one for one in names.values() if isinstance(one.table, CombinationTable)]


def _check_tags(draft: Draft) -> None:
    """A tag stands for one thing, and has no sign that means something else."""
    taken = {tag.casefold(): f"channel {tag!r}" for tag in draft.tags}
    for key, tags in (("combinations", draft.combinations), ("abort", draft.aborts)):
        for tag in tags:
            path = (key, tag)
            reserved = [sign for sign in tag if sign in _RESERVED or sign.isspace()]
            if reserved or not tag:
                what = f"{reserved[0]!r} has no place in a tag" if reserved else "has no tag"
                draft.report.error(path, f"{what}; write letters, a dash and a number: UA-101")
            other = taken.setdefault(tag.casefold(), f"{key} {tag!r}")
            if other != f"{key} {tag!r}":
                draft.report.error(path, f"is the tag of {other} already")


def _check_condition(draft: Draft, path: KeyPath, table: CombinationTable) -> None:
    """The condition can be read, and uses each input, and nothing else."""
    try:
        used = parse_condition(table.when).names
    except ValueError as error:
        draft.report.error((*path, "when"), f"{table.when.strip()!r}: {error}")
        return
    for name in used:
        if name not in table.inputs:
            near = did_you_mean(name, table.inputs)
            draft.report.error(
                (*path, "when"),
                f"unknown name {name!r}{near}; inputs are {', '.join(table.inputs) or 'none'}",
            )
    for name in table.inputs:
        if name not in used:
            draft.report.error((*path, "inputs", name), "does not stand in the condition")


def _check_inputs(
    draft: Draft, names: Mapping[str, Named], one: Named, table: CombinationTable
) -> None:
    """Every input is a limit of the stand, and another one."""
    for name, wanted in table.inputs.items():
        path = (*one.path, "inputs", name)
        if wanted == one.id:
            draft.report.error(path, f"{wanted} looks at itself")
        elif wanted not in names and not may_be_unread(draft, wanted):
            near = did_you_mean(wanted, names) or _limits_of(names, wanted)
            draft.report.error(path, f"unknown limit {wanted!r}{near}")


def _limits_of(names: Mapping[str, Named], wanted: str) -> str:
    """Give the limits of the channel that was named, for an error's text."""
    tag = wanted.split(".", 1)[0]
    listed = [name for name in names if name.split(".", 1)[0] == tag]
    return f"; {tag} has {', '.join(listed)}" if listed else "; write TAG.KIND: PT-101.high"


def may_be_unread(draft: Draft, name: str) -> bool:
    """Tell whether a limit may be missing only because its own table has mistakes."""
    tag, _, kind = name.partition(".")
    for key in ("channels", "combinations", "abort"):
        tables = draft.raw.get(key)
        table = tables.get(tag) if isinstance(tables, dict) else None
        if table is None:
            continue
        limits = table.get("limits", {}) if isinstance(table, dict) else None
        is_written = not isinstance(limits, dict) or kind.split(".")[0] in limits
        if draft.report.has_error_at((key, tag)) and (is_written or key != "channels"):
            return True
    return False


def _check_words(draft: Draft, path: KeyPath, table: CombinationTable) -> None:
    """Whoever hears it must know what to do."""
    if isinstance(table, AbortTable):
        if table.priority is Priority.JOURNAL:
            draft.report.error(
                (*path, "priority"), 'is "journal": an abort criterion must be heard'
            )
        for key in ("suppressed_in", "suppressed_by"):
            if getattr(table, key):
                draft.report.warning(
                    (*path, key),
                    "hides an abort criterion; say by watched_in where it has a meaning",
                )
    elif table.priority is not Priority.JOURNAL and not table.response.strip():
        draft.report.warning(
            (*path, "response"), 'missing; write what to do, or priority = "journal"'
        )


def _check_loops(draft: Draft, names: Mapping[str, Named]) -> None:
    """No combination may look at itself through others."""
    inputs = {
        one.id: tuple(one.table.inputs.values())
        for one in names.values()
        if isinstance(one.table, CombinationTable)
    }
    told: set[str] = set()
    for name in inputs:
        loop = way_back(inputs, name) if name not in told else []
        if len(loop) > 1:
            told |= set(loop)
            way = " > ".join([*loop, loop[0]])
            draft.report.error((*names[name].path, "inputs"), f"go round in a loop: {way}")


def way_back(steps: Mapping[str, tuple[str, ...]], start: str) -> list[str]:
    """Follow *steps* from a name back to it by the shortest way; empty where there is none."""
    came_from = {start: start}
    waiting = [start]
    for name in waiting:
        for after in steps.get(name, ()):
            if after == start:
                way = [name]
                while way[0] != start:
                    way.insert(0, came_from[way[0]])
                return way
            if after not in came_from:
                came_from[after] = name
                waiting.append(after)
    return []


def _check_bad_data(draft: Draft, names: Mapping[str, Named], name: str) -> None:
    """Warn when lost data would blind an abort criterion instead of raising it."""
    path = names[name].path
    for limit, signs in signs_of(names, [name]).items():
        table = names[limit].table
        if not isinstance(table, WatchTable):
            continue
        is_raised = table.on_bad == "raise" or (
            table.on_bad is None and table.priority is Priority.TOP
        )
        if False in signs and table.on_bad == "hold":
            draft.report.warning(
                (*names[limit].path, "on_bad"),
                f'is "hold": bad data can keep {name} from coming; take it out, '
                "and bad data raises it",
            )
        elif True in signs and is_raised:
            draft.report.warning(
                (*path, "when"),
                f'bad data raises {limit}, and under "not" that keeps the criterion from '
                'coming; write on_bad = "hold" there',
            )
        elif signs == {True, False}:
            draft.report.warning(
                (*path, "when"),
                f"{limit} counts both as it is and negated, so bad data raises it for neither",
            )
