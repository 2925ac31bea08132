"""Tests for drivers.virtual.gas.

Source: choked and subsonic flow through a hole of 1 mm from the ideal-gas formulas (ISO 9300
for the choked form): psi(1.4) = 0.684731, critical ratio 0.528282; oxygen at 7 bar and 20 degC
1.36400 g/s; blow-down of 10 L air through it, adiabatic p/p0 0.300828 after 60 s, worked out
independently by integration. Tolerances: the gases here have gamma of oxygen 1.395.
"""

from __future__ import annotations

import math

import pytest

from drivers.virtual.gas import (
    CHOKED,
    CO2,
    CRITICAL_RATIO,
    GAS_CONSTANT,
    N2,
    O2,
    Gas,
    exchange,
    filled,
    move,
    orifice_kg_s,
    release,
)

HOLE_M2 = math.pi * 0.5e-3**2


def test_the_choked_constants_are_the_published_ones() -> None:
    assert pytest.approx(0.684731, abs=1e-6) == CHOKED
    assert pytest.approx(0.528282, abs=1e-6) == CRITICAL_RATIO


def test_choked_flow_through_a_hole_of_1_mm() -> None:
    got = orifice_kg_s(HOLE_M2, 7e5, 293.15, GAS_CONSTANT[O2], 1e5)

    assert got == pytest.approx(1.36400e-3, rel=1e-4)


@pytest.mark.parametrize("down_pa", [0.0, 1e5, 2.8e5, 3.69e5])
def test_below_the_critical_ratio_the_back_pressure_does_not_matter(down_pa: float) -> None:
    got = orifice_kg_s(HOLE_M2, 7e5, 293.15, GAS_CONSTANT[O2], down_pa)

    assert got == orifice_kg_s(HOLE_M2, 7e5, 293.15, GAS_CONSTANT[O2], 0.0)


def test_subsonic_flow_of_air_through_a_hole_of_1_mm() -> None:
    got = orifice_kg_s(HOLE_M2, 1.2e5, 293.15, 287.055, 1.01325e5)

    assert got == pytest.approx(0.165464e-3, rel=1e-4)


@pytest.mark.parametrize("down_pa", [7e5, 8e5])
def test_nothing_flows_uphill(down_pa: float) -> None:
    assert orifice_kg_s(HOLE_M2, 7e5, 293.15, 259.8, down_pa) == 0.0


def test_a_shut_valve_lets_nothing_through() -> None:
    assert orifice_kg_s(0.0, 7e5, 293.15, 259.8, 1e5) == 0.0


def test_a_vessel_blows_down_as_worked_out_by_integration() -> None:
    vessel = filled(0.010, 7e5, 293.15, (0.2095, 0.7905, 0.0, 0.0))
    world = filled(1e6, 1.0, 293.15, (0.0, 1.0, 0.0, 0.0))
    for _ in range(600):
        release(HOLE_M2, vessel, world, 0.1)

    assert vessel.pressure_pa / 7e5 == pytest.approx(0.300828, rel=5e-3)
    assert vessel.temperature_k / 293.15 == pytest.approx(0.709493, rel=5e-3)


def test_moving_gas_keeps_every_kind_and_the_energy() -> None:
    one = filled(1.0, 1e5, 300.0, (0.2, 0.7, 0.05, 0.05))
    two = filled(2.0, 2e4, 250.0, (0.9, 0.1, 0.0, 0.0))
    before = [a + b for a, b in zip(one.kg, two.kg, strict=True)]
    energy = one.energy_j + two.energy_j
    move(one, two, 0.3)

    assert [a + b for a, b in zip(one.kg, two.kg, strict=True)] == pytest.approx(before)
    assert one.energy_j + two.energy_j == pytest.approx(energy, rel=1e-14)


def test_gas_that_leaves_cools_what_stays() -> None:
    one = filled(1.0, 1e5, 300.0, (1.0, 0.0, 0.0, 0.0))
    two = filled(1.0, 1e4, 300.0, (1.0, 0.0, 0.0, 0.0))
    move(one, two, 0.4)

    assert one.temperature_k < 300.0 < two.temperature_k


def test_a_wide_hole_settles_instead_of_swinging() -> None:
    one = filled(0.06, 1.2e5, 300.0, (1.0, 0.0, 0.0, 0.0))
    two = filled(1.6, 1.0e5, 300.0, (0.0, 1.0, 0.0, 0.0))
    signs = []
    for _ in range(100):
        exchange(1.0, one, two, 0.1)
        signs.append(one.pressure_pa >= two.pressure_pa)

    assert all(signs)
    assert one.pressure_pa == pytest.approx(two.pressure_pa, rel=1e-6)


def test_exchange_counts_what_comes_back_as_negative() -> None:
    one = filled(1.0, 1.0e5, 300.0, (1.0, 0.0, 0.0, 0.0))
    two = filled(1.0, 1.1e5, 300.0, (0.0, 1.0, 0.0, 0.0))

    assert exchange(1e-4, one, two, 0.1) < 0.0
    assert one.kg[N2] > 0.0


def test_a_flap_lets_nothing_back() -> None:
    one = filled(1.0, 1.0e5, 300.0, (1.0, 0.0, 0.0, 0.0))
    two = filled(1.0, 1.1e5, 300.0, (0.0, 1.0, 0.0, 0.0))

    assert release(1e-4, one, two, 0.1) == 0.0
    assert one.kg[N2] == 0.0


def test_partial_pressures_add_up() -> None:
    gas = filled(1.0, 4e4, 300.0, (0.5, 0.3, 0.15, 0.05))

    assert sum(gas.partial_pa(kind) for kind in range(4)) == pytest.approx(4e4)
    assert gas.partial_pa(CO2) == pytest.approx(6e3)


def test_heat_goes_into_temperature_at_constant_volume() -> None:
    gas = Gas(1.0, (1.0, 0.0, 0.0, 0.0), 300.0)
    gas.heat(658.163)

    assert gas.temperature_k == pytest.approx(301.0, abs=1e-3)
    assert gas.capacity == pytest.approx(658.163, rel=1e-6)
    assert gas.density == 1.0


def test_gas_let_in_brings_its_enthalpy() -> None:
    gas = Gas(1.0, (0.5, 0.0, 0.0, 0.0), 300.0)
    energy = gas.energy_j

    assert gas.add(O2, 0.1, 310.0) == pytest.approx(0.1 * 918.0 * 310.0)
    assert gas.energy_j == pytest.approx(energy + 0.1 * 918.0 * 310.0)
