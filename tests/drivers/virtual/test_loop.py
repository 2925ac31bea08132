"""Tests for drivers.virtual.loop.

Source: metabolic rates of NASA BVAD Rev 2, Table 3-31 (0.895 kg O2, 1.085 kg CO2 a day); sizes
of the trade (common practice, no source): fan pressure rise proportional to density, coast-down
in 3 to 10 s; relief reseats 3 to 8 % below cracking; the loop regulator holds the total, so
leaked-in nitrogen looks normal while oxygen falls.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from drivers.virtual import sizes
from drivers.virtual.faults import Fault
from drivers.virtual.gas import CO2, H2O, N2, O2
from drivers.virtual.rig import Rig

Run = Callable[..., None]


def over(rig: Rig) -> float:
    return rig.loop.gas.pressure_pa - rig.cabin.gas.pressure_pa


def test_make_up_replaces_what_is_breathed_and_leaks(aloft: Rig, run: Run) -> None:
    flows: list[float] = []
    run(aloft, 900, lambda rig: flows.append(rig.loop.make_up_kg_s))

    assert 0.62e-3 / 60 < sum(flows) / len(flows) < 1.0e-3 / 60


def test_the_loop_stays_above_the_cabin(aloft: Rig, run: Run) -> None:
    run(aloft, 60)

    assert over(aloft) == pytest.approx(sizes.LOOP_OVER_CABIN_PA, abs=sizes.LOOP_BAND_PA)


def test_nitrogen_gets_in_while_the_total_stays(aloft: Rig, run: Run) -> None:
    gas, cabin = aloft.loop.gas, aloft.cabin.gas
    cabin.kg[N2] += 0.3
    cabin.kg[O2] -= 0.3
    cabin.refresh()
    aloft.faults.set(Fault("loop_ingress", size=3.0))
    total, o2, n2 = gas.pressure_pa, gas.partial_pa(O2), gas.partial_pa(N2)
    run(aloft, 1800)

    assert gas.pressure_pa == pytest.approx(total, rel=0.01)
    assert gas.partial_pa(O2) < o2 - 5_000.0
    assert gas.partial_pa(N2) > n2 + 5_000.0


def test_with_the_cabin_vented_the_loop_holds_32_kpa(aloft: Rig, run: Run) -> None:
    aloft.controls.vent_open = True
    run(aloft, 60)
    aloft.controls.vent_open = False
    run(aloft, 300)

    assert aloft.cabin.gas.pressure_pa < 10_000.0
    assert aloft.loop.gas.pressure_pa == pytest.approx(sizes.LOOP_LEAST_PA, rel=0.01)


def test_the_relief_keeps_emergency_flow_from_bursting_the_loop(aloft: Rig, run: Run) -> None:
    aloft.controls.emergency = 1
    run(aloft, 120)

    assert aloft.loop.emergency_kg_s == pytest.approx(25e-3 / 60, rel=0.2)
    assert 0.92 * sizes.LOOP_RELIEF_PA < over(aloft) < 1.1 * sizes.LOOP_RELIEF_PA


def test_emergency_flow_comes_by_itself_with_the_inlet(aloft: Rig) -> None:
    aloft.controls.chamber_target_pa = sizes.ROOM_PA
    while aloft.chamber.gas.pressure_pa < 45_000.0:
        aloft.step(0.1)
    assert aloft.loop.emergency_kg_s == 0.0
    while aloft.chamber.gas.pressure_pa < 48_000.0:
        aloft.step(0.1)
    assert aloft.loop.emergency_kg_s > 0.0


def test_emergency_flow_comes_by_itself_at_low_loop_pressure(aloft: Rig, run: Run) -> None:
    aloft.controls.vent_open = True
    aloft.faults.set(Fault("loop_leak", size=20.0))
    run(aloft, 60)

    assert aloft.loop.emergency_opening == 1.0


def test_a_stuck_emergency_valve_does_not_come(aloft: Rig, run: Run) -> None:
    aloft.faults.set(Fault("valve_stuck", "emergency", 0.0))
    aloft.controls.emergency = 1
    run(aloft, 10)

    assert aloft.loop.emergency_kg_s == 0.0


def test_the_fans_pressure_rise_goes_with_density(aloft: Rig) -> None:
    ground = Rig()
    ratio = ground.loop.gas.density / aloft.loop.gas.density

    assert ground.loop.fan_rise_pa / aloft.loop.fan_rise_pa == pytest.approx(ratio, rel=0.01)


def test_co2_settles_low_and_breaks_through_when_the_absorber_is_used_up(
    aloft: Rig, run: Run
) -> None:
    gas = aloft.loop.gas
    assert 50.0 < gas.partial_pa(CO2) < 150.0
    aloft.faults.set(Fault("absorber_exhausted"))
    run(aloft, 60)
    # 1.256e-5 kg/s of CO2 into 60 L at 302 K, by hand: 11.9 Pa/s.
    assert gas.partial_pa(CO2) == pytest.approx(80.0 + 60 * 11.9, rel=0.1)


def test_the_absorber_lets_more_and_more_through_near_its_end(aloft: Rig, run: Run) -> None:
    before = aloft.loop.gas.partial_pa(CO2)
    aloft.loop.absorbed_kg = 0.95 * sizes.ABSORBER_KG
    run(aloft, 120)

    assert aloft.loop.gas.partial_pa(CO2) > 2.0 * before


def test_a_failed_fan_coasts_down_and_the_standby_starts(aloft: Rig, run: Run) -> None:
    aloft.faults.set(Fault("fan_failed", "1"))
    rises: list[float] = []
    full = aloft.loop.fan_rise_pa
    run(aloft, 20, lambda rig: rises.append(rig.loop.fan_rise_pa))
    gone = next(n for n, rise in enumerate(rises) if rise < 0.1 * full) / 10

    assert 2.5 < gone < 10.0
    assert rises[-1] > 0.9 * full


def test_the_trap_loads_slowly(aloft: Rig, run: Run) -> None:
    before = aloft.loop.trap_drop_pa / aloft.loop.gas.density
    run(aloft, 600)

    assert 1.005 < aloft.loop.trap_drop_pa / aloft.loop.gas.density / before < 1.05


def test_water_that_finds_no_room_in_the_sponge_stays_in_the_loop(aloft: Rig, run: Run) -> None:
    aloft.controls.stroke_on = False
    aloft.loop.separator.kg = sizes.SPONGE_KG
    before = aloft.loop.gas.kg[H2O]
    run(aloft, 120)

    assert aloft.loop.separator.kg == sizes.SPONGE_KG
    assert aloft.loop.gas.kg[H2O] > 1.2 * before


def test_an_open_interface_makes_loop_and_cabin_one(run: Run) -> None:
    rig = Rig()
    run(rig, 30)

    assert abs(over(rig)) < 50.0
    assert rig.loop.make_up_kg_s == 0.0


def test_the_flap_keeps_the_loop_from_collapsing(aloft: Rig, run: Run) -> None:
    aloft.controls.emergency = -1
    aloft.controls.chamber_target_pa = sizes.ROOM_PA
    lowest: list[float] = []
    run(aloft, 300, lambda rig: lowest.append(over(rig)))

    assert min(lowest) > -3_000.0


def test_without_header_pressure_nothing_is_made_up(aloft: Rig, run: Run) -> None:
    for bottle in (aloft.supply.primary, aloft.supply.secondary):
        bottle.energy_j *= 0.002
        bottle.kg *= 0.002
        bottle.settle(0.1, sizes.BAY_K)
    aloft.supply.take(aloft.chamber.gas, 0.95 * aloft.supply.header.mass_kg)
    run(aloft, 5)
    assert aloft.supply.header.pressure_pa < 2.0 * aloft.loop.gas.pressure_pa

    assert aloft.loop.make_up_kg_s == 0.0
