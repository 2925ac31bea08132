"""Tests for monitor.limits.delays.

Source: Hand-worked here: every pair of standing and sight, and the delays around them; the
rules are the project's own limit rules 2, 3 and 12 (DEVELOPERS.md).
"""

from __future__ import annotations

import itertools

import pytest

from monitor.limits.compare import Seen
from monitor.limits.delays import NEVER, Delays, Standing
from monitor.limits.edges import Turn
from monitor.limits.plan import Kind, Limit

SAMPLE = (1.0, 0, 0.5)
C, P, A = Standing.CLEAR, Standing.PENDING, Standing.ACTIVE
R, PB, CB = Standing.CLEARING, Standing.PENDING_BAD, Standing.CLEAR_BAD
TRUE, BETWEEN, RETURNED, BAD = Seen.TRUE, Seen.BETWEEN, Seen.RETURNED, Seen.BAD

#: How to get from clear to each standing, at times 0, 1, ...
WAYS = {C: [], P: [TRUE], A: [TRUE] + [TRUE] * 11, R: [TRUE] * 12 + [RETURNED],
        PB: [TRUE, BAD], CB: [BAD]}  # fmt: skip

AFTER = {
    (C, TRUE): P, (C, BETWEEN): C, (C, RETURNED): C, (C, BAD): CB,
    (P, TRUE): P, (P, BETWEEN): C, (P, RETURNED): C, (P, BAD): PB,
    (A, TRUE): A, (A, BETWEEN): A, (A, RETURNED): R, (A, BAD): A,
    (R, TRUE): A, (R, BETWEEN): A, (R, RETURNED): R, (R, BAD): A,
    (PB, TRUE): P, (PB, BETWEEN): C, (PB, RETURNED): C, (PB, BAD): PB,
    (CB, TRUE): P, (CB, BETWEEN): C, (CB, RETURNED): C, (CB, BAD): CB,
}  # fmt: skip


def delays(*, raises_on_bad: bool = True) -> Delays:
    """Make one limit: on-delay 10, off-delay 10, bridge 10, in ns."""
    limit = Limit("A", 0, Kind.HIGH, 0.5, {}, 0.0, 10, 10, 10, raises_on_bad)
    return Delays([limit])


def show(one: Delays, seen: list[Seen], start_ns: int = 0) -> None:
    """Show samples one ns apart."""
    for k, what in enumerate(seen):
        one.see(0, start_ns + k, what, SAMPLE)


@pytest.mark.parametrize(("standing", "seen"), list(itertools.product(Standing, Seen)))
def test_every_pair_of_standing_and_sight(standing: Standing, seen: Seen) -> None:
    one = delays()
    show(one, WAYS[standing])
    before = Standing(one.standing[0])

    one.see(0, len(WAYS[standing]), seen, SAMPLE)

    assert (before, one.standing[0]) == (standing, AFTER[standing, seen])


def test_bad_data_while_clear_starts_nothing_where_it_does_not_raise() -> None:
    one = delays(raises_on_bad=False)

    show(one, [BAD])

    assert (one.standing[0], one.next_due_ns()) == (C, NEVER)


@pytest.mark.parametrize(("raises", "turn"), [(True, Turn.RAISED), (False, Turn.PENDING_LOST)])
def test_what_the_end_of_the_bridge_does_to_a_pending_limit(raises: bool, turn: Turn) -> None:
    one = delays(raises_on_bad=raises)
    show(one, [TRUE, BAD])

    one.run_until(11)

    assert [(edge.t_ns, edge.turn) for edge in one.take_edges()] == [(11, turn)]


def test_frozen_time_is_not_counted() -> None:
    one = delays()
    show(one, [TRUE, TRUE, BAD])
    one.see(0, 7, TRUE, SAMPLE)

    assert one.next_due_ns() == 15


def test_a_delay_of_nothing_still_lets_a_reading_of_the_same_instant_win() -> None:
    one = Delays([Limit("A", 0, Kind.HIGH, 0.5)])
    one.see(0, 5, TRUE, SAMPLE)
    one.see(0, 5, RETURNED, SAMPLE)

    one.run_until(9)

    assert one.take_edges() == []


def test_edges_come_in_time_order_and_then_in_the_plans_order() -> None:
    limits = [Limit(x, 0, Kind.HIGH, 0.5, on_delay_ns=d) for x, d in (("A", 9), ("B", 3))]
    one = Delays([*limits, Limit("C", 0, Kind.HIGH, 0.5, on_delay_ns=3)])
    for i in (2, 1, 0):
        one.see(i, 0, TRUE, SAMPLE)

    one.run_until(20)

    assert [(edge.t_ns, edge.limit) for edge in one.take_edges()] == [(3, 1), (3, 2), (9, 0)]
