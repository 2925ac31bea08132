"""Tests for monitor.limits.counted.

Source: Hand-worked here, 3 of the last 5 samples and 2 of 2.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.limits.compare import Seen
from monitor.limits.counted import Counted
from monitor.limits.edges import Turn
from monitor.limits.plan import Place
from monitor.limits.stage import Limits
from tests.monitor.limits.made import Q, S, edges, good, grid_of, limit, run

T, F = Seen.TRUE, Seen.RETURNED


def counted(n: int, m: int) -> Counted:
    """Make one limit that counts, and one that does not."""
    return Counted([limit(), limit(n_of_m=(n, m))])


def shown(one: Counted, sights: list[Seen]) -> list[int]:
    """Show samples one ns apart; give what the limit sees."""
    return [one.see(1, seen, (k, float(k), 0))[0] for k, seen in enumerate(sights)]


@pytest.mark.parametrize(
    ("sights", "seen"),
    [
        ([T, T, T], [Seen.BETWEEN, Seen.BETWEEN, T]),
        ([T, F, T, F, T], [Seen.BETWEEN, F, Seen.BETWEEN, F, T]),
        # The first one has left the window when the third comes.
        ([T, F, F, T, F, T], [Seen.BETWEEN, F, F, Seen.BETWEEN, F, Seen.BETWEEN]),
        # While three of five are beyond, one that is not clears nothing.
        ([T, T, T, F, F, F], [Seen.BETWEEN, Seen.BETWEEN, T, T, T, F]),
        # A bad one is neither counted nor forgotten.
        ([T, T, Seen.BAD, T], [Seen.BETWEEN, Seen.BETWEEN, Seen.BAD, T]),
        ([T, T, Seen.BETWEEN, T], [Seen.BETWEEN, Seen.BETWEEN, Seen.BETWEEN, T]),
    ],
)
def test_three_of_five(sights: list[Seen], seen: list[int]) -> None:
    assert shown(counted(3, 5), sights) == seen


def test_the_first_of_the_three_is_the_onset() -> None:
    one = counted(3, 5)
    shown(one, [F, T, F, T])

    assert one.see(1, T, (9, 5.0, 0)) == (T, (1, 1.0, 0))


def test_it_knows_which_limits_count() -> None:
    one = counted(2, 2)

    assert (0 in one, 1 in one, bool(one), bool(Counted([limit()]))) == (
        False,
        True,
        True,
        False,
    )


def test_only_a_sample_beyond_makes_the_window_matter() -> None:
    one = counted(2, 2)
    shown(one, [F, F])
    assert one.is_blank(1)

    shown(one, [T])

    assert not one.is_blank(1)


def test_to_forget_is_to_begin_anew() -> None:
    one = counted(2, 3)
    shown(one, [T])
    one.forget(1)

    assert shown(one, [T, T]) == [Seen.BETWEEN, T]


def test_a_restored_count_goes_on() -> None:
    one, other = counted(3, 5), counted(3, 5)
    shown(one, [F, T, F, T])
    other.load_state(one.state())

    assert other.see(1, T, (9, 5.0, 0)) == (T, (1, 1.0, 0))


def test_samples_that_can_count_no_more_leave_no_trace_in_a_checkpoint() -> None:
    one, other = counted(2, 5), counted(2, 5)
    shown(one, [F, F, F])

    same = (
        one.state()[name].tobytes() == array.tobytes() for name, array in other.state().items()
    )
    assert all(same)


# In the stage.

HIGH = limit(n_of_m=(2, 3), off_delay_s=2)


def test_an_alarm_by_two_of_three_comes_at_the_second_and_dates_from_the_first() -> None:
    (edge,) = edges(HIGH, good((0, 151), (1, 149), (2, 152), (3, 149)), 3)

    assert (edge.t_ns, edge.turn) == (2 * S, Turn.RAISED)
    assert (edge.onset_ns, edge.value, edge.setpoint) == (0, 151.0, 150.0)


def test_a_single_spike_is_none() -> None:
    assert run(HIGH, good((0, 151), (1, 140), (2, 140), (3, 151), (4, 140), (5, 140)), 9) == []


def test_it_clears_when_fewer_than_two_are_beyond_and_the_newest_has_returned() -> None:
    rows = good((0, 151), (1, 151), (2, 140), (3, 140), (4, 140), (5, 140))

    # At 2 s two of three are still beyond; from 3 s on the off-delay runs.
    assert run(HIGH, rows, 9) == [(1, Turn.RAISED), (5, Turn.CLEARED)]


@pytest.mark.parametrize("pause", [1, 2, 3, 4])
def test_quiet_steps_between_do_not_shorten_or_lengthen_the_count(pause: int) -> None:
    stage = Limits([HIGH], 1, Place("ground"), 0)
    rows = [*good((0, 151)), *good(*((1 + k, 140) for k in range(pause))), (9, 151, Q.GOOD)]

    turns = [
        edge.turn for row in rows for edge in stage.step(grid_of([row]), round(row[0] * S))
    ]
    turns += [edge.turn for edge in stage.step(grid_of([]), 20 * S)]

    assert turns == ([Turn.RAISED] if pause == 1 else [])


def test_another_setpoint_begins_the_count_anew() -> None:
    one = limit(n_of_m=(2, 3), setpoint_in={"climb": 120.0})
    stage = Limits([one], 1, Place("ground"), 0)
    stage.step(grid_of(good((0, 151))), 0)
    stage.enter(Place("climb"), S, is_phase=True)

    assert stage.step(grid_of(good((2, 130))), 2 * S) == []
    assert [e.turn for e in stage.step(grid_of(good((3, 130))), 3 * S)] == [Turn.RAISED]


def test_a_restored_stage_goes_on_counting() -> None:
    stage, other = (Limits([HIGH], 1, Place("ground"), 0) for _ in range(2))
    stage.step(grid_of(good((0, 151), (1, 149))), S)
    other.load_state(stage.state())

    (edge,) = other.step(grid_of(good((2, 152))), 2 * S)

    assert (edge.onset_ns, edge.turn) == (0, Turn.RAISED)


def test_a_bad_sample_does_not_take_a_place_in_the_window() -> None:
    rows = [*good((0, 151)), (1, np.nan, Q.STALE), (2, np.nan, Q.STALE), (3, 140.0, Q.GOOD)]

    assert run(HIGH, [*rows, (4, 151.0, Q.GOOD)], 9) == [(4, Turn.RAISED)]
