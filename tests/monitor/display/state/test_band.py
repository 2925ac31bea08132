"""Tests for monitor.display.state.band.

Source: hand-worked here, on a span of 0 to 10 with limits at 2, 8 and 9.
"""

from __future__ import annotations

import math

import pytest

from monitor.display.state.band import Mark, band, share_of
from tests.monitor.display.made import HIGH, HIGH_HIGH, LOW, alarm, channel, limit

INFO = channel("PT-1", HIGH_HIGH, HIGH, LOW)


def test_the_normal_stretch_lies_between_the_nearest_limits() -> None:
    bar = band(INFO, 5.0, {})

    assert (bar.at, bar.normal_from, bar.normal_until, bar.beyond) == (0.5, 0.2, 0.8, 0)
    assert [mark.at for mark in bar.marks] == [0.9, 0.8, 0.2]


def test_the_bar_follows_the_setpoint_in_force() -> None:
    edited = alarm("PT-1.high", is_active=False, setpoint=6.0)

    assert band(INFO, 5.0, {"PT-1.high": edited}).normal_until == 0.6


def test_a_limit_that_is_not_watched_now_bounds_nothing() -> None:
    away = alarm("PT-1.high", is_active=False, setpoint=None)

    bar = band(INFO, 5.0, {"PT-1.high": away})

    assert (bar.normal_until, len(bar.marks)) == (0.9, 2)


def test_a_limit_on_something_else_than_the_value_has_no_place_on_the_bar() -> None:
    info = channel("PT-1", LOW, limit("PT-1", "rate_of_rise", "high", 3.0))

    assert [mark.kind for mark in band(info, 5.0, {}).marks] == ["low"]


def test_a_limit_whose_condition_stands_is_marked() -> None:
    bar = band(INFO, 8.5, {"PT-1.high": alarm("PT-1.high")})

    assert Mark(0.8, "high", True) in bar.marks
    assert Mark(0.9, "high_high", False) in bar.marks


@pytest.mark.parametrize(("value", "at", "beyond"), [(12.0, 1.0, 1), (-1.0, 0.0, -1)])
def test_a_value_off_the_span_is_at_its_end_and_says_so(
    value: float, at: float, beyond: int
) -> None:
    bar = band(INFO, value, {})

    assert (bar.at, bar.beyond) == (at, beyond)


@pytest.mark.parametrize("value", [None, math.nan])
def test_no_value_has_no_place(value: float | None) -> None:
    assert band(INFO, value, {}).at is None


def test_a_limit_outside_the_span_has_no_mark_but_bounds_the_normal_stretch() -> None:
    bar = band(channel("X", limit("X", "low", "low", 12.0)), 5.0, {})

    assert bar.marks == ()
    assert bar.normal_from == 1.0


def test_without_a_sensible_span_the_bar_is_empty() -> None:
    bar = band(channel("X", HIGH, low=3.0, high=3.0), 3.0, {})

    assert (bar.at, bar.marks) == (None, ())


def test_a_share_is_measured_from_the_low_end() -> None:
    assert share_of(-5.0, -10.0, 10.0) == 0.25
