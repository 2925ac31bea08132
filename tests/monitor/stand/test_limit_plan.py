"""Tests for monitor.stand.limit_plan.

Source: hand-worked here; the good file is that of conftest, whose PT-101 has a reading every
0.5 s.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.limits.plan import Kind, Limit
from monitor.stand.limit_plan import arming_of
from monitor.stand.model import Stand
from tests.monitor.stand.kinds_stand import limit, with_more

S = 1_000_000_000
RATE = 'setpoint = 2; per = "min"; window_s = 30'
Load = Callable[..., Stand]


def only(text: str, name: str, load: Load) -> Limit:
    """Load a text; give one of its limits."""
    return next(one for one in load(text).plan.limits if one.id == name)


def test_a_rate_of_fall_is_compared_with_negative_setpoints(good: str, load: Load) -> None:
    keys = RATE + "; setpoint_in = { leak = 3 }; deadband = 0.5"
    fall = only(good + limit("PT-101", "rate_of_fall", keys), "PT-101.rate_of_fall", load)
    rise = only(good + limit("PT-101", "rate_of_rise", keys), "PT-101.rate_of_rise", load)

    assert (fall.setpoint, fall.setpoint_in, fall.deadband) == (-2.0, {"leak": -3.0}, 0.5)
    assert (rise.setpoint, rise.setpoint_in, rise.deadband) == (2.0, {"leak": 3.0}, 0.5)


@pytest.mark.parametrize(
    ("kind", "keys", "bridge_s"),
    [
        ("rate_of_rise", RATE, 31),
        ("time_to_limit", 'reaches = "high"; within_s = 300; window_s = 60', 61),
        ("rate_of_rise", RATE + "; bridge_s = 4", 4),
        ("deviation", "from = 38; setpoint = 1", 1),
    ],
)
def test_a_window_that_fills_is_bridged(
    kind: str, keys: str, bridge_s: float, good: str, load: Load
) -> None:
    found = only(good + limit("PT-101", kind, keys), f"PT-101.{kind}", load)

    assert found.bridge_ns == bridge_s * S


@pytest.mark.parametrize(
    ("kind", "keys", "delay_s"),
    [
        ("state", "is = 1; on_delay_s = 3", 3),
        ("late", "after_s = 1900", 1900),
        ("missed", "after_s = 2400", 2400),
        ("overlong", "longest_s = 45", 45),
        ("stuck", "for_s = 60", 60),
    ],
)
def test_yes_and_no_are_told_apart_in_the_middle(
    kind: str, keys: str, delay_s: float, good: str, load: Load
) -> None:
    found = only(with_more(good) + limit("ZS-101", kind, keys), f"ZS-101.{kind}", load)

    assert (found.setpoint, found.deadband, found.is_high) == (0.5, 0.0, True)
    assert found.on_delay_ns == delay_s * S


@pytest.mark.parametrize(("side", "expects_low"), [("above", False), ("below", True)])
def test_what_is_expected_has_to_come_once_where_it_is_watched(
    side: str, expects_low: bool, good: str, load: Load
) -> None:
    keys = f'{side} = 0.5; within_s = 60; watched_in = ["leak"]; off_delay_s = 2'
    found = only(with_more(good) + limit("ZS-101", "expected", keys), "ZS-101.expected", load)

    assert (found.is_once, found.expects_low, found.watched_in) == (
        True,
        expects_low,
        {"leak"},
    )
    assert (found.setpoint, found.on_delay_ns, found.off_delay_ns) == (0.5, 60 * S, 2 * S)


def test_a_forecast_is_true_below_its_time(good: str, load: Load) -> None:
    keys = 'reaches = "high"; within_s = 300; window_s = 60; deadband = 20'
    found = only(good + limit("PT-101", "time_to_limit", keys), "PT-101.time_to_limit", load)

    assert (found.setpoint, found.deadband, found.is_high) == (300.0, 20.0, False)


def test_samples_are_counted_where_it_is_written(good: str, load: Load) -> None:
    text = good.replace("on_delay_s = 5\n", "n_of_m = [3, 5]\n")

    assert only(text, "PT-101.high", load).n_of_m == (3, 5)
    assert only(text, "PT-101.low", load).n_of_m == (0, 0)


def test_a_part_of_the_span_becomes_a_number(good: str, load: Load) -> None:
    text = good.replace("deadband = 2\n", 'deadband = "1.5 %"\n')

    assert only(text, "PT-101.high", load).deadband == pytest.approx(3.0)


def test_sensor_alarms_are_watched_where_it_is_written(good: str, load: Load) -> None:
    text = good + '[channels.TT-101.limits.stale]\nwatched_in = ["leak"]\n'

    assert only(text, "TT-101.stale", load).watched_in == {"leak"}


@pytest.mark.parametrize(("kind", "expects_low"), [(Kind.HIGH, True), (Kind.LOW, False)])
def test_what_arms_a_limit_is_what_would_clear_it(kind: Kind, expects_low: bool) -> None:
    watched = Limit(
        f"PT-1.{kind}", 3, kind, 40.0, {"a": 41.0}, 0.5, bridge_ns=S, watched_in=frozenset("ab")
    )

    assert arming_of(watched, 900) == Limit(
        f"PT-1.{kind}.arming",
        3,
        Kind.EXPECTED,
        40.0,
        {"a": 41.0},
        0.5,
        on_delay_ns=900 * S,
        bridge_ns=S,
        watched_in=frozenset("ab"),
        is_once=True,
        expects_low=expects_low,
    )
    assert arming_of(watched, 900).is_high is watched.is_high
