"""Checks what suppresses alarms by design: phases, modes, other alarms."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from monitor.alarms.plan import Priority
from monitor.stand.alarm_names import Named, alarm_names
from monitor.stand.draft import Draft
from monitor.stand.places import heard_at, places_of, told, watched_at
from monitor.stand.safety import safety_alarms


def check_suppression(draft: Draft) -> None:
    """Note alarms that can never be heard, and causes that hide themselves."""
    names = alarm_names(draft)
    written = [one for one in names.values() if one.is_written]
    speaking = safety_alarms(draft)
    for one in written:
        _check_heard(draft, one, is_safety=one.id in speaking)
        for number, cause in enumerate(one.table.suppressed_by):
            if cause in names and cause != one.id:
                _check_cause(draft, one, number, names[cause])
    _check_loops(draft, names, written)


def _check_heard(draft: Draft, one: Named, *, is_safety: bool) -> None:
    """Somewhere it must be watched and not suppressed."""
    _check_modes(draft, one)
    keys = [(*one.path, key) for key in ("suppressed_in", "watched_in")]
    if not one.table.watched_in or any(map(draft.report.has_error_at, keys)):
        return
    places = places_of(draft)
    watched = watched_at(one.table, places)
    if not watched:
        return
    listed = ", ".join(one.table.watched_in)
    if not heard_at(one.table, watched):
        draft.report.error(
            (*one.path, "suppressed_in"),
            f"names all of watched_in ({listed}): it would never sound",
        )
        return
    quiet = frozenset(phase.name for phase in draft.phases.values() if phase.quiet)
    if not is_safety and not heard_at(one.table, watched, quiet):
        draft.report.error(
            (*one.path, "watched_in"),
            f"names quiet phases only ({listed}): it would never sound; "
            "write safety = true if it is to speak there",
        )


def _check_modes(draft: Draft, one: Named) -> None:
    """Suppressed in all modes, an alarm never comes."""
    modes = set(draft.mode_names)
    if modes and modes <= set(one.table.suppressed_in):
        draft.report.warning((*one.path, "suppressed_in"), "names every mode: it never sounds")


def _check_cause(draft: Draft, one: Named, number: int, cause: Named) -> None:
    """Warn where the cause is as silent as its consequence."""
    path = (*one.path, "suppressed_by", number)
    if cause.table.priority is Priority.JOURNAL:
        draft.report.warning(
            path, f'{cause.id} is of priority "journal": while it stands nobody hears either'
        )
        return
    heard = heard_at(one.table, places_of(draft))
    watched = watched_at(cause.table, heard)
    silent = [place for place in watched if place not in heard_at(cause.table, watched)]
    if silent:
        listed = ", ".join(map(told, silent))
        draft.report.warning(
            path, f"{cause.id} is suppressed itself in {listed}: there nobody hears either"
        )


def _check_loops(draft: Draft, names: Mapping[str, Named], written: list[Named]) -> None:
    """No alarm may suppress itself through others."""
    seen: set[str] = set()
    for one in written:
        if one.id in seen:
            continue
        loop = next(_ways_back(names, [one.id], set()), [])
        if len(loop) > 1:
            seen |= set(loop)
            draft.report.error(
                (*one.path, "suppressed_by"),
                f"alarms suppress each other in a loop: {' > '.join([*loop, loop[0]])}",
            )


def _ways_back(
    names: Mapping[str, Named], way: list[str], seen: set[str]
) -> Iterator[list[str]]:
    """Follow causes from the first of *way*; give ways back to it."""
    for name in names[way[-1]].table.suppressed_by:
        if name == way[0]:
            yield way
        elif name in names and name not in seen:
            seen.add(name)
            yield from _ways_back(names, [*way, name], seen)
