"""Tests for monitor.channels.convert.

Source: Hand-worked here; current-loop bands after NAMUR NE 43 by secondary texts (the edges
count as failure), scaling 3.6 -> -2.5 %, 3.8 -> -1.25 %, 20.5 -> 103.125 % by arithmetic.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.channels.convert import Converter, thermocouples
from monitor.channels.plan import (
    Conversion,
    CurrentLoop,
    Linear,
    Measured,
    PlatinumRtd,
    Polynomial,
    ThermocoupleK,
)
from monitor.samples import Quality

Q = Quality


def convert(conversion: Conversion, raw: float, **more: object) -> tuple[float, int]:
    """Convert one number."""
    one = Measured("A", "i", "a", conversion, 10**9, **more)  # type: ignore[arg-type]
    converter = Converter([one])
    value = np.zeros((1, 1))
    quality = converter.convert(np.array([[raw]]), value)
    converter.finish(value, quality)
    return float(value[0, 0]), int(quality[0, 0])


@pytest.mark.parametrize(
    ("ma", "percent"),
    [(3.8, -1.25), (4.0, 0.0), (12.0, 50.0), (20.0, 100.0), (20.5, 103.125)],
)
def test_a_loop_current_in_its_range_is_good_and_linear(ma: float, percent: float) -> None:
    assert convert(CurrentLoop(0.0, 100.0), ma) == (pytest.approx(percent), Q.GOOD)


@pytest.mark.parametrize(
    ("ma", "quality"),
    [
        (3.60, Q.CURRENT_FAULT),
        (3.61, Q.SATURATED_LOW),
        (3.79, Q.SATURATED_LOW),
        (20.51, Q.SATURATED_HIGH),
        (20.99, Q.SATURATED_HIGH),
        (21.00, Q.CURRENT_FAULT),
    ],
)
def test_bands_of_a_loop_current(ma: float, quality: Quality) -> None:
    assert convert(CurrentLoop(0.0, 100.0), ma)[1] == quality


def test_saturation_is_named_by_the_side_of_the_value() -> None:
    assert convert(CurrentLoop(100.0, 0.0), 20.8)[1] == Q.SATURATED_LOW


def test_a_fault_current_has_no_value() -> None:
    assert np.isnan(convert(CurrentLoop(0.0, 100.0), 2.0)[0])


def test_a_loop_current_beyond_full_scale_is_not_out_of_range() -> None:
    value, quality = convert(CurrentLoop(0.0, 100.0), 20.4, low=0.0, high=100.0)

    assert (value, quality) == (pytest.approx(102.5), Q.GOOD)


def test_a_polynomial_is_evaluated_lowest_coefficient_first() -> None:
    assert convert(Polynomial((1.0, 2.0, 3.0)), 2.0) == (17.0, Q.GOOD)


def test_platinum_is_converted_with_its_own_resistance() -> None:
    assert convert(PlatinumRtd(1000.0), 1385.055) == (pytest.approx(100.0), Q.GOOD)


@pytest.mark.parametrize(("raw", "quality"), [(10.0, Q.GOOD), (10.1, Q.OUT_OF_RANGE)])
def test_a_value_outside_the_sensors_range_is_bad(raw: float, quality: Quality) -> None:
    assert convert(Linear(), raw, low=0.0, high=10.0)[1] == quality


def test_a_value_that_overflows_is_bad() -> None:
    with np.errstate(over="ignore"):
        assert convert(Linear(1e300), 1e300)[1] == Q.OUT_OF_RANGE


def test_an_overdue_calibration_makes_good_values_uncertain_and_leaves_bad_ones() -> None:
    overdue = {"is_calibration_overdue": True}

    assert convert(Linear(), 5.0, **overdue) == (5.0, Q.CALIBRATION_OVERDUE)
    assert convert(CurrentLoop(0, 1), 2.0, **overdue)[1] == Q.CURRENT_FAULT


def test_thermocouples_are_named_with_their_columns() -> None:
    rows = [
        Measured("A", "i", "a", Linear(), 1),
        Measured("T", "i", "t", ThermocoupleK(20.0), 1),
    ]

    assert thermocouples(rows) == [(1, ThermocoupleK(20.0))]
