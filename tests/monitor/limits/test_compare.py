"""Tests for monitor.limits.compare.

Source: Hand-worked here, from the project's own limit rules 1, 10 and 11 (DEVELOPERS.md).
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.limits.compare import Comparison, Seen
from monitor.limits.plan import Kind, Limit, Place
from monitor.samples import FIRST_BAD, Quality

Q = Quality


def see(kind: Kind, value: float, quality: int = 0) -> Seen:
    """Compare one sample with a limit at 10, deadband 2."""
    comparison = Comparison([Limit("A", 0, kind, 10.0, deadband=2.0)])
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


def test_setpoints_may_differ_by_phase() -> None:
    comparison = Comparison(
        [
            Limit("A", 0, Kind.HIGH, 10.0, {"climb": 20.0}),
            Limit("B", 0, Kind.STALE, 10.0),
        ]
    )

    assert comparison.setpoints_in("climb")[0] == 20.0
    assert comparison.setpoints_in("hold")[0] == 10.0
    assert np.isnan(comparison.setpoints_in("hold")[1])
