"""Checks setpoints against each other where a phase and a mode meet.

A limit takes the mode's setpoint before the phase's. So two limits whose setpoints are in order
in every phase and in every mode, each by itself, may still cross where one is moved by the
phase and the other by the mode.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from monitor.limits.plan import Kind, Place
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.limit_values import HIGHS, UPWARDS, deadband_of
from monitor.stand.locate import KeyPath
from monitor.stand.places import places_of, told, watched_at
from monitor.stand.schema_limits import SetpointTable

_Tables = dict[Kind, SetpointTable]


def check_setpoints(draft: Draft) -> None:
    """Note setpoints that cross, and deadbands that are too wide, in a phase with a mode."""
    places = places_of(draft)
    for channel in draft.channels.values():
        tables = _tables(channel)
        for lower, upper in pairwise(tables):
            _check_order(draft, channel, (lower, upper), places)
        for kind in tables:
            _check_deadband(draft, channel, kind, places)


def _tables(channel: ChannelDraft) -> _Tables:
    """Give the limits on the value itself, from the lowest to the highest."""
    found = {kind: channel.limits.get(kind) for kind in UPWARDS}
    return {kind: one for kind, one in found.items() if isinstance(one, SetpointTable)}


def _at(table: SetpointTable, place: Place) -> float:
    """Give the setpoint at a place."""
    return place.chosen(table.setpoint_in, table.setpoint)


def _alone(place: Place) -> Iterator[Place]:
    """Give what is looked at apart: in general, the phase alone, the mode alone."""
    yield Place("")
    yield Place(place.phase)
    yield Place("", place.mode)


def _moved_by(table: SetpointTable, place: Place) -> str:
    """Give the name that moves a setpoint at a place; empty when none does."""
    names = (place.mode, place.phase)
    return next((name for name in names if name and name in table.setpoint_in), "")


def _path(channel: ChannelDraft, kind: Kind, moved_by: str) -> KeyPath:
    """Give where the setpoint is written."""
    path = (*channel.path, "limits", kind.value)
    return (*path, "setpoint_in", moved_by) if moved_by else (*path, "setpoint")


def _check_order(
    draft: Draft, channel: ChannelDraft, kinds: tuple[Kind, Kind], places: list[Place]
) -> None:
    """The lower stays below the upper wherever both are watched."""
    tables = _tables(channel)
    low, high = tables[kinds[0]], tables[kinds[1]]
    for place in watched_at(high, watched_at(low, places)):
        if _at(low, place) < _at(high, place):
            continue
        if any(_at(low, one) >= _at(high, one) for one in _alone(place)):
            continue
        draft.report.error(
            _path(channel, kinds[1], _moved_by(high, place)),
            f"{kinds[1]} {_at(high, place):g} is not above {kinds[0]} {_at(low, place):g} "
            f"in {told(place)}: a mode's setpoint goes before a phase's",
        )


def _check_deadband(
    draft: Draft, channel: ChannelDraft, kind: Kind, places: list[Place]
) -> None:
    """An alarm must be able to clear before the one on the other side comes."""
    table = _tables(channel)[kind]
    deadband = deadband_of(channel, kind, table)
    path = (*channel.path, "limits", kind.value, "deadband")
    if channel.span is None or draft.report.has_error_at(path):
        return
    for place in watched_at(table, places):
        end = _end(channel, kind, place)
        band = abs(_at(table, place) - end)
        if deadband < band or not _is_outward(kind, _at(table, place), end):
            continue
        draft.report.error(
            path,
            f"{deadband:g} reaches from {_at(table, place):g} to {end:g} in {told(place)}: "
            "it would never clear there",
        )
        return


def _is_outward(kind: Kind, setpoint: float, end: float) -> bool:
    """Tell whether the other side lies on the other side; if not, that is told elsewhere."""
    return setpoint > end if kind in HIGHS else setpoint < end


def _end(channel: ChannelDraft, kind: Kind, place: Place) -> float:
    """Give where a deadband must end: at the other side's alarm, or at the span's end."""
    others = (Kind.LOW, Kind.LOW_LOW) if kind in HIGHS else (Kind.HIGH, Kind.HIGH_HIGH)
    tables = _tables(channel)
    assert channel.span is not None
    for other in others:
        if other in tables and watched_at(tables[other], [place]):
            return _at(tables[other], place)
    return channel.span[kind not in HIGHS]
