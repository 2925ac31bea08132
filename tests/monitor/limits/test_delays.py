"""Tests for monitor.limits.delays.

Source: Hand-worked here: every pair of standing and sight, and the delays around them; the
rules are the project's own limit rules 2, 3 and 12 (DEVELOPERS.md).
"""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from monitor.limits.compare import Seen
from monitor.limits.delays import NEVER, Delays, Standing
from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import Kind, Limit

SAMPLE = (1.0, 0, 0.5)
C, P, A = Standing.CLEAR, Standing.PENDING, Standing.ACTIVE
R, PB, CB = Standing.CLEARING, Standing.PENDING_BAD, Standing.CLEAR_BAD
S, D, IDLE = Standing.ASLEEP, Standing.DONE, Standing.IDLE
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
    (S, TRUE): S, (S, BETWEEN): S, (S, RETURNED): C, (S, BAD): S,
    (D, TRUE): D, (D, BETWEEN): D, (D, RETURNED): D, (D, BAD): D,
    (IDLE, TRUE): IDLE, (IDLE, BETWEEN): IDLE, (IDLE, RETURNED): IDLE, (IDLE, BAD): IDLE,
}  # fmt: skip


#: On-delay 10, off-delay 10, bridge 10, in ns.
LIMIT = Limit("A", 0, Kind.HIGH, 0.5, {}, 0.0, 10, 10, 10, True)


def delays(*, raises_on_bad: bool = True) -> Delays:
    """Make one limit."""
    return Delays([replace(LIMIT, raises_on_bad=raises_on_bad)])


def show(one: Delays, seen: list[Seen], start_ns: int = 0) -> None:
    """Show samples one ns apart."""
    for k, what in enumerate(seen):
        one.see(0, start_ns + k, what, SAMPLE)


def standing_at(standing: Standing) -> Delays:
    """Make one limit that stands so."""
    one = delays()
    if standing in WAYS:
        show(one, WAYS[standing])
    else:
        one.standing[0] = standing
    return one


@pytest.mark.parametrize(("standing", "seen"), list(itertools.product(Standing, Seen)))
def test_every_pair_of_standing_and_sight(standing: Standing, seen: Seen) -> None:
    one = standing_at(standing)
    before = Standing(one.standing[0])

    one.see(0, len(WAYS.get(standing, [])), seen, SAMPLE)

    assert (before, one.standing[0]) == (standing, AFTER[standing, seen])


#: Where what must come once goes; from clear it is pending from the start.
ONCE_AFTER = {(C, RETURNED): D, (P, RETURNED): D, (P, TRUE): P, (A, RETURNED): R, (A, TRUE): A}


@pytest.mark.parametrize(("standing", "seen"), list(ONCE_AFTER))
def test_what_must_come_once_is_done_when_it_came(standing: Standing, seen: Seen) -> None:
    one = standing_at(standing)
    one.change(0, replace(LIMIT, is_once=True))

    one.see(0, len(WAYS[standing]), seen, SAMPLE)

    assert one.standing[0] == ONCE_AFTER[standing, seen]


def test_what_came_late_is_done_when_its_alarm_has_cleared() -> None:
    one = standing_at(R)
    one.change(0, replace(LIMIT, is_once=True))

    one.run_until(100)

    assert [edge.turn for edge in one.take_edges()] == [Turn.RAISED, Turn.CLEARED]
    assert one.standing[0] == D


def test_a_limit_that_wakes_says_so_with_the_sample() -> None:
    one = standing_at(S)

    one.see(0, 7, RETURNED, (1.5, 0, 2.0))

    assert one.take_edges() == [Edge(7, 0, Turn.ARMED, 7, 1.5, 0, 2.0)]


@pytest.mark.parametrize(
    ("standing", "turns"),
    [(C, []), (P, []), (A, [Turn.RAISED, Turn.CLEARED]), (R, [Turn.RAISED, Turn.CLEARED]),
     (PB, []), (CB, []), (S, []), (D, []), (IDLE, [])],
)  # fmt: skip
def test_a_limit_that_is_watched_no_more_clears(standing: Standing, turns: list[Turn]) -> None:
    one = standing_at(standing)

    one.leave(0, len(WAYS.get(standing, [])), SAMPLE)

    assert ([edge.turn for edge in one.take_edges()], one.standing[0]) == (turns, IDLE)
    assert one.next_due_ns() == NEVER


def test_a_delay_that_ends_before_the_leaving_still_counts() -> None:
    one = standing_at(P)

    one.leave(0, 11, SAMPLE)

    told = [(edge.t_ns, edge.turn) for edge in one.take_edges()]
    assert told == [(10, Turn.RAISED), (11, Turn.CLEARED)]


def test_a_delay_that_ends_at_the_leaving_does_not() -> None:
    one = standing_at(P)

    one.leave(0, 10, SAMPLE)

    assert one.take_edges() == []


@pytest.mark.parametrize(("is_arming", "standing"), [(False, P), (True, S)])
def test_a_limit_that_is_watched_again_starts_afresh(
    is_arming: bool, standing: Standing
) -> None:
    one = standing_at(IDLE)
    one.change(0, replace(LIMIT, is_arming=is_arming))

    one.watch(0, 20, TRUE, SAMPLE)

    assert one.standing[0] == standing


def test_a_changed_delay_counts_from_its_next_start() -> None:
    one = standing_at(P)
    one.change(0, replace(LIMIT, on_delay_ns=50))
    assert one.next_due_ns() == 10

    one.see(0, 5, RETURNED, SAMPLE)
    one.see(0, 6, TRUE, SAMPLE)

    assert one.next_due_ns() == 56


def test_an_onset_may_lie_before_the_sample_that_tells() -> None:
    one = delays()

    one.see_since(0, 30, TRUE, (21, 3.0, 0, 0.5))
    one.run_until(40)

    (edge,) = one.take_edges()
    assert (edge.t_ns, edge.onset_ns, edge.value) == (40, 21, 3.0)


def test_an_onset_that_is_known_stays() -> None:
    one = standing_at(P)

    one.see_since(0, 5, TRUE, (4, 3.0, 0, 0.5))
    one.run_until(40)

    assert one.take_edges()[0].onset_ns == 0


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
