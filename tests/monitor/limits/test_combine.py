"""Tests for monitor.limits.combine.

Source: Hand-worked here; times in ns.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from monitor.limits.combine import Combinations, TimedPlace
from monitor.limits.condition import parse_condition
from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import NO_COLUMN, Kind, Limit, Place
from monitor.samples import Quality

A, B = 0, 1
GROUND, CLIMB = Place("ground"), Place("climb")
R, C = Turn.RAISED, Turn.CLEARED


def joined(text: str, inputs: dict[str, int], on_ns: int = 0, off_ns: int = 0) -> Limit:
    """Make a combination."""
    return Limit(
        f"{text}.combination",
        NO_COLUMN,
        Kind.COMBINATION,
        on_delay_ns=on_ns,
        off_delay_ns=off_ns,
        condition=parse_condition(text),
        inputs=tuple(inputs.items()),
    )


def stage(*joins: Limit) -> Combinations:
    """Make combinations behind two limits."""
    return Combinations(
        [Limit("A", 0, Kind.HIGH), Limit("B", 0, Kind.HIGH), *joins], 2, GROUND, 0
    )


def turns(t_ns: int, *edges: tuple[int, Turn]) -> list[Edge]:
    """Make edges at one instant."""
    return [Edge(t_ns, i, turn, t_ns, 1.0, 0, 1.0) for i, turn in edges]


def told(edges: list[Edge]) -> list[tuple[int, int, Turn]]:
    """Give time, limit and turn."""
    return [(edge.t_ns, edge.limit, edge.turn) for edge in edges]


AND = joined("a and b", {"a": A, "b": B}, on_ns=10, off_ns=5)


def test_it_comes_when_all_have_stood_together_for_its_delay() -> None:
    edges = [*turns(3, (A, R)), *turns(20, (B, R)), *turns(50, (A, C))]

    assert told(stage(AND).step(edges, [], 100)) == [(30, 2, R), (55, 2, C)]


def test_one_that_falls_in_between_restarts_the_delay() -> None:
    edges = [*turns(3, (A, R), (B, R)), *turns(12, (A, C)), *turns(13, (A, R))]

    assert told(stage(AND).step(edges, [], 100)) == [(23, 2, R)]


def test_its_edge_tells_when_they_began_to_stand_together_and_no_value() -> None:
    (edge,) = stage(AND).step([*turns(3, (A, R)), *turns(20, (B, R))], [], 100)

    assert (edge.onset_ns, edge.value, edge.quality) == (20, None, 0)
    assert edge.setpoint != edge.setpoint


@pytest.mark.parametrize(
    ("first", "second", "quality"),
    [
        (Quality.GOOD, Quality.GOOD, Quality.GOOD),
        (Quality.GOOD, Quality.FORCED, Quality.INPUT_UNCERTAIN),
        (Quality.STALE, Quality.FORCED, Quality.INPUT_BAD),
        (Quality.LINK_LOST, Quality.GOOD, Quality.INPUT_BAD),
    ],
)
def test_its_edge_says_when_bad_data_raised_one_of_them(
    first: Quality, second: Quality, quality: Quality
) -> None:
    edges = [Edge(3, A, R, 3, 1.0, first, 1.0), Edge(4, B, R, 4, 1.0, second, 1.0)]

    (edge,) = stage(AND).step(edges, [], 100)

    assert edge.quality == quality


def test_what_no_longer_stands_marks_nothing() -> None:
    lost = Edge(3, A, R, 3, None, Quality.STALE, 1.0)
    edges = [lost, *turns(5, (A, C)), *turns(6, (A, R), (B, R))]

    assert stage(AND).step(edges, [], 100)[0].quality == Quality.GOOD


def test_all_edges_of_one_instant_count_before_it_is_judged() -> None:
    one = stage(joined("a and b", {"a": A, "b": B}))
    one.step(turns(3, (A, R)), [], 5)

    assert one.step(turns(10, (B, R), (A, C)), [], 20) == []


def test_an_edge_at_the_very_instant_of_its_end_wins() -> None:
    edges = [*turns(3, (A, R), (B, R)), *turns(13, (B, C))]

    assert stage(AND).step(edges, [], 100) == []


def test_what_is_not_standing_at_the_start_makes_a_not_true() -> None:
    one = stage(joined("not a", {"a": A}, on_ns=10))

    assert told(one.step([], [], 100)) == [(11, 2, R)]


def test_nothing_is_told_of_the_start_itself() -> None:
    assert told(stage(joined("not a", {"a": A})).step([], [], 100)) == [(1, 2, R)]


def test_a_combination_of_a_combination_follows_at_the_same_instant() -> None:
    one = stage(AND, joined("c or b", {"c": 2, "b": B}), joined("not c", {"c": 2}, on_ns=99))
    edges = [*turns(3, (A, R), (B, R)), *turns(20, (B, C))]

    assert told(one.step(edges, [], 30)) == [(3, 3, R), (13, 2, R), (25, 2, C), (25, 3, C)]


@pytest.mark.parametrize("turn", [Turn.ARMED, Turn.PENDING_LOST])
def test_only_conditions_that_come_or_go_matter(turn: Turn) -> None:
    assert stage(joined("a", {"a": A})).step(turns(3, (A, turn)), [], 100) == []


@pytest.mark.parametrize("cut", range(2, 60, 3))
def test_where_a_step_ends_changes_nothing(cut: int) -> None:
    edges = [*turns(3, (A, R)), *turns(20, (B, R)), *turns(33, (A, C)), *turns(34, (A, R))]
    one, other = stage(AND), stage(AND)
    whole = other.step(edges, [], 100)

    first = one.step([edge for edge in edges if edge.t_ns <= cut], [], cut)
    restored = stage(AND)
    restored.load_state(one.state())
    rest = restored.step([edge for edge in edges if edge.t_ns > cut], [], 100)

    assert told([*first, *rest]) == told(whole)
    assert len(whole) >= 1


def test_an_edited_delay_holds_from_its_time_on() -> None:
    edges = [*turns(3, (A, R), (B, R)), *turns(40, (A, C)), *turns(50, (A, R))]
    one = stage(AND)
    one.edit(2, {"on_delay_s": 20e-9}, 45)

    assert told(one.step(edges, [], 100)) == [(13, 2, R), (45, 2, C), (70, 2, R)]
    assert (one.now(2).limit.on_delay_ns, one.now(2).is_edited) == (20, True)


def test_an_edited_delay_outlives_a_restart() -> None:
    one, other = stage(AND), stage(AND)
    one.edit(2, {"on_delay_s": 20e-9}, 1)
    one.step([], [], 2)
    other.load_state(one.state())

    assert told(other.step(turns(3, (A, R), (B, R)), [], 100)) == [(23, 2, R)]
    assert other.now(2).is_edited


def test_what_is_in_force_has_no_setpoint() -> None:
    now = stage(AND).now(2)

    assert (now.setpoint, now.limit, now.is_edited, now.is_asleep) == (None, AND, False, False)
    assert now.is_watched


# Watched in some places only.

IN_CLIMB = replace(joined("not a", {"a": A}, on_ns=10), watched_in=frozenset({"climb"}))


def test_elsewhere_it_is_not_watched() -> None:
    one = stage(IN_CLIMB)

    assert one.step(turns(3, (A, R)), [], 100) == []
    assert not one.now(2).is_watched


def test_it_begins_with_the_place_and_ends_with_it() -> None:
    places = [TimedPlace(50, CLIMB), TimedPlace(90, GROUND)]

    assert told(stage(IN_CLIMB).step([], places, 100)) == [(60, 2, R), (90, 2, C)]


def test_edges_at_the_instant_of_the_place_count_before_it_is_judged() -> None:
    assert stage(IN_CLIMB).step(turns(50, (A, R)), [TimedPlace(50, CLIMB)], 100) == []


def test_a_place_that_is_left_in_its_instant_was_never_there() -> None:
    places = [TimedPlace(50, CLIMB), TimedPlace(50, GROUND)]

    assert stage(IN_CLIMB).step([], places, 100) == []


def test_the_place_outlives_a_restart() -> None:
    one, other = stage(IN_CLIMB), stage(IN_CLIMB)
    one.step([], [TimedPlace(50, CLIMB)], 55)
    other.load_state(one.state())

    assert told(other.step([], [], 100)) == [(60, 2, R)]
    assert other.now(2).is_watched
