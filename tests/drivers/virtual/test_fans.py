"""Tests for drivers.virtual.fans.

Source: the trade (common practice, no source): in the automatic position the second fan starts
when the first fails, in the manual positions it does not; a fan coasts down in 3 to 10 s.
"""

from __future__ import annotations

from drivers.virtual.fans import Fans
from drivers.virtual.faults import Fault, Faults

BROKEN = Faults((Fault("fan_failed", "1"),))


def run(fans: Fans, seconds: float, selector: int, faults: Faults) -> None:
    for _ in range(round(seconds * 10)):
        fans.step(0.1, selector, faults)


def test_one_runs_while_all_is_well() -> None:
    fans = Fans()
    run(fans, 60, 0, Faults())

    assert fans.is_running(0)
    assert not fans.is_running(1)


def test_the_automatic_position_starts_the_standby() -> None:
    fans = Fans()
    run(fans, 3, 0, BROKEN)
    assert not fans.is_running(1)
    run(fans, 7, 0, BROKEN)
    assert fans.is_running(1)
    assert not fans.is_running(0)


def test_the_standby_goes_on_when_the_first_comes_back() -> None:
    fans = Fans()
    run(fans, 15, 0, BROKEN)
    run(fans, 15, 0, Faults())

    assert fans.is_running(0)
    assert fans.is_running(1)


def test_a_manual_position_starts_no_standby() -> None:
    fans = Fans()
    run(fans, 30, 1, BROKEN)

    assert not fans.is_running(0)
    assert not fans.is_running(1)
    assert fans.flow_m3_s < 1e-5


def test_the_other_manual_position_runs_the_other_fan_alone() -> None:
    fans = Fans()
    run(fans, 30, 2, Faults())

    assert not fans.is_running(0)
    assert fans.is_running(1)


def test_a_fan_coasts_down_in_some_seconds() -> None:
    fans = Fans()
    run(fans, 3, 1, BROKEN)
    assert fans.speed[0] > 0.1
    run(fans, 7, 1, BROKEN)
    assert fans.speed[0] < 0.05
