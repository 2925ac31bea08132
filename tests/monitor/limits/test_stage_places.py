"""Tests for monitor.limits.stage.

Source: Hand-worked here, from the project's own limit rules 20 to 23 and 26 (DEVELOPERS.md).
"""

from __future__ import annotations

from math import isnan

import pytest

from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import NO_COLUMN, Kind, Limit, Place
from monitor.limits.stage import Limits
from tests.monitor.limits.made import Q, Row, S, good, grid_of, limit

R, C, ARMED = Turn.RAISED, Turn.CLEARED, Turn.ARMED
GROUND, CLIMB, HOLD = Place("ground"), Place("climb"), Place("hold")


class Bench:
    """One limit, and what it told: (seconds, turn)."""

    def __init__(self, one: Limit, place: Place = GROUND) -> None:
        self.stage = Limits([one], 1, place, 0)
        self.edges: list[Edge] = []

    def rows(self, *rows: Row, until_s: float | None = None) -> None:
        """Show rows, up to the last one or *until_s*."""
        end_s = rows[-1][0] if until_s is None else until_s
        self.edges += self.stage.step(grid_of(rows), round(end_s * S))

    def enter(self, place: Place, t_s: float, *, is_phase: bool = True) -> None:
        """Be in another place, with all rows before it shown."""
        self.edges += self.stage.step(grid_of([]), round(t_s * S) - 1)
        self.edges += self.stage.enter(place, round(t_s * S), is_phase=is_phase)

    def edit(self, t_s: float, **changes: float) -> None:
        """Edit the limit."""
        self.edges += self.stage.edit(0, changes, round(t_s * S))

    @property
    def told(self) -> list[tuple[float, Turn]]:
        """Give what was told."""
        return [(edge.t_ns / S, edge.turn) for edge in self.edges]


# Watched in some places only.

IN_CLIMB = limit(watched_in=frozenset({"climb"}), on_delay_s=2, off_delay_s=2)


def test_elsewhere_it_is_not_watched() -> None:
    bench = Bench(IN_CLIMB)
    bench.rows(*good((1, 160), (2, 160)), until_s=60)

    assert bench.told == []
    assert not bench.stage.now(0).is_watched


def test_what_is_held_counts_from_the_entry_on() -> None:
    bench = Bench(IN_CLIMB)
    bench.rows(*good((1, 160)), until_s=9)
    bench.enter(CLIMB, 10)
    bench.rows(*good((11, 160)), until_s=20)

    assert bench.told == [(12, R)]
    assert bench.edges[0].onset_ns == 10 * S


def test_leaving_clears_what_is_active_at_that_instant() -> None:
    bench = Bench(IN_CLIMB, CLIMB)
    bench.rows(*good((1, 160)), until_s=9)
    bench.enter(HOLD, 10)

    assert bench.told == [(3, R), (10, C)]
    assert (bench.edges[1].value, bench.edges[1].onset_ns) == (160.0, 10 * S)


def test_leaving_ends_what_is_pending_without_a_word() -> None:
    bench = Bench(IN_CLIMB, CLIMB)
    bench.rows(*good((9, 160)))
    bench.enter(HOLD, 10)
    bench.rows(*good((12, 160)), until_s=30)

    assert bench.told == []


def test_a_mode_is_a_place_too() -> None:
    bench = Bench(limit(watched_in=frozenset({"loop_only"})), Place("climb", "normal"))
    bench.rows(*good((1, 160)))
    bench.enter(Place("climb", "loop_only"), 5, is_phase=False)
    bench.rows(*good((6, 160)))
    bench.enter(Place("climb", "normal"), 8, is_phase=False)

    assert bench.told == [(5, R), (8, C)]


def test_from_one_watched_place_to_another_it_just_goes_on() -> None:
    bench = Bench(limit(watched_in=frozenset({"climb", "hold"}), on_delay_s=4), CLIMB)
    bench.rows(*good((1, 160)))
    bench.enter(HOLD, 3)
    bench.rows(*good((4, 160)), until_s=9)

    assert bench.told == [(5, R)]


def test_a_bad_value_that_is_held_at_the_entry_raises_where_bad_data_does() -> None:
    one = limit(watched_in=frozenset({"climb"}), raises_on_bad=True, bridge_s=3)
    bench = Bench(one)
    bench.rows((1, float("nan"), Q.STALE))
    bench.enter(CLIMB, 10)
    bench.rows(until_s=20)

    assert bench.told == [(13, R)]


def test_nothing_held_is_not_bad_data() -> None:
    bench = Bench(limit(watched_in=frozenset({"climb"}), raises_on_bad=True, bridge_s=3))
    bench.enter(CLIMB, 10)
    bench.rows(until_s=20)

    assert bench.told == []


