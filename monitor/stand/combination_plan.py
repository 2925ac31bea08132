"""From the combinations and abort criteria of a draft to limits, alarms and their list.

What a file does not show:

* A combination has no delay unless one is written; the limits in it have theirs already.
* Inputs come before those that use them; else the order is that of the file, abort criteria
  last.
* The limits that an abort criterion looks at take bad data for the worst: it raises them after
  the bridge, unless their table says ``on_bad = "hold"``. Not so a limit under a ``not``, whose
  raising would blind the criterion.
* When a combination turned is known no better than the slowest of its inputs, so in a first-out
  group it is put in order only with what is further apart than that.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from monitor.alarms.plan import Alarm
from monitor.limits.condition import parse_condition
from monitor.limits.plan import NO_COLUMN, Kind, Limit
from monitor.stand.alarm_names import Named, abort_id, alarm_names
from monitor.stand.alarm_plan import Pair, pair_of
from monitor.stand.draft import Draft
from monitor.stand.figures import ns
from monitor.stand.model import AbortEntry
from monitor.stand.polarity import signed_names
from monitor.stand.schema_limits import WatchTable
from monitor.stand.schema_phases import AbortTable, CombinationTable

_NAME = re.compile(r"[A-Za-z_]\w*")


def combination_pairs(draft: Draft, before: Sequence[Pair]) -> list[Pair]:
    """Give every limit with its alarm: those *before*, then combinations and abort criteria.

    Args:
        draft: A stand without mistakes.
        before: All other limits of the plan, in its order.
    """
    names = alarm_names(draft)
    raised = raised_by_bad_data(draft, names)
    pairs = [_raising(pair) if pair.limit.id in raised else pair for pair in before]
    position = {pair.limit.id: number for number, pair in enumerate(pairs)}
    for one in in_order(names):
        position[one.id] = len(pairs)
        pairs.append(_pair(one, position, pairs))
    return pairs


def in_order(names: Mapping[str, Named]) -> list[Named]:
    """Give combinations and abort criteria, inputs before those that use them.

    Where they go round in a loop, each is there all the same, in some order.
    """
    found: dict[str, Named] = {}
    begun: set[str] = set()

    # Not by calling itself: a chain of inputs may be longer than calls can be deep.
    waiting = [*names.values()][::-1]
    while waiting:
        one = waiting[-1]
        if isinstance(one.table, CombinationTable) and one.id not in begun:
            begun.add(one.id)
            inputs = [names[name] for name in one.table.inputs.values() if name in names]
            waiting += inputs[::-1]
            continue
        waiting.pop()
        if one.id in begun:
            found.setdefault(one.id, one)
    return list(found.values())


def abort_entries(draft: Draft) -> tuple[AbortEntry, ...]:
    """List the abort criteria for people."""
    names = alarm_names(draft)
    return tuple(
        AbortEntry(
            limit=abort_id(tag),
            title=table.title or tag,
            when=spelled_out(table.when, table.inputs),
            safe_state=table.safe_state,
            looks_at=tuple(looked_at(names, abort_id(tag))),
        )
        for tag, table in draft.aborts.items()
    )


def looked_at(names: Mapping[str, Named], name: str) -> list[str]:
    """Give the limits that a combination looks at, through other combinations too."""
    return list(signs_of(names, [name]))


def raised_by_bad_data(draft: Draft, names: Mapping[str, Named]) -> frozenset[str]:
    """Give the limits that bad data raises because an abort criterion looks at them."""
    signs = signs_of(names, [abort_id(tag) for tag in draft.aborts])
    return frozenset(
        one
        for one, is_negated in signs.items()
        if is_negated == {False} and _is_open(names[one])
    )


def _is_open(one: Named) -> bool:
    """Tell whether a limit looks at values and leaves open what bad data does."""
    return isinstance(one.table, WatchTable) and one.table.on_bad is None


def signs_of(names: Mapping[str, Named], roots: Iterable[str]) -> dict[str, set[bool]]:
    """Give the limits that *roots* look at, each with whether it counts negated.

    Through other combinations too, which are not among them.
    """
    found: dict[str, set[bool]] = {}
    waiting = [(root, False) for root in roots]
    seen = set(waiting)
    for name, is_negated in waiting:
        table = names[name].table if name in names else None
        if not isinstance(table, CombinationTable):
            found.setdefault(name, set()).add(is_negated)
            continue
        for needed, sign in signed_names(table.when):
            step = (table.inputs[needed], is_negated != sign)
            if step not in seen:
                seen.add(step)
                waiting.append(step)
    return found


def spelled_out(text: str, ids: Mapping[str, str]) -> str:
    """Give a condition with *ids* of limits in place of the names in it."""
    return _NAME.sub(lambda found: ids.get(found[0], found[0]), text.strip())


def _raising(pair: Pair) -> Pair:
    """Let bad data raise a limit."""
    return Pair(replace(pair.limit, raises_on_bad=True), pair.alarm)


def _pair(one: Named, position: Mapping[str, int], pairs: Sequence[Pair]) -> Pair:
    """Make one combination with its alarm."""
    table = one.table
    assert isinstance(table, CombinationTable)
    condition = parse_condition(table.when)
    inputs = tuple((name, position[table.inputs[name]]) for name in condition.names)
    limit = Limit(
        id=one.id,
        column=NO_COLUMN,
        kind=Kind.COMBINATION,
        on_delay_ns=ns(table.on_delay_s or 0.0),
        off_delay_ns=ns(table.off_delay_s or 0.0),
        watched_in=frozenset(table.watched_in),
        condition=condition,
        inputs=inputs,
    )
    return pair_of(limit, _alarm(one, table, [pairs[place] for _, place in inputs]), table)


def _alarm(one: Named, table: CombinationTable, inputs: Sequence[Pair]) -> Alarm:
    """Say what a combination means where its table does not."""
    tag = str(one.path[1])
    safe_state = table.safe_state if isinstance(table, AbortTable) else ""
    return Alarm(
        id=one.id,
        tag=tag,
        priority=table.priority,
        message=table.title or f"{tag}: {spelled_out(table.when, table.inputs)}",
        response=f"Bring about: {safe_state}" if safe_state else "",
        period_ns=max(map(_slowness_ns, inputs)),
        safe_state=safe_state,
    )


def _slowness_ns(pair: Pair) -> int:
    """Give how long after the matter itself an input may turn."""
    return pair.limit.on_delay_ns + pair.alarm.lag_ns + pair.alarm.period_ns
