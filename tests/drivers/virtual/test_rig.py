"""Tests for drivers.virtual.rig.

Source: conservation of mass and energy: what the rig holds changes by exactly what its ledger
says came in. Tolerances are rounding: 1e-11 of a kilogram, 1e-9 of the energy that was moved.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest

from drivers.virtual.faults import Fault
from drivers.virtual.ledger import Balance, came_in
from drivers.virtual.rig import Rig
from drivers.virtual.scenario import Script, load_scenario

Run = Callable[..., None]

#: Everything that can leak, fail or stick, as far as gas, water and heat are concerned.
FAULTS = (
    Fault("cabin_leak", size=5.0),
    Fault("loop_leak", size=1.0),
    Fault("loop_ingress", size=2.0),
    Fault("bottle_leak", size=0.05),
    Fault("fan_failed", "1"),
    Fault("cabin_fan_failed"),
    Fault("absorber_exhausted"),
    Fault("valve_stuck", "loop_relief", 0.2),
)


def difference(after: Balance, before: Balance) -> Balance:
    return Balance(
        after.o2 - before.o2,
        after.n2 - before.n2,
        after.co2 - before.co2,
        after.water - before.water,
        after.energy_j - before.energy_j,
    )


def assert_closed(rig: Rig, start: Balance) -> None:
    change, came = difference(rig.held(), start), came_in(rig.ledger)
    assert change.o2 == pytest.approx(came.o2, abs=1e-11)
    assert change.n2 == pytest.approx(came.n2, abs=1e-11)
    assert change.co2 == pytest.approx(came.co2, abs=1e-11)
    assert change.water == pytest.approx(came.water, abs=1e-11)
    assert change.energy_j == pytest.approx(came.energy_j, abs=0.05)


def play(rig: Rig) -> None:
    script = Script(load_scenario("gondola"), rig)
    while not script.is_over:
        script.due()
        rig.step(0.1)


def test_every_balance_closes_over_the_whole_scenario() -> None:
    rig = Rig()
    start = rig.held()
    play(rig)

    # 10 kg of air went through pump and valve: the balance is no trivial one.
    assert -sum(kg["pump"] for kg in rig.ledger.kg) > 10.0
    assert_closed(rig, start)


def test_every_balance_closes_with_everything_broken(aloft: Rig, run: Run) -> None:
    start, came = aloft.held(), came_in(aloft.ledger)
    for fault in FAULTS:
        aloft.faults.set(fault)
    aloft.controls.chamber_target_pa = 300.0
    aloft.controls.loop_water = aloft.controls.cabin_water = 7.0
    run(aloft, 1200)
    aloft.controls.chamber_target_pa = 101_325.0
    run(aloft, 300)
    now = came_in(aloft.ledger)
    change, moved = difference(aloft.held(), start), difference(now, came)

    assert change.o2 == pytest.approx(moved.o2, abs=1e-11)
    assert change.n2 == pytest.approx(moved.n2, abs=1e-11)
    assert change.co2 == pytest.approx(moved.co2, abs=1e-11)
    assert change.water == pytest.approx(moved.water, abs=1e-11)
    assert change.energy_j == pytest.approx(moved.energy_j, abs=0.05)


def test_what_is_breathed_leaves_the_oxygen_account(aloft: Rig, run: Run) -> None:
    before = aloft.ledger.kg[0]["metabolism"]
    run(aloft, 600)

    # 0.895 kg a day (NASA BVAD Rev 2).
    assert before - aloft.ledger.kg[0]["metabolism"] == pytest.approx(0.895 * 600 / 86_400)


def test_the_same_steps_give_the_same_state() -> None:
    one, two = Rig(seed=1), Rig(seed=2)
    for rig in (one, two):
        rig.controls.chamber_target_pa = 5_000.0
        for _ in range(600):
            rig.step(0.1)

    assert one.truth() == two.truth()


def test_a_long_step_is_cut_into_short_ones() -> None:
    one, two = Rig(), Rig()
    one.step(1.0)
    for _ in range(10):
        two.step(0.1)

    assert one.truth() == two.truth()
    assert one.at_s == two.at_s == 1.0


def test_half_steps_give_nearly_the_same(run: Run) -> None:
    one, two = Rig(), Rig()
    for rig, dt_s in ((one, 0.1), (two, 0.05)):
        rig.controls.interface_open = False
        rig.controls.chamber_target_pa = 1_200.0
        for _ in range(round(900 / dt_s)):
            rig.step(dt_s)

    assert one.at_s == two.at_s == 900.0
    assert one.cabin.gas.pressure_pa == pytest.approx(two.cabin.gas.pressure_pa, rel=3e-3)
    assert one.loop.gas.temperature_k == pytest.approx(two.loop.gas.temperature_k, abs=0.3)


def test_it_runs_at_least_200_times_as_fast_as_real_time(aloft: Rig) -> None:
    begun = time.process_time()
    for _ in range(2000):
        aloft.step(0.1)
    spent = time.process_time() - begun

    assert 200.0 / spent > 200.0


def test_the_truth_has_a_name_for_everything_a_sensor_sees(aloft: Rig) -> None:
    truth = aloft.truth()

    assert truth["cabin_pa"] == aloft.cabin.gas.pressure_pa
    assert truth["secondary_feeds"] == 0.0
    assert len(truth) > 45
