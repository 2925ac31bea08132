"""Plans, drafts and rows for the tests of votes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from monitor.channels.compute import Computer
from monitor.channels.draft import Draft, Held, draft_of, held_at_start
from monitor.channels.plan import ChannelsPlan, Computed, System, Take, Voted
from tests.monitor.channels.made import START_NS, S, measured

Row = tuple[float, float, int]
Told = list[tuple[float, float | None, int]]


def plan_with(*rows: Computed | Voted) -> ChannelsPlan:
    """Make a plan of A, B, C, a system channel and *rows*."""
    return ChannelsPlan(
        tuple(measured(tag, f"gas.{tag}") for tag in "ABC"), (System("link:gas"),), rows
    )


def vote(take: Take = Take.VALUE, inputs: str = "ABC", needed: int = 2) -> Voted:
    """Make a voted channel V; votes are good for 2 s."""
    return Voted("V", tuple(inputs), needed, 2 * S, take)


def filled(plan: ChannelsPlan, rows: Mapping[str, Sequence[Row]], held: Held | None) -> Draft:
    """Give a draft in which some columns have rows of (seconds, value, quality)."""
    height = max([1, *(len(some) for some in rows.values())])
    draft = draft_of(held or held_at_start(plan, START_NS), height, 3)
    for tag, some in rows.items():
        c = plan.column[tag]
        padded = [*some, *[some[-1]] * (height - len(some))]
        draft.grid.t_ns[:, c] = [START_NS + round(t * S) for t, _, _ in padded]
        draft.grid.value[:, c] = [x for _, x, _ in padded]
        draft.grid.quality[:, c] = [q for _, _, q in padded]
        draft.grid.count[c] = len(some)
    return draft


def told(plan: ChannelsPlan, draft: Draft, tag: str = "V") -> Told:
    """Give (seconds, value or None, quality) of a column's own rows."""
    c = plan.column[tag]
    n = int(draft.grid.count[c])
    t_s = ((draft.grid.t_ns[:n, c] - START_NS) / S).tolist()
    value = draft.grid.value[:n, c].tolist()
    triples = zip(t_s, value, draft.grid.quality[:n, c].tolist(), strict=True)
    return [(t, None if x != x else x, q) for t, x, q in triples]


def run(
    plan: ChannelsPlan, rows: Mapping[str, Sequence[Row]], held: Held | None = None
) -> Draft:
    """Compute one step."""
    with np.errstate(all="ignore"):
        return Computer(plan).run(filled(plan, rows, held))
