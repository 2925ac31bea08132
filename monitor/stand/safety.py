"""Which alarms matter to safety, and so speak in a phase in which all others are quiet.

An alarm does where its table says so; where it says nothing, it does when it is of top priority
or an abort criterion. What blinds a safety alarm is one too: the sensor's and the link's alarms
follow the limits that fall blind with them, through computed channels and combinations. A
recording that has stopped always speaks, and so does a phase that lasts too long, because that
is what ends the quiet.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from monitor.alarms.plan import Priority
from monitor.limits.plan import QUALITY_KINDS, Kind
from monitor.stand.alarm_names import Named, alarm_names
from monitor.stand.alarm_plan import RECORDING, Pair
from monitor.stand.check_instruments import split_source
from monitor.stand.draft import Draft
from monitor.stand.schema_limits import DeviationTable
from monitor.stand.schema_phases import AbortTable, CombinationTable
from monitor.stand.sources import everything_behind

_RECORDING_ALARM = f"{RECORDING}.{Kind.HIGH}"


def safety_alarms(draft: Draft) -> frozenset[str]:
    """Give the ids of the alarms that matter to safety."""
    names = alarm_names(draft)
    own = {one.id for one in names.values() if not _follows(one) and _is_own(one)}
    _, fed = _feeding(draft, names, own)
    following = {one.id for one in names.values() if _follows(one) and _is_fed(draft, one, fed)}
    return frozenset(own | following)


def quieted(draft: Draft, pairs: Iterable[Pair]) -> list[Pair]:
    """Suppress by design, in the quiet phases, every alarm that does not matter to safety."""
    quiet = frozenset(phase.name for phase in draft.phases.values() if phase.quiet)
    speaking = safety_alarms(draft)
    return [
        pair
        if pair.alarm.id in speaking
        else replace(
            pair, alarm=replace(pair.alarm, suppressed_in=pair.alarm.suppressed_in | quiet)
        )
        for pair in pairs
    ]


def suppressed_there(draft: Draft, phase: str) -> list[str]:
    """Give the ids of the alarms that a phase suppresses by design, in their order."""
    is_quiet = any(one.quiet for one in draft.phases.values() if one.name == phase)
    speaking = safety_alarms(draft) if is_quiet else frozenset()
    return [
        one.id
        for one in alarm_names(draft).values()
        if phase in one.table.suppressed_in or (is_quiet and one.id not in speaking)
    ]


def _follows(one: Named) -> bool:
    """Tell whether it is an alarm of a sensor or a link, which goes by what it blinds."""
    is_link = one.channel is None and one.kind is Kind.HIGH and one.id != _RECORDING_ALARM
    return one.kind in QUALITY_KINDS or is_link


def _is_own(one: Named) -> bool:
    """Tell whether an alarm matters to safety by itself."""
    if one.id == _RECORDING_ALARM or one.kind is Kind.PHASE_OVERLONG:
        return True
    if one.table.safety is not None:
        return one.table.safety
    return isinstance(one.table, AbortTable) or one.table.priority is Priority.TOP


def behind_top(draft: Draft) -> frozenset[str]:
    """Give the limits and channels that decide whether an alarm of top priority is heard.

    They are what it looks at itself, through votes, formulas and combinations, and the alarms
    whose consequence it is, with what these look at.
    """
    names = alarm_names(draft)
    tops = [one for one in names.values() if one.table.priority is Priority.TOP]
    causes = {name for one in tops for name in one.table.suppressed_by if name in names}
    ids, tags = _feeding(draft, names, causes | {one.id for one in tops})
    return ids | tags


def _feeding(
    draft: Draft, names: Mapping[str, Named], own: set[str]
) -> tuple[frozenset[str], frozenset[str]]:
    """Give the limits that lie behind some alarms, and the tags whose loss blinds them."""
    waiting = [names[one] for one in own]
    seen: set[str] = set()
    tags: set[str] = set()
    while waiting:
        one = waiting.pop()
        if one.id in seen:
            continue
        seen.add(one.id)
        if isinstance(one.table, CombinationTable):
            waiting += [names[name] for name in one.table.inputs.values() if name in names]
        if one.channel is not None and one.kind not in QUALITY_KINDS:
            tags |= everything_behind(draft, one.channel.tag)
            if isinstance(one.table, DeviationTable) and isinstance(one.table.origin, str):
                tags |= everything_behind(draft, one.table.origin)
    return frozenset(seen), frozenset(tags)


def _is_fed(draft: Draft, one: Named, fed: frozenset[str]) -> bool:
    """Tell whether a sensor's or a link's alarm matters to safety."""
    if one.table.safety is not None:
        return one.table.safety
    if one.table.priority is Priority.TOP:
        return True
    if one.channel is not None:
        return one.channel.tag in fed
    instrument = str(one.path[1])
    return any(
        split_source(channel.table.source or "")[0] == instrument
        for tag, channel in draft.channels.items()
        if tag in fed
    )
