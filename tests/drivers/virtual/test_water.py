"""Tests for drivers.virtual.water.

Source: IAPWS-IF97 saturation pressures and heats of evaporation (0 to 40 degC, as tabulated
from two independent implementations). Tolerance of pressure: the Magnus form's stated 0.3 %.
"""

from __future__ import annotations

import pytest

from drivers.virtual import water

#: degC, kPa, kJ/kg.
IF97 = [
    (5, 0.872575, 2489.05),
    (10, 1.228184, 2477.21),
    (20, 2.339215, 2453.55),
    (25, 3.169747, 2441.71),
    (35, 5.628620, 2417.94),
    (37, 6.281849, 2413.17),
]

#: 0.3 % of pressure over the slope of 5.5 % a K at its flattest.
TOLERANCE_K = 0.3 / 5.5


@pytest.mark.parametrize(("celsius", "kpa", "_heat"), IF97)
def test_saturation_agrees_with_the_tables(celsius: float, kpa: float, _heat: float) -> None:
    assert water.saturation_pa(celsius + 273.15) == pytest.approx(kpa * 1e3, rel=3.1e-3)


@pytest.mark.parametrize(("celsius", "kpa", "_heat"), IF97)
def test_water_boils_where_the_tables_say(celsius: float, kpa: float, _heat: float) -> None:
    assert water.boiling_k(kpa * 1e3) == pytest.approx(celsius + 273.15, abs=TOLERANCE_K)


@pytest.mark.parametrize(("celsius", "_kpa", "heat"), IF97)
def test_heat_of_evaporation_is_vapour_less_liquid(
    celsius: float, _kpa: float, heat: float
) -> None:
    kelvin = celsius + 273.15

    # Heat capacities taken as constant: within 0.1 %.
    assert water.vapour_j_kg(kelvin) - water.liquid_j_kg(kelvin) == pytest.approx(
        heat * 1e3, rel=1e-3
    )


def test_melting_takes_its_heat_at_0_degc() -> None:
    assert water.liquid_j_kg(273.15) - water.ice_j_kg(273.15) == pytest.approx(333.6e3)


def test_boiling_and_saturation_are_each_others_inverse() -> None:
    for kelvin in range(250, 320, 5):
        assert water.boiling_k(water.saturation_pa(kelvin)) == pytest.approx(kelvin, abs=1e-9)


def test_a_vacuum_has_a_boiling_point_all_the_same() -> None:
    assert 150.0 < water.boiling_k(0.0) < 220.0


def test_vapour_fills_a_space_by_its_partial_pressure() -> None:
    # 1 m3 of saturated vapour at 20 degC: 17.29 g (psychrometric tables, from memory).
    assert water.vapour_kg(2339.2, 293.15, 1.0) == pytest.approx(17.29e-3, rel=2e-3)