def test_what_counts_from_the_phase_says_nothing_of_the_next_one_until_its_next_row() -> None:
    one = limit(watched_in=frozenset({"climb", "hold"}), kind=Kind.DEVIATION)
    bench = Bench(one, GROUND)
    bench.stage = Limits([one], 1, GROUND, 0, of_phase=[0])
    bench.rows(*good((1, 160)))
    bench.enter(CLIMB, 5)
    bench.rows(*good((6, 160)), until_s=7)
    bench.enter(HOLD, 10)
    bench.rows(*good((11, 100)), until_s=12)

    assert bench.told == [(6, R), (11, C)]


# Rule 22: expected and absent.

EXPECTED = Limit(
    "ZS-1.expected", 0, Kind.EXPECTED, 0.5, on_delay_ns=60 * S, is_once=True,
    watched_in=frozenset({"climb"}),
)  # fmt: skip


def test_what_does_not_come_in_time_is_an_alarm_dated_from_the_entry() -> None:
    bench = Bench(EXPECTED)
    bench.rows(*good((1, 0), (2, 0)), until_s=99)
    bench.enter(CLIMB, 100)
    bench.rows(*good((130, 0)), until_s=200)

    assert bench.told == [(160, R)]
    assert bench.edges[0].onset_ns == 100 * S


def test_what_comes_in_time_is_none_and_may_go_again() -> None:
    bench = Bench(EXPECTED, CLIMB)
    bench.rows(*good((1, 0), (59, 1), (61, 0), (200, 0)), until_s=500)

    assert bench.told == []


def test_what_was_there_before_the_entry_has_come() -> None:
    bench = Bench(EXPECTED)
    bench.rows(*good((1, 1)))
    bench.enter(CLIMB, 100)
    bench.rows(*good((110, 0)), until_s=500)

    assert bench.told == []


def test_what_comes_late_clears_its_alarm_and_is_done() -> None:
    bench = Bench(EXPECTED, CLIMB)
    bench.rows(*good((1, 0), (70, 1), (71, 0)), until_s=500)

    assert bench.told == [(60, R), (70, C)]


@pytest.mark.parametrize("row", [(50.0, float("nan"), Q.STALE), None])
def test_what_cannot_be_seen_has_not_come(row: Row | None) -> None:
    bench = Bench(EXPECTED, CLIMB)
    if row is not None:
        bench.rows(row)
    bench.rows(until_s=100)

    assert bench.told == [(60, R)]


def test_the_same_phase_entered_again_expects_it_anew() -> None:
    bench = Bench(EXPECTED, CLIMB)
    bench.rows(*good((10, 1), (20, 0)))
    bench.enter(CLIMB, 100)
    bench.rows(*good((110, 0)), until_s=200)

    assert bench.told == [(160, R)]


def test_a_mode_entered_in_between_does_not() -> None:
    bench = Bench(EXPECTED, Place("climb", "normal"))
    bench.rows(*good((10, 1), (20, 0)))
    bench.enter(Place("climb", "loop_only"), 100, is_phase=False)
    bench.rows(until_s=200)

    assert bench.told == []


def test_a_value_at_the_setpoint_has_not_come() -> None:
    bench = Bench(EXPECTED, CLIMB)
    bench.rows(*good((10, 0.5)), until_s=100)

    assert bench.told == [(60, R)]


# Rule 23: arming.

ARMING = limit(is_arming=True, kind=Kind.LOW, setpoint=50.0, deadband=2.0, on_delay_s=1)


def test_a_limit_sleeps_until_its_value_was_inside_the_band() -> None:
    bench = Bench(ARMING)
    bench.rows(*good((1, 10), (5, 51.9), (6, 52.1), (7, 52.1), (8, 10)), until_s=20)

    assert bench.told == [(6, ARMED), (9, R)]
    assert bench.edges[0].value == 52.1


def test_while_it_sleeps_it_says_so() -> None:
    bench = Bench(ARMING)
    assert bench.stage.now(0).is_asleep

    bench.rows(*good((6, 60)))

    assert not bench.stage.now(0).is_asleep


def test_an_awake_limit_stays_awake() -> None:
    bench = Bench(ARMING)
    bench.rows(*good((1, 60), (2, 10), (5, 60), (6, 10)), until_s=20)

    assert bench.told == [(1, ARMED), (3, R), (5, C), (7, R)]


def test_bad_data_neither_wakes_nor_raises_what_sleeps() -> None:
    bench = Bench(limit(is_arming=True, raises_on_bad=True, bridge_s=1))
    bench.rows((1, float("nan"), Q.STALE), until_s=20)

    assert bench.told == []


def test_what_is_watched_again_has_to_arm_again() -> None:
    one = limit(is_arming=True, watched_in=frozenset({"climb"}))
    bench = Bench(one, CLIMB)
    bench.rows(*good((1, 100), (2, 160)), until_s=3)
    bench.enter(GROUND, 10)
    bench.enter(CLIMB, 20)
    bench.rows(*good((21, 160), (22, 100), (23, 160)), until_s=30)

    assert bench.told == [(1, ARMED), (2, R), (10, C), (22, ARMED), (23, R)]


