"""Tests for monitor.physics.rtd.

Source: IEC 60751:2008, Table 1 (two decimals; verified through secondary texts); values to
1e-6 ohm computed with the independent library rtd-sensor 0.8.0, which cites IEC 60751:2022.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.physics.rtd import degc_from_platinum_ohm, platinum_ohm_from_degc

# degC, ohm: rows copied from the table, none computed here.
TABLE_1 = [
    (-200, 18.52),
    (-100, 60.26),
    (0, 100.00),
    (100, 138.51),
    (200, 175.86),
    (400, 247.09),
    (850, 390.48),
]

# degC, ohm: computed with the library.
LIBRARY = [
    (-200, 18.520080),
    (-196, 20.246513),
    (-100, 60.255840),
    (-50, 80.306282),
    (-40, 84.270652),
    (0, 100.0),
    (20, 107.793500),
    (25, 109.734656),
    (50, 119.397125),
    (100, 138.505500),
    (150, 157.325125),
    (200, 175.856000),
    (300, 212.051500),
    (400, 247.092000),
    (600, 313.708000),
    (850, 390.481125),
]

# Half of the last digit over the flattest slope, 0.2926 ohm/degC at 850 degC.
TABLE_DEGC = 0.005 / 0.2926
LIBRARY_DEGC = 0.5e-6 / 0.2926


@pytest.mark.parametrize(("degc", "ohm"), TABLE_1)
def test_it_agrees_with_the_standards_table(degc: float, ohm: float) -> None:
    # The first and the last row are rounded; look at them from just inside the range.
    inside = np.clip(ohm, 18.52009, 390.481124)

    got = float(degc_from_platinum_ohm(np.array(inside)))

    assert got == pytest.approx(degc, abs=TABLE_DEGC)


@pytest.mark.parametrize(("degc", "ohm"), LIBRARY)
def test_the_resistance_agrees_with_an_independent_library(degc: float, ohm: float) -> None:
    got = float(platinum_ohm_from_degc(np.array(float(degc))))

    assert got == pytest.approx(ohm, abs=0.5e-6 + 1e-12)


@pytest.mark.parametrize(("degc", "ohm"), LIBRARY[1:-1])
def test_the_temperature_agrees_with_an_independent_library(degc: float, ohm: float) -> None:
    got = float(degc_from_platinum_ohm(np.array(ohm)))

    assert got == pytest.approx(degc, abs=LIBRARY_DEGC)


def test_there_and_back_is_the_same_over_the_whole_range() -> None:
    degc = np.linspace(-199.999, 849.999, 5001)

    back = degc_from_platinum_ohm(platinum_ohm_from_degc(degc, 1000.0), 1000.0)

    np.testing.assert_allclose(back, degc, rtol=0, atol=1e-9)


def test_the_ice_point_is_a_zero_without_sign() -> None:
    assert not np.signbit(degc_from_platinum_ohm(np.array([100.0])))[0]


def test_one_value_has_the_same_bits_alone_as_among_others() -> None:
    ohm = np.array([19.0, 60.0, 99.999, 100.0, 138.5, 390.0])

    together = degc_from_platinum_ohm(ohm)

    assert [degc_from_platinum_ohm(ohm[i : i + 1])[0] for i in range(6)] == together.tolist()


@pytest.mark.parametrize("ohm", [np.nan, -5.0, 0.0, 18.0, 391.0, 1e9, np.inf])
def test_outside_the_range_there_is_no_temperature(ohm: float) -> None:
    assert np.isnan(degc_from_platinum_ohm(np.array([ohm]))[0])


@pytest.mark.parametrize("degc", [-200.1, 850.1, np.nan])
def test_outside_the_range_there_is_no_resistance(degc: float) -> None:
    assert np.isnan(platinum_ohm_from_degc(np.array([degc]))[0])
