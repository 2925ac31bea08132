"""Tests for drivers.virtual.bottle.

Source: sizes of the trade worked out with a lumped model of a 10 L oxygen bottle: 20 % drawn
fast has an adiabatic limit of -32 K and 134 bar and comes back towards 159 bar; really about
half of that; the gas follows its metal within 1 to 3 min, the metal its bay within 5 to 20 min.
"""

from __future__ import annotations

import pytest

from drivers.virtual.bottle import Bottle
from drivers.virtual.realgas import load_oxygen_table


def full() -> Bottle:
    return Bottle(load_oxygen_table(), 200e5, 293.15)


def draw_a_fifth(bottle: Bottle, seconds: int) -> None:
    part = 0.2 * bottle.kg / (seconds * 10)
    for _ in range(seconds * 10):
        bottle.draw(part)
        bottle.settle(0.1, 293.15)


def wait(bottle: Bottle, seconds: int) -> None:
    for _ in range(seconds * 10):
        bottle.settle(0.1, 293.15)


def test_a_full_bottle_holds_2796_g() -> None:
    assert full().kg == pytest.approx(2.7960, rel=5e-4)


def test_drawn_in_an_instant_it_reaches_the_adiabatic_limit() -> None:
    bottle = full()
    draw_a_fifth(bottle, 1)

    assert bottle.temperature_k - 293.15 == pytest.approx(-32.0, abs=1.5)
    assert bottle.pressure_pa / 1e5 == pytest.approx(134.0, abs=1.5)


def test_drawn_within_two_minutes_it_cools_about_half_of_that() -> None:
    bottle = full()
    draw_a_fifth(bottle, 120)

    assert -22.0 < bottle.temperature_k - 293.15 < -13.0


def test_pressure_comes_back_towards_159_bar_within_minutes() -> None:
    bottle = full()
    draw_a_fifth(bottle, 60)
    low = bottle.pressure_pa
    wait(bottle, 180)
    back = bottle.pressure_pa
    wait(bottle, 3000)

    assert bottle.pressure_pa / 1e5 == pytest.approx(159.4, abs=0.7)
    # The gas has done most of its way within 3 min, the metal has not.
    assert 0.6 < (back - low) / (bottle.pressure_pa - low) < 0.9


def test_the_skin_is_warmer_than_the_gas_while_it_is_drawn() -> None:
    bottle = full()
    draw_a_fifth(bottle, 60)

    assert bottle.metal_k - bottle.temperature_k > 10.0


def test_the_metal_takes_a_quarter_of_an_hour_to_follow_its_bay() -> None:
    bottle = full()
    draw_a_fifth(bottle, 60)
    wait(bottle, 240)
    first = 293.15 - bottle.metal_k
    wait(bottle, 900)

    assert first > 3.0
    assert 0.2 < (293.15 - bottle.metal_k) / first < 0.5


def test_what_leaves_takes_its_enthalpy() -> None:
    bottle = full()
    energy, kg = bottle.energy_j, bottle.kg
    enthalpy = bottle.draw(0.1)

    assert enthalpy == pytest.approx(0.1 * bottle.enthalpy_j_kg)
    assert bottle.energy_j == pytest.approx(energy - enthalpy)
    assert bottle.kg == pytest.approx(kg - 0.1)


def test_heat_from_the_bay_is_accounted_for() -> None:
    bottle = full()
    draw_a_fifth(bottle, 60)
    before = bottle.energy_j + 6.2e3 * bottle.metal_k
    heat = sum(bottle.settle(0.1, 293.15) for _ in range(1000))

    assert bottle.energy_j + 6.2e3 * bottle.metal_k - before == pytest.approx(heat, rel=1e-9)
