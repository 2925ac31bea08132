"""From the phases and modes of a draft to their entries, conditions and alarms.

Two choices that a file does not show:

* What waits for a phase looks at the filtered value, as limits do, and bad data enters none.
* A phase with a longest duration has an alarm for outlasting it, of medium priority unless the
  file says otherwise; from then on what the phase suppresses is suppressed no more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from monitor.alarms.plan import Alarm, AutomaticEntry, Priority
from monitor.limits.plan import NO_COLUMN, Kind, Limit
from monitor.stand.alarm_names import overlong_id, overlong_tag
from monitor.stand.alarm_plan import Pair
from monitor.stand.draft import Draft
from monitor.stand.figures import ns
from monitor.stand.model import ModeEntry, PhaseEntry
from monitor.stand.safety import suppressed_there
from monitor.stand.schema_phases import EnterTable, OverlongTable, PhaseTable, WhenTable
from monitor.stand.timing import bridge_s

#: So many alarms are named in a text; the others are counted.
_NAMED_ALARMS = 8


def phase_entries(draft: Draft) -> tuple[PhaseEntry, ...]:
    """Describe the phases for people."""
    return tuple(
        PhaseEntry(
            name=phase.name,
            title=phase.title or phase.name,
            note=phase.note,
            sort=phase.sort,
            planned_s=phase.planned_s,
            longest_s=phase.longest_s,
            is_quiet=phase.quiet,
            automatic=_told(draft, phase.enter) if phase.enter else "",
        )
        for phase in draft.phases.values()
    )


def mode_entries(draft: Draft) -> tuple[ModeEntry, ...]:
    """Describe the modes for people."""
    return tuple(
        ModeEntry(mode.name, mode.title or mode.name, mode.note)
        for mode in draft.modes.values()
    )


def entry_conditions(
    draft: Draft, limit_column: Mapping[str, int]
) -> tuple[tuple[Limit, ...], tuple[AutomaticEntry, ...]]:
    """Give what automatic entries wait for, and the entries.

    Args:
        draft: A stand without mistakes.
        limit_column: Column that value limits of a tag compare: the filtered one, if any.
    """
    conditions: list[Limit] = []
    entries: list[AutomaticEntry] = []
    for phase in draft.phases.values():
        if phase.enter is None:
            continue
        first = len(conditions)
        conditions += [
            _condition(draft, phase.name, when, limit_column[when.tag])
            for when in phase.enter.when
        ]
        places = tuple(range(first, len(conditions)))
        entries.append(AutomaticEntry(phase.name, frozenset(phase.enter.after), places))
    return tuple(conditions), tuple(entries)


def _condition(draft: Draft, phase: str, when: WhenTable, column: int) -> Limit:
    """Make one condition of an entry."""
    is_above = when.above is not None
    kind = Kind.HIGH if is_above else Kind.LOW
    setpoint = when.above if is_above else when.below
    assert setpoint is not None
    return Limit(
        id=f"enter:{phase}.{when.tag}.{'above' if is_above else 'below'}",
        column=column,
        kind=kind,
        setpoint=setpoint,
        deadband=when.deadband,
        on_delay_ns=ns(when.for_s),
        bridge_ns=ns(bridge_s(draft, draft.channels[when.tag])),
    )


def _told(draft: Draft, enter: EnterTable) -> str:
    """Say in words what enters a phase by itself."""
    parts = []
    for when in enter.when:
        unit = draft.channels[when.tag].unit
        side, value = ("above", when.above) if when.below is None else ("below", when.below)
        text = f"{when.tag} is {side} {value:g} {unit.text if unit else ''}".rstrip()
        parts.append(f"{text} for {when.for_s:g} s" if when.for_s else text)
    return f"after {' or '.join(enter.after)}, when {' and '.join(parts)}"


def overlong_pairs(draft: Draft) -> list[Pair]:
    """Make the alarm of each phase that has a longest duration."""
    return [
        _overlong(draft, phase, phase.longest_s)
        for phase in draft.phases.values()
        if phase.longest_s is not None
    ]


def lapses(draft: Draft, pairs: Sequence[Pair]) -> tuple[tuple[int, str], ...]:
    """Give the position among *pairs* of each phase's alarm, and the phase."""
    position = {pair.limit.id: number for number, pair in enumerate(pairs)}
    return tuple(
        (position[overlong_id(phase.name)], phase.name)
        for phase in draft.phases.values()
        if phase.longest_s is not None
    )


def _overlong(draft: Draft, phase: PhaseTable, longest_s: float) -> Pair:
    """Make one of them."""
    name, title = overlong_id(phase.name), phase.title or phase.name
    table = phase.alarm or OverlongTable()
    limit = Limit(
        id=name,
        column=NO_COLUMN,
        kind=Kind.PHASE_OVERLONG,
        on_delay_ns=ns(longest_s),
        watched_in=frozenset({phase.name}),
    )
    alarm = Alarm(
        id=name,
        tag=overlong_tag(phase.name),
        priority=table.priority or Priority.MEDIUM,
        message=table.message or f"{title} lasts longer than {longest_s:g} s",
        response=table.response or _response(draft, phase),
        is_latching=table.latch,
    )
    return Pair(limit, alarm)


def _response(draft: Draft, phase: PhaseTable) -> str:
    """Say what to do, and what lapses."""
    what = f"Go on to the next phase, or enter {phase.name} anew if it is to last longer."
    ids = suppressed_there(draft, phase.name)
    if not ids:
        return what
    more = len(ids) - _NAMED_ALARMS
    listed = ", ".join(ids[:_NAMED_ALARMS]) + (f" and {more} more" if more > 0 else "")
    return f"{what} It suppresses no more from here on: {listed}."
