"""Edits of a limit in mid-run: what they change, and which contradict its siblings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from monitor.limits.plan import FLAG_KINDS, Kind, Limit, Place
from monitor.samples import Bytes

#: Before the name of a phase or mode: the setpoint that differs there.
SETPOINT_IN = "setpoint_in."

_UPWARDS = (Kind.LOW_LOW, Kind.LOW, Kind.HIGH, Kind.HIGH_HIGH)
#: Kinds whose figure is never negative.
_DISTANCES = frozenset({Kind.DEVIATION, Kind.DISAGREEMENT})
#: Kinds whose setpoint is a size.
_ABOVE_ZERO = _DISTANCES | {Kind.RATE_OF_RISE, Kind.TIME_TO_LIMIT}
_NS_PER_S = 1e9


@dataclass(frozen=True, slots=True)
class LimitNow:
    """What is in force for a limit now.

    Attributes:
        setpoint: In this phase and mode, edits included; None for kinds without one.
        limit: The limit as edited.
        is_edited: Whether it was edited in this run, and not back to what was planned.
        is_asleep: Whether it waits until its value was once inside the band.
        is_watched: Whether it is watched in this phase and mode.
    """

    setpoint: float | None
    limit: Limit
    is_edited: bool
    is_asleep: bool
    is_watched: bool


class Settings(msgspec.Struct):
    """What of a limit can be edited, for a checkpoint."""

    setpoint: float
    setpoint_in: dict[str, float]
    deadband: float
    on_delay_ns: int
    off_delay_ns: int


def settings_of(limit: Limit) -> Settings:
    """Give what of *limit* can be edited."""
    return Settings(
        limit.setpoint,
        dict(limit.setpoint_in),
        limit.deadband,
        limit.on_delay_ns,
        limit.off_delay_ns,
    )


def with_settings(limit: Limit, settings: Settings) -> Limit:
    """Give *limit* with *settings*."""
    return replace(limit, **msgspec.structs.asdict(settings))


def edited(limit: Limit, changes: Mapping[str, float]) -> Limit:
    """Give *limit* with *changes*: setpoint, setpoint_in.<name>, deadband, delays in seconds.

    Raises:
        KeyError: A key is none of these; refuse it before.
    """
    for key, value in changes.items():
        match key:
            case "setpoint":
                limit = replace(limit, setpoint=value)
            case "deadband":
                limit = replace(limit, deadband=value)
            case "on_delay_s":
                limit = replace(limit, on_delay_ns=round(value * _NS_PER_S))
            case "off_delay_s":
                limit = replace(limit, off_delay_ns=round(value * _NS_PER_S))
            case _ if key.startswith(SETPOINT_IN):
                name = key.removeprefix(SETPOINT_IN)
                limit = replace(limit, setpoint_in={**limit.setpoint_in, name: value})
            case _:
                raise KeyError(key)
    return limit


def value_of(limit: Limit, key: str) -> float | None:
    """Give what *key* of an edit stands for; None where the limit has no such setpoint."""
    match key:
        case "setpoint":
            return limit.setpoint
        case "deadband":
            return limit.deadband
        case "on_delay_s":
            return limit.on_delay_ns / _NS_PER_S
        case "off_delay_s":
            return limit.off_delay_ns / _NS_PER_S
        case _:
            return limit.setpoint_in.get(key.removeprefix(SETPOINT_IN))


def contradiction(
    limit: Limit,
    changes: Mapping[str, float],
    siblings: Iterable[Limit],
    places: Iterable[Place],
) -> str:
    """Say why an edit makes no sense; empty when it does.

    Args:
        limit: As it is in force.
        changes: What is to change.
        siblings: The other limits of its channel, as in force.
        places: Every phase with every mode.
    """
    has_setpoint = limit.compares and limit.kind not in FLAG_KINDS
    if not has_setpoint and any(not key.endswith("_delay_s") for key in changes):
        return "only its delays can be edited: it has no setpoint of its own"
    if limit.n_of_m[1] and "on_delay_s" in changes:
        return "it goes by n of m samples instead of an on-delay"
    if limit.is_wake_up and any(not key.endswith("_delay_s") for key in changes):
        return "its setpoint is that of the limit that it wakes: edit that one"
    new = edited(limit, changes)
    if new.kind not in _UPWARDS:
        return _without_sense(new)
    by_kind = {one.kind: one for one in (*siblings, new) if one.kind in _UPWARDS}
    for place in places:
        present = [by_kind[kind] for kind in _UPWARDS if kind in by_kind]
        present = [one for one in present if one.is_watched(place)]
        why = _crossing(present, place) or _deadband_too_wide(new, present, place)
        if why:
            return why
    return ""


def _without_sense(new: Limit) -> str:
    """Say that what has no sibling is true for ever, or never clears."""
    for setpoint in (new.setpoint, *new.setpoint_in.values()):
        if new.kind is Kind.RATE_OF_FALL and not setpoint < 0:
            return f"a fall of {setpoint:g} is not below 0: it needs its sign"
        if new.kind in _ABOVE_ZERO and not setpoint > 0:
            return f"{setpoint:g} is not above 0"
        if new.kind is Kind.BUDGET and setpoint < 0:
            return f"{setpoint:g} is below 0: it is how much beyond the plan"
        if new.kind in _DISTANCES and new.deadband >= setpoint:
            return f"its deadband of {new.deadband:g} is not below {setpoint:g}: never clear"
    return ""


def _crossing(present: Sequence[Limit], place: Place) -> str:
    """Say that limits of one channel, from the lowest up, would not be in order at a place."""
    for below, above in pairwise(present):
        low, high = below.chosen_setpoint(place), above.chosen_setpoint(place)
        if not low < high:
            where = " in ".join(("", *(name for name in (place.phase, place.mode) if name)))
            return f"{above.kind} {high:g} would not be above {below.kind} {low:g}{where}"
    return ""


def _deadband_too_wide(new: Limit, present: Sequence[Limit], place: Place) -> str:
    """Say that an alarm could not clear before the one on the other side comes."""
    by_kind = {one.kind: one for one in present}
    for one in present:
        others = (Kind.LOW, Kind.LOW_LOW) if one.is_high else (Kind.HIGH, Kind.HIGH_HIGH)
        other = next((by_kind[kind] for kind in others if kind in by_kind), None)
        if other is None:
            continue
        if one.deadband >= abs(one.chosen_setpoint(place) - other.chosen_setpoint(place)):
            whose = "its deadband" if one is new else f"the deadband of {one.kind}"
            over = "it" if other is new else other.kind
            return f"{whose} of {one.deadband:g} would reach over to {over}"
    return ""


def saved_edits(place: Place, limits: Sequence[Limit], planned: Sequence[Limit]) -> Bytes:
    """Pack a place and what of *limits* was edited, for a checkpoint."""
    pairs = enumerate(zip(limits, planned, strict=True))
    edits = {i: settings_of(limit) for i, (limit, plan) in pairs if limit is not plan}
    text = msgspec.msgpack.encode((place.phase, place.mode, edits))
    return np.frombuffer(text, dtype=np.uint8)


def loaded_edits(
    saved: NDArray[Any], planned: Sequence[Limit]
) -> tuple[Place, dict[int, Limit]]:
    """Give what :func:`saved_edits` packed: the place, and limits as edited by position."""
    phase, mode, edits = msgspec.msgpack.decode(
        saved.tobytes(), type=tuple[str, str, dict[int, Settings]]
    )
    return Place(phase, mode), {i: with_settings(planned[i], x) for i, x in edits.items()}
