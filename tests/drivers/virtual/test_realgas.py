"""Tests for drivers.virtual.realgas.

Source: reference equation of state of oxygen through CoolProp 8.0.0: 279.601 kg/m3 at 20 degC
and 200 bar (Z 0.93909); a 10 L bottle holds 2.7960 kg; sealed and filled so it shows 178.9 bar
at 0 degC and 210.5 at 30 degC; throttling from 200 to 7 bar cools by 47 K.
"""

from __future__ import annotations

import pytest

from drivers.virtual.realgas import load_oxygen_table

TABLE = load_oxygen_table()


def test_density_at_200_bar_is_the_published_one() -> None:
    density = TABLE.density(200e5, 293.15)

    assert density == pytest.approx(279.601, rel=5e-4)
    assert density * 0.010 == pytest.approx(2.7960, rel=5e-4)


@pytest.mark.parametrize(("celsius", "bar"), [(0.0, 178.9), (20.0, 200.0), (30.0, 210.5)])
def test_a_sealed_bottle_follows_temperature(celsius: float, bar: float) -> None:
    got = TABLE.pressure_pa(279.601, celsius + 273.15)

    # The last printed digit and the table's 0.05 %.
    assert got / 1e5 == pytest.approx(bar, abs=0.05 + 0.0005 * bar)


def test_throttling_cools_by_47_k() -> None:
    after = TABLE.throttled_k(TABLE.density(200e5, 293.15), 293.15, 7e5)

    assert after - 293.15 == pytest.approx(-46.74, abs=0.5)


def test_thin_oxygen_is_ideal() -> None:
    assert TABLE.pressure_pa(0.01, 300.0) == pytest.approx(0.01 * 259.837 * 300.0, rel=1e-4)
    assert TABLE.energy_j_kg(0.0, 300.0) == pytest.approx(658.163 * 300.0, rel=1e-6)


def test_temperature_is_found_again_from_energy() -> None:
    for density in (5.0, 90.0, 279.6):
        for kelvin in (200.0, 263.0, 293.15, 340.0):
            energy = TABLE.energy_j_kg(density, kelvin)

            assert TABLE.temperature_k(density, energy, 293.0) == pytest.approx(
                kelvin, abs=0.01
            )


@pytest.mark.parametrize("bar", [5, 50, 100, 150, 200, 250])
@pytest.mark.parametrize("kelvin", [250.0, 273.15, 293.15, 310.0])
def test_agrees_with_the_reference_equation(bar: float, kelvin: float) -> None:
    coolprop = pytest.importorskip("CoolProp.CoolProp", reason="needs the test extra CoolProp")
    right = coolprop.PropsSI("D", "P", bar * 1e5, "T", kelvin, "Oxygen")

    assert TABLE.density(bar * 1e5, kelvin) == pytest.approx(right, rel=2e-3)


def test_cooling_without_heat_follows_the_reference_entropy() -> None:
    # Of a full bottle 20 % is drawn fast: -32.2 K and 134.1 bar at constant entropy.
    density, energy = TABLE.density(200e5, 293.15), 0.0
    kg, kelvin = density * 0.01, 293.15
    energy = kg * TABLE.energy_j_kg(density, kelvin)
    for _ in range(1000):
        taken = 0.2 * 2.796 / 1000
        z, _residual = TABLE.z_and_residual(kg / 0.01, kelvin)
        energy -= taken * (energy / kg + z * 259.837 * kelvin)
        kg -= taken
        kelvin = TABLE.temperature_k(kg / 0.01, energy / kg, kelvin)

    assert kelvin - 293.15 == pytest.approx(-32.2, abs=0.5)
    assert TABLE.pressure_pa(kg / 0.01, kelvin) / 1e5 == pytest.approx(134.1, abs=0.7)
