"""Checks modes, and what phases state about their duration and how they are entered."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import combinations

from monitor.alarms.plan import Priority
from monitor.errors import did_you_mean
from monitor.stand.alarm_names import alarm_names
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.locate import KeyPath
from monitor.stand.safety import suppressed_there
from monitor.stand.schema_phases import EnterTable, PhaseTable, WhenTable
from monitor.stand.sources import measured_behind

_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_-]*")
_WHY_TWO = "one drifting sensor must not suppress alarms"


def check_modes(draft: Draft) -> None:
    """Modes have names of their own, which no phase has."""
    phases = {phase.name: number for number, phase in draft.phases.items()}
    first: dict[str, int] = {}
    for number, mode in draft.modes.items():
        path = ("modes", number, "name")
        if not _NAME.fullmatch(mode.name):
            draft.report.error(
                path, f"{mode.name!r} is to be a letter, then letters, digits, _ and -"
            )
        if mode.name in phases:
            draft.report.error(
                path,
                f"{mode.name!r} is the name of phase {phases[mode.name] + 1} already; "
                "alarms name both in one list, so give the mode another",
            )
        other = first.setdefault(mode.name, number)
        if other != number:
            draft.report.error(path, f"{mode.name!r} is the name of mode {other + 1} already")


def check_phase_rules(draft: Draft) -> None:
    """Note what is wrong with durations and automatic entries."""
    for number, phase in draft.phases.items():
        _check_durations(draft, number, phase)
        if phase.enter is not None:
            _check_after(draft, number, phase, phase.enter)
            _check_when(draft, number, phase.enter)
            _check_hidden_top(draft, number, phase)
    _check_rounds(draft)


def _check_durations(draft: Draft, number: int, phase: PhaseTable) -> None:
    """The longest duration is no shorter than the planned one, and an entry needs one."""
    report, path = draft.report, ("phases", number)
    planned, longest = phase.planned_s, phase.longest_s
    if planned is not None and longest is not None and planned > longest:
        report.error(
            (*path, "planned_s"), f"{planned:g} s is longer than longest_s, {longest:g} s"
        )
    if phase.enter is not None and longest is None:
        report.missing(
            (*path, "longest_s"),
            "a phase that is entered by itself suppresses alarms for a stated time only: "
            "write longest_s = ...",
        )
    if phase.alarm is not None and longest is None:
        report.error(
            (*path, "alarm"), "is that of a phase that lasts too long; write longest_s too"
        )
    elif phase.alarm is not None and phase.alarm.priority is Priority.JOURNAL:
        report.warning(
            (*path, "alarm", "priority"),
            'is "journal": nobody would hear that what the phase suppresses is heard again',
        )


def _check_after(draft: Draft, number: int, phase: PhaseTable, enter: EnterTable) -> None:
    """It is entered from other phases, which exist."""
    path = ("phases", number, "enter", "after")
    if not enter.after:
        draft.report.error(path, "is empty; name the phases from which it is entered")
    for place, name in enumerate(enter.after):
        if name == phase.name:
            draft.report.error(
                (*path, place), f"{name!r} cannot follow itself; name the phases before it"
            )
        else:
            draft.check_phase((*path, place), name)


def _check_when(draft: Draft, number: int, enter: EnterTable) -> None:
    """Two conditions at least, each sound, two of which have no sensor in common."""
    path = ("phases", number, "enter", "when")
    for place, when in enumerate(enter.when):
        _check_condition(draft, (*path, place), when)
    _check_doubles(draft, path, enter)
    count = len(enter.when)
    if count < 2:
        has = "no condition" if not count else "one condition"
        draft.report.error(
            path, f"has {has}; write two or more on different sensors: {_WHY_TWO}"
        )
    elif not draft.report.has_error_at(path):
        _check_independence(draft, path, enter)


def _check_condition(draft: Draft, path: KeyPath, when: WhenTable) -> None:
    """A condition names a channel and one side of a value that it can have."""
    channel = draft.channels.get(when.tag)
    if "~" in when.tag:
        draft.report.error(
            (*path, "tag"),
            f"{when.tag} is made for one limit, and a profile counts from the phase that "
            "would be entered; name a channel",
        )
    elif when.tag not in draft.tags:
        near = did_you_mean(when.tag, draft.tags)
        draft.report.error((*path, "tag"), f"unknown channel {when.tag!r}{near}")
    if (when.above is None) == (when.below is None):
        has = "neither" if when.above is None else "both"
        draft.report.error(path, f"has {has} of above and below; write one of them")
    elif channel is not None:
        _check_reach(draft, path, channel, when)


def _check_reach(draft: Draft, path: KeyPath, channel: ChannelDraft, when: WhenTable) -> None:
    """The value must be able to get there."""
    side, value = ("above", when.above) if when.below is None else ("below", when.below)
    assert value is not None
    span, reach = channel.span, channel.table.range
    if span is not None and not span[0] <= value <= span[1]:
        draft.report.error(
            (*path, side), f"{value:g} is outside the span from {span[0]:g} to {span[1]:g}"
        )
    elif reach is not None and value == reach[side == "above"]:
        draft.report.error(
            (*path, side),
            f"{value:g} is the end of the range: beyond it the value is bad, "
            "so this can never come true",
        )


def _check_doubles(draft: Draft, path: KeyPath, enter: EnterTable) -> None:
    """One side of one channel is named once."""
    first: dict[tuple[str, bool], int] = {}
    for place, when in enumerate(enter.when):
        other = first.setdefault((when.tag, when.above is None), place)
        if other != place:
            draft.report.error(
                (*path, place, "tag"),
                f"{when.tag} stands in condition {other + 1} with the same side already",
            )


def _check_independence(draft: Draft, path: KeyPath, enter: EnterTable) -> None:
    """Refuse conditions that one sensor could bring about alone."""
    tags = list(dict.fromkeys(when.tag for when in enter.when))
    behind = {tag: measured_behind(draft, tag) for tag in tags}
    if any(not behind[one] & behind[other] for one, other in combinations(tags, 2)):
        return
    shared = sorted(frozenset.intersection(*behind.values()))
    is_lone = len(tags) == 1
    what = (
        f"every condition looks at {tags[0]}"
        if is_lone
        else f"{' and '.join(tags)} have {', '.join(shared) or 'sensors'} behind them in common"
    )
    draft.report.error(path, f"{what}; add a condition on another sensor: {_WHY_TWO}")


def _check_hidden_top(draft: Draft, number: int, phase: PhaseTable) -> None:
    """Warn when nobody has to agree before a most urgent alarm falls silent."""
    names = alarm_names(draft)
    hidden = [
        one
        for one in suppressed_there(draft, phase.name)
        if names[one].table.priority is Priority.TOP
    ]
    if hidden:
        draft.report.warning(
            ("phases", number, "enter"),
            f"suppresses alarms of top priority with nobody asked: {', '.join(hidden)}",
        )


def _check_rounds(draft: Draft) -> None:
    """Refuse entries that follow each other for ever while nothing moves."""
    numbers = {phase.name: number for number, phase in draft.phases.items()}
    told: set[str] = set()
    for phase in draft.phases.values():
        found = next(_rounds(draft, [phase]), None) if phase.name not in told else None
        if found is None:
            continue
        told |= set(found)
        draft.report.error(
            ("phases", numbers[phase.name], "enter"),
            f"the entries {' > '.join([*found, found[0]])} follow each other for ever while "
            "all their conditions stand; let one of them exclude the others",
        )


def _rounds(draft: Draft, way: list[PhaseTable]) -> Iterator[list[str]]:
    """Follow automatic entries from the first phase of *way*; give ways back to it."""
    entered = [phase.enter for phase in way if phase.enter is not None]
    if len(entered) < len(way) or not _can_all_stand(entered):
        return
    for after in draft.phases.values():
        if after.enter is None or way[-1].name not in after.enter.after:
            continue
        if after is way[0] and len(way) > 1:
            yield [phase.name for phase in way]
        elif after not in way:
            yield from _rounds(draft, [*way, after])


def _can_all_stand(entered: list[EnterTable]) -> bool:
    """Tell whether there are values at which all the conditions stand, deadbands included."""
    bounds: dict[str, tuple[float, float]] = {}
    for when in (one for enter in entered for one in enter.when):
        low, high = bounds.get(when.tag, (float("-inf"), float("inf")))
        if when.above is not None:
            low = max(low, when.above - when.deadband)
        if when.below is not None:
            high = min(high, when.below + when.deadband)
        bounds[when.tag] = (low, high)
    return all(low < high for low, high in bounds.values())
