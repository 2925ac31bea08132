"""Tests for monitor.limits.stage.

Source: Hand-worked here, rule by rule, from the project's own limit rules (DEVELOPERS.md);
the deadband figures of ``test_deadband_of_two_percent`` are a handbook's starting points.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.limits.edges import Turn
from monitor.limits.plan import Kind, Place
from monitor.limits.stage import Limits
from monitor.samples import Quality
from tests.monitor.limits.made import S, edges, good, grid_of, limit, run

Q = Quality


def test_a_value_at_the_setpoint_is_normal_and_one_above_is_not() -> None:
    rows = good((1, 150.0), (2, np.nextafter(150.0, 151)))

    assert run(limit(), rows, 3) == [(2.0, Turn.RAISED)]


def test_a_value_at_the_clearing_value_stays_and_one_below_clears() -> None:
    rows = good((1, 151.0), (2, 146.0), (3, np.nextafter(146.0, 0)))

    assert run(limit(), rows, 4) == [(1.0, Turn.RAISED), (3.0, Turn.CLEARED)]


def test_a_low_limit_is_the_mirror_of_a_high_one() -> None:
    low = limit(kind=Kind.LOW)
    rows = good((1, 150.0), (2, 149.0), (3, 154.0), (4, 154.1))

    assert run(low, rows, 5) == [(2.0, Turn.RAISED), (4.0, Turn.CLEARED)]


@pytest.mark.parametrize(("value", "clears"), [(146.5, False), (145.9, True)])
def test_deadband_of_two_percent(value: float, clears: bool) -> None:
    """A 0-200 kPa channel, H = 150, deadband 2 % = 4 kPa (handbook starting point)."""
    turns = run(limit(), good((1, 160.0), (2, value)), 3)

    assert (len(turns) == 2) is clears


def test_the_deadband_does_not_hold_a_pending_limit() -> None:
    rows = good((0, 150.1), *((t, 148.0) for t in range(1, 17)))

    assert run(limit(on_delay_s=15), rows, 20) == []


def test_the_delay_runs_from_the_onset_and_the_edge_tells_both_times() -> None:
    rows = good((1, 151.0), (2, 152.0), (3, 153.0), (7, 154.0))

    (edge,) = edges(limit(on_delay_s=5), rows, 7)

    assert (edge.t_ns, edge.onset_ns, edge.value) == (6 * S, 1 * S, 151.0)


def test_a_reading_at_the_end_of_the_delay_wins_over_the_timer() -> None:
    rows = good((1, 151.0), (6, 149.0))

    assert run(limit(on_delay_s=5), rows, 10) == []


def test_a_delay_ends_only_when_w_has_reached_its_end() -> None:
    stage = Limits([limit(on_delay_s=5)], 1, Place("ground"), 0)
    before = stage.step(grid_of(good((0, 151.0), (4, 151.0))), 5 * S - 1)

    late_pack = stage.step(grid_of([]), 5 * S)

    assert (before, [edge.t_ns for edge in late_pack]) == ([], [5 * S])


def test_a_late_pack_handed_over_in_time_prevents_the_alarm() -> None:
    stage = Limits([limit(on_delay_s=5)], 1, Place("ground"), 0)
    stage.step(grid_of(good((0, 151.0), (4, 151.0))), 4 * S + 1)

    assert stage.step(grid_of(good((4.5, 149.0))), 10 * S) == []


def test_the_off_delay_restarts_on_a_value_within_the_deadband() -> None:
    rows = good((0, 151.0), (1, 145.0), (2, 147.0), (3, 145.0), (7, 145.0))

    turns = run(limit(off_delay_s=3), rows, 10)

    assert turns == [(0.0, Turn.RAISED), (6.0, Turn.CLEARED)]


def test_bad_while_pending_freezes_the_delay_within_the_bridge() -> None:
    rows = [*good((0, 151.0), (2, 151.0)), (3, np.nan, Q.CURRENT_FAULT), *good((4, 151.0))]

    assert run(limit(on_delay_s=5, bridge_s=2), rows, 10) == [(6.0, Turn.RAISED)]


def test_bad_beyond_the_bridge_loses_the_pending_delay_and_says_so() -> None:
    rows = [*good((0, 151.0)), (3, np.nan, Q.STALE), *good((5.5, 151.0))]

    turns = run(limit(on_delay_s=5, bridge_s=2), rows, 10.4)

    assert turns == [(5.0, Turn.PENDING_LOST)]


def test_a_reading_at_the_end_of_the_bridge_resumes_the_delay() -> None:
    rows = [*good((0, 151.0)), (3, np.nan, Q.STALE), *good((5, 151.0))]

    assert run(limit(on_delay_s=5, bridge_s=2), rows, 10) == [(7.0, Turn.RAISED)]


def test_bad_data_raises_after_the_bridge_where_that_is_asked_for() -> None:
    rows = [*good((0, 100.0)), (3, np.nan, Q.LINK_LOST)]

    (edge,) = edges(limit(bridge_s=2, raises_on_bad=True), rows, 9)

    assert (edge.t_ns, edge.onset_ns, edge.value) == (5 * S, 3 * S, None)


def test_good_data_within_the_bridge_keeps_a_raising_limit_quiet() -> None:
    rows = [*good((0, 100.0)), (3, np.nan, Q.LINK_LOST), *good((4, 100.0))]

    assert run(limit(bridge_s=2, raises_on_bad=True), rows, 9) == []


def test_bad_data_never_clears_an_alarm_and_restarts_its_return() -> None:
    rows = [
        *good((0, 151.0), (1, 140.0)),
        (2, np.nan, Q.STALE),
        *good((5, 140.0)),
    ]

    turns = run(limit(off_delay_s=3), rows, 9)

    assert turns == [(0.0, Turn.RAISED), (8.0, Turn.CLEARED)]


def test_a_current_saturated_high_is_true_for_high_limits_whatever_its_value() -> None:
    rows = [(1.0, 120.0, int(Q.SATURATED_HIGH))]

    assert run(limit(), rows, 2) == [(1.0, Turn.RAISED)]


def test_a_current_saturated_high_never_clears_a_low_limit() -> None:
    rows = [*good((0, 100.0)), (1.0, 200.0, int(Q.SATURATED_HIGH)), *good((2, 200.0))]

    turns = run(limit(kind=Kind.LOW), rows, 3)

    assert turns == [(0.0, Turn.RAISED), (2.0, Turn.CLEARED)]


def test_an_uncertain_value_raises_and_the_edge_carries_its_quality() -> None:
    rows = [(1.0, 151.0, int(Q.CALIBRATION_OVERDUE))]

    (edge,) = edges(limit(), rows, 2)

    assert edge.quality == Q.CALIBRATION_OVERDUE


def test_a_stale_limit_sees_staleness_alone() -> None:
    rows = [(1.0, np.nan, int(Q.LINK_LOST)), (2.0, np.nan, int(Q.STALE)), *good((3, 1.0))]

    turns = run(limit(kind=Kind.STALE), rows, 4)

    assert turns == [(2.0, Turn.RAISED), (3.0, Turn.CLEARED)]


def test_a_fault_limit_sees_bad_readings_and_is_not_cleared_by_silence() -> None:
    rows = [
        (1.0, np.nan, int(Q.CURRENT_FAULT)),
        (2.0, np.nan, int(Q.STALE)),
        *good((3, 1.0)),
    ]

    turns = run(limit(kind=Kind.FAULT), rows, 4)

    assert turns == [(1.0, Turn.RAISED), (3.0, Turn.CLEARED)]


class TestPhases:
    """A setpoint that changes at 10 s; deadband 4, on-delay 5 s."""

    one = limit(on_delay_s=5, setpoint_in={"climb": 140.0, "hold": 160.0})

    def turns(self, value: float, phase: str, t_s: float) -> list[float]:
        """Hold *value* from 0 s, enter *phase* at *t_s*, and give the times of edges."""
        stage = Limits([self.one], 1, Place("ground"), 0)
        first = stage.step(grid_of(good((0, value))), round(t_s * S) - 1)
        second = stage.enter(Place(phase), round(t_s * S), is_phase=True)
        third = stage.step(grid_of([]), 100 * S)
        return [edge.t_ns / S for edge in (*first, *second, *third)]

    def test_newly_true_starts_its_delay_then(self) -> None:
        assert self.turns(145.0, "climb", 10) == [15.0]

    def test_inactive_at_the_new_setpoint_stays_so(self) -> None:
        assert self.turns(140.0, "climb", 10) == []

    def test_active_stays_active_within_the_new_deadband(self) -> None:
        assert self.turns(157.0, "hold", 10) == [5.0]

    def test_active_below_the_new_deadband_clears_at_the_change(self) -> None:
        assert self.turns(155.0, "hold", 10) == [5.0, 10.0]

    def test_pending_goes_on_if_true_under_both(self) -> None:
        assert self.turns(151.0, "climb", 3) == [5.0]

    def test_pending_ends_if_not_true_under_the_new_one(self) -> None:
        assert self.turns(151.0, "hold", 3) == []


def test_restored_in_the_middle_of_a_delay_it_goes_on_as_if_nothing_had_happened() -> None:
    one = limit(on_delay_s=5)
    stage = Limits([one], 1, Place("ground"), 0)
    stage.step(grid_of(good((0, 151.0))), 2 * S)
    other = Limits([one], 1, Place("ground"), 0)
    other.load_state(stage.state())

    (edge,) = other.step(grid_of([]), 9 * S)

    assert (edge.t_ns, edge.onset_ns) == (5 * S, 0)
