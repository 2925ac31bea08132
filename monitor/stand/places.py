"""Where a test can stand by a file: each phase with each mode; and what is watched there."""

from __future__ import annotations

from collections.abc import Iterable

from monitor.limits.plan import Place
from monitor.stand.draft import Draft
from monitor.stand.schema import AlarmBase


def places_of(draft: Draft) -> list[Place]:
    """Give every phase with every mode, in the order of the file."""
    modes = draft.mode_names or [""]
    return [Place(phase, mode) for phase in draft.phase_names for mode in modes]


def watched_at(table: AlarmBase, places: Iterable[Place]) -> list[Place]:
    """Give the places at which an alarm is watched."""
    names = frozenset(table.watched_in)
    return [place for place in places if not names or place.is_in(names)]


def heard_at(
    table: AlarmBase, places: Iterable[Place], quiet: frozenset[str] = frozenset()
) -> list[Place]:
    """Give the places at which it is watched and neither suppressed nor kept quiet."""
    names = frozenset(table.suppressed_in) | quiet
    return [place for place in watched_at(table, places) if not place.is_in(names)]


def told(place: Place) -> str:
    """Name a place."""
    return f"{place.phase!r}" + (f" with {place.mode!r}" if place.mode else "")


def listed(draft: Draft, places: Iterable[Place]) -> str:
    """Name places, a phase alone where they are all of its modes."""
    modes: dict[str, list[Place]] = {}
    for place in places:
        modes.setdefault(place.phase, []).append(place)
    every = len(draft.mode_names)
    return ", ".join(
        told(place)
        for found in modes.values()
        for place in ([Place(found[0].phase)] if len(found) >= every else found)
    )
