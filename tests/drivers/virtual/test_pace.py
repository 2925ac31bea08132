"""Tests for drivers.virtual.pace.

Source: hand-worked here: at speed 20 a tick of 0.1 s takes 5 ms.
"""

from __future__ import annotations

import pytest

from drivers.virtual.pace import Pace


def test_a_tick_is_due_after_its_real_time() -> None:
    pace = Pace(20.0, 0.1, 100.0)

    assert pace.due(100.004) == 0
    assert pace.wait_s(100.004) == pytest.approx(0.001)
    assert pace.due(100.0051) == 1
    assert pace.due(100.0099) == 0
    assert pace.wait_s(101.0) == 0.0


def test_ticks_missed_are_caught_up() -> None:
    pace = Pace(1.0, 0.1, 0.0)

    assert pace.due(0.35) == 3
    assert pace.due(0.45) == 1
    assert pace.lost_s == 0.0


def test_in_the_long_run_no_tick_is_lost_or_won() -> None:
    pace = Pace(7.0, 0.1, 0.0)
    done = sum(pace.due(n * 0.003) for n in range(1, 5001))

    # 15 s of real time, 7 times as fast.
    assert done == pytest.approx(1050, abs=1)


def test_a_long_backlog_is_given_up_and_said() -> None:
    pace = Pace(5.0, 0.1, 0.0)

    # 150 ticks are due after 3 s; what 2 s make is done: 100 ticks.
    assert pace.due(3.0101) == 100
    assert pace.lost_s == pytest.approx(5.0)
    assert pace.due(3.0102) == 0
    assert pace.due(3.0301) == 1


def test_at_a_speed_beyond_the_machine_few_ticks_are_done_at_once() -> None:
    pace = Pace(1e6, 0.1, 0.0)

    assert pace.due(1.0) == 200
    assert pace.lost_s == pytest.approx(1e6 - 20.0, rel=1e-3)


def test_a_very_slow_rig_still_does_one_tick() -> None:
    pace = Pace(0.01, 0.1, 0.0)

    assert pace.due(10.5) == 1
    assert pace.due(100.5) == 1
