"""Tests for monitor.display.state.clock.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.display.state.clock import DataClock

S = 1_000_000_000


def test_the_clock_runs_on_with_the_speed_of_data_time() -> None:
    assert DataClock(100 * S, 0, 20.0).at(2 * S) == 140 * S


def test_a_message_that_was_under_way_for_a_moment_does_not_turn_the_clock_back() -> None:
    clock = DataClock(100 * S, 0, 1.0)

    later = clock.heard(100 * S + S // 2, S)

    assert later.at(S) == 101 * S


def test_a_message_that_is_ahead_sets_the_clock_forward() -> None:
    later = DataClock(100 * S, 0, 1.0).heard(105 * S, S)

    assert later.at(S) == 105 * S


def test_an_engine_that_fell_far_behind_takes_the_clock_with_it() -> None:
    later = DataClock(100 * S, 0, 1.0).heard(90 * S, S)

    assert later.at(2 * S) == 91 * S


def test_the_lead_allowed_grows_with_the_speed() -> None:
    clock = DataClock(100 * S, 0, 20.0)

    assert clock.heard(112 * S, S) is clock
    assert clock.heard(109 * S, S).at(S) == 109 * S