# A phase that lasts.

OVERLONG = Limit(
    "phase:climb.phase_overlong", NO_COLUMN, Kind.PHASE_OVERLONG, on_delay_ns=30 * S,
    watched_in=frozenset({"climb"}),
)  # fmt: skip


def test_a_phase_that_lasts_too_long_is_told_when_its_time_is_over() -> None:
    bench = Bench(OVERLONG)
    bench.enter(CLIMB, 100)
    bench.rows(until_s=200)
    bench.enter(HOLD, 300)

    assert bench.told == [(130, R), (300, C)]


def test_the_same_phase_entered_again_begins_its_time_anew() -> None:
    bench = Bench(OVERLONG)
    bench.enter(CLIMB, 100)
    bench.enter(CLIMB, 120)
    bench.rows(until_s=149)

    assert bench.told == []


# Rule 21: another setpoint in mid-run.


@pytest.mark.parametrize(
    ("value", "setpoint", "told"),
    [
        # Active stays the same occurrence down to new setpoint - deadband.
        (160, 155.0, [(1, R)]),
        (160, 162.0, [(1, R)]),
        (160, 164.0, [(1, R)]),
        (160, 164.5, [(1, R), (10, C)]),
        # Inactive stays so up to the new setpoint.
        (149, 149.0, []),
        (149, 148.9, [(10, R)]),
    ],
)
def test_an_edited_setpoint_judges_what_is_held_at_its_instant(
    value: float, setpoint: float, told: list[tuple[float, Turn]]
) -> None:
    bench = Bench(limit())
    bench.rows(*good((1, value)), until_s=9)
    bench.edit(10, setpoint=setpoint)
    bench.rows(until_s=20)

    assert bench.told == told


def test_pending_goes_on_only_if_true_under_both() -> None:
    bench = Bench(limit(on_delay_s=5))
    bench.rows(*good((1, 160)), until_s=2)
    bench.edit(3, setpoint=155.0)
    bench.rows(until_s=4)
    bench.edit(5, setpoint=165.0)
    bench.rows(until_s=20)

    assert bench.told == []


def test_a_newly_true_one_starts_its_delay_at_the_edit() -> None:
    bench = Bench(limit(on_delay_s=5))
    bench.rows(*good((1, 149)), until_s=2)
    bench.edit(3, setpoint=140.0)
    bench.rows(until_s=20)

    assert bench.told == [(8, R)]


def test_an_edited_deadband_counts_at_once() -> None:
    bench = Bench(limit())
    bench.rows(*good((1, 160), (2, 147)), until_s=3)
    bench.edit(4, deadband=1.0)
    bench.rows(until_s=20)

    assert bench.told == [(1, R), (4, C)]


def test_an_edited_delay_holds_from_its_next_start() -> None:
    bench = Bench(limit(on_delay_s=5))
    bench.rows(*good((1, 160)), until_s=2)
    bench.edit(3, on_delay_s=1.0)
    bench.rows(*good((10, 100), (11, 160)), until_s=20)

    assert bench.told == [(6, R), (10, C), (12, R)]


def test_an_edit_outlives_a_restart_and_shows_what_is_in_force() -> None:
    bench, other = Bench(limit()), Bench(limit())
    bench.edit(1, setpoint=120.0)
    other.stage.load_state(bench.stage.state())
    other.rows(*good((2, 130)))

    assert other.told == [(2, R)]
    now = other.stage.now(0)
    assert (now.setpoint, now.is_edited, now.limit.setpoint) == (120.0, True, 120.0)


def test_what_compares_nothing_has_no_setpoint_in_force() -> None:
    assert Bench(limit(kind=Kind.STALE)).stage.now(0).setpoint is None


def test_an_edit_of_what_is_not_watched_waits() -> None:
    bench = Bench(IN_CLIMB)
    bench.rows(*good((1, 145)))
    bench.edit(5, setpoint=140.0)
    bench.rows(until_s=20)
    bench.enter(CLIMB, 30)
    bench.rows(until_s=60)

    assert bench.told == [(32, R)]


def test_the_place_and_what_sleeps_outlive_a_restart() -> None:
    bench, other = Bench(ARMING), Bench(ARMING)
    bench.enter(CLIMB, 1)
    other.stage.load_state(bench.stage.state())

    assert other.stage.place == CLIMB
    assert other.stage.now(0).is_asleep


def test_no_setpoint_is_not_a_number_in_an_edge_of_a_phase() -> None:
    bench = Bench(OVERLONG, CLIMB)
    bench.rows(until_s=60)

    assert isnan(bench.edges[0].setpoint)
    assert bench.edges[0].value is None
