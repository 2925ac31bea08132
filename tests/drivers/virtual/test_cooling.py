"""Tests for drivers.virtual.cooling.

Source: IAPWS-IF97 (water boils at 37 degC at 6.28 kPa, at 10 degC at 1.23 kPa, there is no
liquid below 0.611 kPa; 150 W of evaporation is 0.22 kg/h); sizes of the trade (common practice,
no source): no boiling on the ground; icing shows in the exhaust first, in the loop 5 to 15 min
later. Balances by hand.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from drivers.virtual import sizes, water
from drivers.virtual.cooling import Evaporator, Tank, cool_gas, cool_on_ground
from drivers.virtual.gas import H2O, Gas, filled
from drivers.virtual.ledger import Ledger
from drivers.virtual.rig import Rig

Run = Callable[..., None]
PRESS_PA = 38_000.0


def vacuum(pressure_pa: float) -> Gas:
    return filled(1e5, pressure_pa, 293.15, (0.2, 0.8, 0.0, 0.0))


def boil(pressure_pa: float, watt: float, setting: float, seconds: int) -> Evaporator:
    """Run an evaporator with a constant heat load."""
    cold = Evaporator(sizes.LOOP_FEED_KG_S, sizes.EVAPORATOR_J_K, 300.0)
    tank, out = Tank(10.0, 293.15), vacuum(pressure_pa)
    for _ in range(seconds * 10):
        cold.heat(watt * 0.1)
        cold.step(0.1, setting, tank, PRESS_PA, out)
    return cold


def test_150_w_take_220_g_of_water_an_hour() -> None:
    cold = boil(1_200.0, 150.0, 6.0, 1800)

    assert cold.steam_kg_s * 3600 == pytest.approx(0.22, abs=0.01)


@pytest.mark.parametrize(("kpa", "celsius"), [(1.228, 10.0), (6.282, 37.0), (2.339, 20.0)])
def test_wet_metal_settles_a_little_above_the_boiling_point(kpa: float, celsius: float) -> None:
    # The duct adds some 70 Pa, the metal is 2 K warmer than the water.
    cold = boil(kpa * 1e3, 150.0, 7.0, 3000)

    assert celsius < cold.temperature_k - 273.15 < celsius + 5.0


def test_nothing_boils_on_the_ground() -> None:
    cold = boil(101_325.0, 150.0, 6.0, 60)

    assert cold.steam_kg_s == 0.0
    assert cold.temperature_k > 300.0


def test_too_much_water_wets_the_duct_and_too_little_does_not() -> None:
    assert boil(1_200.0, 100.0, 7.0, 3000).is_wet
    assert not boil(1_200.0, 150.0, 5.0, 3000).is_wet


def test_below_the_triple_point_too_much_water_freezes() -> None:
    cold = boil(300.0, 60.0, 7.0, 1500)

    assert cold.ice_kg > 0.01
    assert cold.exhaust_k < 273.15
    assert cold.free_share < 0.8


def test_ice_thaws_when_the_water_is_shut_off() -> None:
    cold = boil(300.0, 60.0, 7.0, 1500)
    before, out = cold.ice_kg, vacuum(1_500.0)
    for _ in range(6000):
        cold.heat(10.0)
        cold.step(0.1, 0.0, Tank(1.0, 293.15), PRESS_PA, out)

    assert cold.ice_kg < 0.1 * before


def test_icing_shows_in_the_exhaust_minutes_before_the_loop_warms(aloft: Rig, run: Run) -> None:
    aloft.controls.chamber_target_pa = 300.0
    aloft.controls.loop_water = 7.0
    exhaust: list[float] = []
    loop: list[float] = []

    def watch(rig: Rig) -> None:
        exhaust.append(rig.loop.cold.exhaust_k)
        loop.append(rig.loop.gas.temperature_k)

    run(aloft, 3000, watch)
    first_ice = next(n for n, kelvin in enumerate(exhaust) if kelvin < 273.15)
    coldest = min(loop)
    warmer = next(
        n for n, kelvin in enumerate(loop) if n > first_ice and kelvin > coldest + 0.5
    )

    assert 5 * 60 < (warmer - first_ice) / 10 < 15 * 60


def test_without_loop_pressure_no_coolant_comes() -> None:
    tank = Tank(1.0, 293.15)

    assert tank.feed(0.001, -5.0) == 0.0
    assert tank.feed(0.001, 9_000.0) == pytest.approx(0.0005)
    assert tank.kg == pytest.approx(0.9995)


def test_a_dry_tank_gives_what_is_left() -> None:
    tank = Tank(0.0004, 293.15)

    assert tank.feed(0.001, 36_000.0) == pytest.approx(0.0004)
    assert tank.kg == 0.0


def test_filling_a_tank_mixes_its_temperature() -> None:
    tank = Tank(1.0, 300.0)
    before = tank.energy_j + water.liquid_j_kg(280.0)
    tank.fill(1.0, 280.0)

    assert tank.temperature_k == pytest.approx(290.0)
    assert tank.energy_j == pytest.approx(before)


def test_gas_cools_towards_the_metal_and_its_heat_goes_there() -> None:
    gas = filled(0.06, 38_600.0, 303.0, (1.0, 0.0, 0.0, 0.0))
    cold = Evaporator(0.0, 2_500.0, 283.0)
    before = gas.energy_j + cold.energy_j
    cooled = cool_gas(gas, 0.02, 0.9, cold)

    assert cooled.outlet_k == pytest.approx(303.0 - 0.9 * 20.0)
    assert cooled.water_kg == 0.0
    assert gas.energy_j + cold.energy_j == pytest.approx(before, rel=1e-12)


def test_vapour_condenses_where_the_outlet_is_below_its_dew_point() -> None:
    gas = filled(0.06, 38_600.0, 303.0, (0.9, 0.0, 0.0, 0.1))
    cold = Evaporator(0.0, 2_500.0, 283.0)
    kg, before = gas.kg[H2O], gas.energy_j + cold.energy_j
    cooled = cool_gas(gas, 0.02, 0.9, cold)
    liquid = cooled.water_kg * water.liquid_j_kg(cooled.outlet_k)

    # Outlet 285 K: saturation 1.383 kPa of 3.86 kPa stays, the rest of 2 % of the vapour goes.
    assert cooled.water_kg == pytest.approx(0.02 * kg * (1.0 - 1.383 / 3.86), rel=5e-3)
    assert gas.energy_j + cold.energy_j + liquid == pytest.approx(before, rel=1e-12)


def test_the_ground_cart_takes_heat_out_of_the_boundary() -> None:
    cold, ledger = Evaporator(0.0, 2_500.0, 300.0), Ledger()
    before = cold.energy_j
    cold.step(0.1, 0.0, Tank(0.0, 293.0), 0.0, vacuum(1e5))
    cool_on_ground(cold, 0.1, ledger)

    assert ledger.joule["ground cart"] == pytest.approx(30.0 * (285.0 - 300.0) * 0.1)
    assert cold.energy_j - before == pytest.approx(ledger.joule["ground cart"])
