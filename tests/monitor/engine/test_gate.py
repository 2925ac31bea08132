"""Tests for monitor.engine.gate.

Source: hand-worked here, from the rules of data time (W = now - lag; a row at or before W is
late; a control counts from now, and after W).
"""

from __future__ import annotations

import numpy as np

from drivers.reading import Block
from monitor.engine.gate import Gate
from monitor.events import HostEvent

STARTED = HostEvent("run_started")


def block(*t_ns: int) -> Block:
    return Block("bench", ("a",), np.array(t_ns, np.int64), np.ones((len(t_ns), 1)))


def test_rows_after_w_are_on_time_and_carry_no_marks() -> None:
    gate = Gate(until_ns=100, lag_ns=10)

    admitted = gate.admit(block(101, 102))

    assert admitted.late is None
    assert gate.late_rows == 0


def test_a_row_at_w_is_late_and_the_one_after_it_is_not() -> None:
    gate = Gate(until_ns=100, lag_ns=10)

    admitted = gate.admit(block(99, 100, 101))

    assert admitted.late is not None
    assert admitted.late.tolist() == [True, True, False]
    assert gate.late_rows == 2


def test_a_block_without_rows_passes() -> None:
    gate = Gate(until_ns=100, lag_ns=10)

    assert gate.admit(block()).late is None
    assert gate.due_ns() is None


def test_w_stays_the_lag_behind_the_clock() -> None:
    gate = Gate(until_ns=0, lag_ns=500, handover_ns=20)
    gate.admit(block(900))

    assert gate.advance(1_000) == 500


def test_w_never_turns_back() -> None:
    gate = Gate(until_ns=0, lag_ns=500, handover_ns=20)
    gate.advance(5_000)

    assert gate.advance(4_000) == 4_500


def test_without_lag_w_reaches_the_newest_row_at_once() -> None:
    gate = Gate(until_ns=0, lag_ns=0, handover_ns=20)
    gate.admit(block(998))

    assert gate.advance(1_000) == 998


def test_without_lag_and_rows_w_leaves_time_for_the_handover() -> None:
    gate = Gate(until_ns=0, lag_ns=0, handover_ns=20)

    assert gate.advance(1_000) == 980


def test_w_does_not_follow_a_row_from_the_future() -> None:
    gate = Gate(until_ns=0, lag_ns=0, handover_ns=20)
    gate.admit(block(2_000))

    assert gate.advance(1_000) == 1_000


def test_a_control_counts_from_now() -> None:
    control = Gate(until_ns=100, lag_ns=10).control(STARTED, 150)

    assert control.t_ns == 150


def test_a_control_never_counts_from_before_w() -> None:
    control = Gate(until_ns=100, lag_ns=10).control(STARTED, 90)

    assert control.t_ns == 101


def test_controls_rise_in_number_and_never_turn_back_in_time() -> None:
    gate = Gate(until_ns=100, lag_ns=10, next_seq=7)

    first, second = gate.control(STARTED, 150), gate.control(STARTED, 140)

    assert (first.seq, second.seq) == (7, 8)
    assert second.t_ns == 150


def test_the_oldest_waiting_block_is_due_when_the_lag_has_passed_over_its_last_row() -> None:
    gate = Gate(until_ns=0, lag_ns=500)
    gate.admit(block(900, 1_000))
    gate.admit(block(1_200))

    assert gate.due_ns() == 1_500


def test_a_block_that_w_has_passed_is_no_longer_due() -> None:
    gate = Gate(until_ns=0, lag_ns=500, handover_ns=20)
    gate.admit(block(1_000))
    gate.admit(block(1_200))
    gate.advance(1_500)

    assert gate.due_ns() == 1_700


def test_a_late_block_is_not_waited_for() -> None:
    gate = Gate(until_ns=100, lag_ns=10)
    gate.admit(block(50, 60))

    assert gate.due_ns() is None


def test_the_end_takes_in_waiting_rows_and_the_closing_control() -> None:
    gate = Gate(until_ns=0, lag_ns=500)
    gate.admit(block(1_000))
    gate.control(STARTED, 1_100)

    assert gate.finish() == 1_100
    assert gate.due_ns() is None


def test_a_control_is_due_when_w_can_reach_it() -> None:
    gate = Gate(until_ns=0, lag_ns=0, handover_ns=20)
    gate.control(STARTED, 1_000)
    assert gate.due_ns() == 1_020

    gate.advance(1_020)

    assert gate.due_ns() is None


def test_of_rows_and_controls_the_first_one_due_counts() -> None:
    gate = Gate(until_ns=0, lag_ns=0, handover_ns=20)
    gate.control(STARTED, 1_000)
    gate.admit(block(1_010))

    assert gate.due_ns() == 1_010


def test_a_block_that_begins_at_w_is_late_in_its_first_row() -> None:
    admitted = Gate(until_ns=100, lag_ns=10).admit(block(100, 101))

    assert admitted.late is not None
    assert admitted.late.tolist() == [True, False]


def test_a_block_that_ends_at_w_is_not_waited_for() -> None:
    gate = Gate(until_ns=100, lag_ns=10)
    gate.admit(block(100))

    assert gate.due_ns() is None
