"""What the check command tells about modes, phases with rules, and abort criteria."""

from __future__ import annotations

from collections.abc import Iterator

from monitor.channels.plan import Voted
from monitor.limits.plan import Limit
from monitor.stand.combination_plan import spelled_out
from monitor.stand.model import AbortEntry, PhaseEntry, Stand

_S_PER_NS = 1e-9


def describe_places(stand: Stand) -> list[str]:
    """Give a line for the modes, and one for each phase that has rules."""
    lines = [f"modes: {', '.join(mode.name for mode in stand.modes)}"] if stand.modes else []
    for phase in stand.phases:
        rules = list(_rules(phase))
        if rules:
            lines.append(f"  {phase.name}: {'; '.join(rules)}")
    return lines


def _rules(phase: PhaseEntry) -> Iterator[str]:
    """Say what is so about a phase."""
    if phase.sort != "test":
        yield f"sort {phase.sort}"
    if phase.planned_s is not None:
        yield f"{phase.planned_s:g} s planned"
    if phase.longest_s is not None:
        yield f"{phase.longest_s:g} s at most, then what it suppresses is heard again"
    if phase.is_quiet:
        yield "only alarms that matter to safety speak"
    if phase.automatic:
        yield f"entered by itself {phase.automatic}"


def describe_aborts(stand: Stand) -> list[str]:
    """Give the abort criteria: condition, delay, safe state, and what each looks at."""
    position = {limit.id: number for number, limit in enumerate(stand.plan.limits)}
    return [
        line for entry in stand.aborts for line in _abort(stand, entry, position[entry.limit])
    ]


def _abort(stand: Stand, entry: AbortEntry, position: int) -> Iterator[str]:
    """Give the lines of one criterion."""
    limits, alarm = stand.plan.limits, stand.plan.alarms.alarms[position]
    yield f"abort criterion {alarm.tag} ({alarm.priority}): {entry.title}"
    yield f"  when {entry.when}"
    where = " or ".join(sorted(limits[position].watched_in))
    only = f"; only in {where}" if where else ""
    yield f"  {_delay(limits[position])}{only}; safe state: {entry.safe_state}"
    looked_at = [place for _, place in limits[position].inputs]
    for place in looked_at:
        looked_at += [more for _, more in limits[place].inputs if more not in looked_at]
        yield f"  {limits[place].id}: {', '.join(_terms(stand, place))}"


def _terms(stand: Stand, position: int) -> Iterator[str]:
    """Give vote, delay and what bad data does, of one limit."""
    limit, alarm = stand.plan.limits[position], stand.plan.alarms.alarms[position]
    if limit.condition is not None:
        ids = {name: stand.plan.limits[place].id for name, place in limit.inputs}
        yield spelled_out(limit.condition.text, ids)
    else:
        yield _vote(stand, alarm.tag)
    if limit.n_of_m[1]:
        yield f"{limit.n_of_m[0]} of {limit.n_of_m[1]} samples"
    yield _delay(limit)
    if limit.watched_in:
        yield f"only in {' or '.join(sorted(limit.watched_in))}"
    if limit.is_arming:
        yield "asleep until once inside its band"
    if limit.compares:
        after = f"raises it after {limit.bridge_ns * _S_PER_NS:g} s"
        yield f"bad data {after if limit.raises_on_bad else 'leaves it as it was'}"


def _delay(limit: Limit) -> str:
    return f"delay {limit.on_delay_ns * _S_PER_NS:g} s"


def _vote(stand: Stand, tag: str) -> str:
    """Say how many sensors decide."""
    for row in stand.plan.channels.computed:
        if row.tag == tag:
            if isinstance(row, Voted):
                return f"{row.needed} of {len(row.inputs)} sensors ({', '.join(row.inputs)})"
            return f"computed from {', '.join(tag for _, tag in row.inputs)}"
    is_measured = any(row.tag == tag for row in stand.plan.channels.measured)
    return "one sensor" if is_measured else "no sensor"
