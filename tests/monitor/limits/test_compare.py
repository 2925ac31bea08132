"""Tests for monitor.limits.compare.

Source: Hand-worked here, from the project's own limit rules 1, 10 and 11 (DEVELOPERS.md).
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.limits.compare import Comparison, Seen, setpoints_at
from monitor.limits.plan import Kind, Limit, Place
from monitor.samples import FIRST_BAD, Quality

Q = Quality


def see(kind: Kind, value: float, quality: int = 0) -> Seen:
    """Compare one sample with a limit at 10, deadband 2."""
    comparison = Comparison([Limit("A", 0, kind, 10.0, deadband=2.0)], Place("ground"))
    seen = comparison.see(
        np.array([0]), np.array([[value]]), np.array([[quality]], dtype=np.uint8)
    )
    return Seen(int(seen[0, 0]))


@pytest.mark.parametrize(
    ("kind", "value", "seen"),
    [
        (Kind.HIGH, 10.0, Seen.BETWEEN),
        (Kind.HIGH, 10.1, Seen.TRUE),
        (Kind.HIGH_HIGH, 8.0, Seen.BETWEEN),
        (Kind.HIGH_HIGH, 7.9, Seen.RETURNED),
        (Kind.LOW, 10.0, Seen.BETWEEN),
        (Kind.LOW, 9.9, Seen.TRUE),
        (Kind.LOW_LOW, 12.0, Seen.BETWEEN),
        (Kind.LOW_LOW, 12.1, Seen.RETURNED),
    ],
)
def test_a_value_against_setpoint_and_deadband(kind: Kind, value: float, seen: Seen) -> None:
    assert see(kind, value) is seen


@pytest.mark.parametrize("kind", [Kind.HIGH, Kind.LOW])
@pytest.mark.parametrize("quality", [quality for quality in Quality if quality >= FIRST_BAD])
def test_a_bad_value_is_not_compared(kind: Kind, quality: Quality) -> None:
    assert see(kind, np.nan, quality) is Seen.BAD


@pytest.mark.parametrize(
    ("kind", "quality", "seen"),
    [
        (Kind.HIGH, Q.SATURATED_HIGH, Seen.TRUE),
        (Kind.LOW, Q.SATURATED_HIGH, Seen.BETWEEN),
        (Kind.LOW, Q.SATURATED_LOW, Seen.TRUE),
        (Kind.HIGH, Q.SATURATED_LOW, Seen.BETWEEN),
    ],
)
@pytest.mark.parametrize("value", [0.0, 10.0, 20.0])
def test_a_saturated_current_is_a_bound_on_one_side(
    kind: Kind, quality: Quality, seen: Seen, value: float
) -> None:
    assert see(kind, value, quality) is seen


@pytest.mark.parametrize(
    ("kind", "quality", "seen"),
    [
        (Kind.STALE, Q.STALE, Seen.TRUE),
        (Kind.STALE, Q.LINK_LOST, Seen.BETWEEN),
        (Kind.STALE, Q.OLD, Seen.BETWEEN),
        (Kind.STALE, Q.CURRENT_FAULT, Seen.RETURNED),
        (Kind.STALE, Q.GOOD, Seen.RETURNED),
        (Kind.FAULT, Q.CURRENT_FAULT, Seen.TRUE),
        (Kind.FAULT, Q.OUT_OF_RANGE, Seen.TRUE),
        (Kind.FAULT, Q.NOT_FINITE, Seen.TRUE),
        (Kind.FAULT, Q.STALE, Seen.BETWEEN),
        (Kind.FAULT, Q.SATURATED_HIGH, Seen.RETURNED),
    ],
)
def test_quality_kinds_look_at_the_quality_alone(
    kind: Kind, quality: Quality, seen: Seen
) -> None:
    assert see(kind, 99.0, quality) is seen


LIMITS = [
    Limit("A", 0, Kind.HIGH, 10.0, {"climb": 20.0, "loop_only": 30.0}),
    Limit("B", 0, Kind.STALE, 10.0),
]


@pytest.mark.parametrize(
    ("place", "setpoint"),
    [
        (Place("ground"), 10.0),
        (Place("climb"), 20.0),
        (Place("ground", "normal"), 10.0),
        (Place("ground", "loop_only"), 30.0),
        (Place("climb", "loop_only"), 30.0),
    ],
)
def test_a_setpoint_may_differ_by_phase_and_the_mode_goes_before_it(
    place: Place, setpoint: float
) -> None:
    assert setpoints_at(LIMITS, place)[0] == setpoint


def test_a_limit_on_quality_has_no_setpoint() -> None:
    assert np.isnan(setpoints_at(LIMITS, Place("ground"))[1])


@pytest.mark.parametrize(
    ("value", "quality", "seen"),
    [
        (10.1, Q.GOOD, Seen.TRUE),
        (10.0, Q.GOOD, Seen.TRUE),
        (8.0, Q.GOOD, Seen.TRUE),
        (7.9, Q.GOOD, Seen.RETURNED),
        (np.nan, Q.STALE, Seen.TRUE),
        (np.nan, Q.WAITING, Seen.TRUE),
        (7.0, Q.SATURATED_LOW, Seen.TRUE),
    ],
)
def test_what_must_come_once_has_not_come_until_it_is_seen(
    value: float, quality: int, seen: Seen
) -> None:
    limit = Limit("A", 0, Kind.EXPECTED, 10.0, deadband=2.0, is_once=True, expects_low=True)
    comparison = Comparison([limit], Place("ground"))

    got = comparison.see(
        np.array([0]), np.array([[value]]), np.array([[quality]], dtype=np.uint8)
    )

    assert got[0, 0] == seen
