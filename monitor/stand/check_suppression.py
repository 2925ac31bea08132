"""Checks what suppresses alarms by design: phases, modes, other alarms."""

from __future__ import annotations

from collections.abc import Mapping

from monitor.alarms.plan import Priority
from monitor.errors import did_you_mean
from monitor.limits.plan import QUALITY_KINDS, Place
from monitor.stand.alarm_names import Named, alarm_names
from monitor.stand.alarm_plan import links_behind
from monitor.stand.check_combinations import may_be_unread, way_back
from monitor.stand.draft import Draft
from monitor.stand.locate import KeyPath
from monitor.stand.places import heard_at, listed, places_of, watched_at
from monitor.stand.safety import safety_alarms


def check_suppression(draft: Draft) -> None:
    """Note alarms that can never be heard, and causes that hide themselves."""
    names = alarm_names(draft)
    written = [one for one in names.values() if one.is_written]
    for one in written:
        for key in ("suppressed_in", "watched_in"):
            for number, name in enumerate(getattr(one.table, key)):
                draft.check_place((*one.path, key, number), name)
    quiet = _quiet_phases(draft, names)
    for one in written:
        _check_modes(draft, one)
        _check_heard(draft, one, quiet[one.id])
        _check_causes(draft, names, one, quiet)
    _check_loops(draft, names, written)


def _quiet_phases(draft: Draft, names: Mapping[str, Named]) -> dict[str, frozenset[str]]:
    """Give the phases in which each alarm is kept quiet."""
    quiet = frozenset(phase.name for phase in draft.phases.values() if phase.quiet)
    speaking = safety_alarms(draft)
    return {name: frozenset() if name in speaking else quiet for name in names}


def _check_heard(draft: Draft, one: Named, quiet: frozenset[str]) -> None:
    """Somewhere it must be watched and not suppressed."""
    keys = [(*one.path, key) for key in ("suppressed_in", "watched_in")]
    if not one.table.watched_in or any(map(draft.report.has_error_at, keys)):
        return
    places = places_of(draft)
    watched = watched_at(one.table, places)
    if not watched:
        return
    names = ", ".join(one.table.watched_in)
    if not heard_at(one.table, watched):
        draft.report.error(
            (*one.path, "suppressed_in"),
            f"names all of watched_in ({names}): it would never sound",
        )
        return
    if not heard_at(one.table, watched, quiet):
        draft.report.error(
            (*one.path, "watched_in"),
            f"names quiet phases only ({names}): it would never sound; "
            "write safety = true if it is to speak there",
        )


def _check_causes(
    draft: Draft, names: Mapping[str, Named], one: Named, quiet: Mapping[str, frozenset[str]]
) -> None:
    """An alarm is the consequence of other alarms, which exist."""
    for number, cause in enumerate(one.table.suppressed_by):
        path = (*one.path, "suppressed_by", number)
        if cause == one.id:
            draft.report.error(path, "is this alarm itself; name the one that causes it")
        elif cause in names:
            heard = heard_at(one.table, places_of(draft), quiet[one.id])
            _check_cause(draft, path, names[cause], heard, quiet[cause])
        elif not may_be_unread(draft, cause):
            near = did_you_mean(cause, names) or "; write TAG.KIND: PT-101.high"
            draft.report.error(path, f"unknown alarm {cause!r}{near}")


def _check_modes(draft: Draft, one: Named) -> None:
    """Suppressed in all modes, an alarm never comes."""
    modes = set(draft.mode_names)
    if modes and modes <= set(one.table.suppressed_in):
        draft.report.warning((*one.path, "suppressed_in"), "names every mode: it never sounds")


def _check_cause(
    draft: Draft, path: KeyPath, cause: Named, heard: list[Place], quiet: frozenset[str]
) -> None:
    """Warn where the cause is silent though its consequence would be heard."""
    if cause.table.priority is Priority.JOURNAL:
        draft.report.warning(
            path, f'{cause.id} is of priority "journal": while it stands nobody hears either'
        )
        return
    watched = watched_at(cause.table, heard)
    speaks = heard_at(cause.table, watched, quiet)
    silent = [place for place in watched if place not in speaks]
    if silent:
        where = listed(draft, silent)
        draft.report.warning(
            path, f"{cause.id} is suppressed itself in {where}: there nobody hears either"
        )


def _check_loops(draft: Draft, names: Mapping[str, Named], written: list[Named]) -> None:
    """No alarm may suppress itself through others."""
    causes = {one.id: _causes(draft, one) for one in names.values()}
    seen: set[str] = set()
    for one in written:
        if one.id in seen:
            continue
        loop = way_back(causes, one.id)
        if len(loop) > 1:
            seen |= set(loop)
            draft.report.error(
                (*one.path, "suppressed_by"),
                f"alarms suppress each other in a loop: {' > '.join([*loop, loop[0]])}",
            )


def _causes(draft: Draft, one: Named) -> tuple[str, ...]:
    """Give the alarms that suppress one; those of its links suppress a sensor's alarm too."""
    if one.channel is None or one.kind not in QUALITY_KINDS:
        return tuple(one.table.suppressed_by)
    return (*one.table.suppressed_by, *links_behind(draft, one.channel))
