"""Tests for drivers.virtual.chamber.

Source: sizes of the trade (common practice, no source): pump time constant 2 to 3 min;
outgassing; slow warming under the lamps. Masses through the air valve by the ideal gas.
"""

from __future__ import annotations

import math

import pytest

from drivers.virtual import sizes
from drivers.virtual.chamber import Chamber
from drivers.virtual.ledger import Ledger, came_in


def run(chamber: Chamber, target_pa: float, seconds: float, lamps: float = 0.0) -> Ledger:
    ledger = Ledger()
    for _ in range(round(seconds * 10)):
        chamber.step(0.1, target_pa, lamps, ledger)
    return ledger


def test_the_pump_takes_2_to_3_min_for_a_fall_to_one_e_th() -> None:
    chamber = Chamber()
    run(chamber, 100.0, 120)
    start, seconds = chamber.gas.pressure_pa, 0
    while chamber.gas.pressure_pa > start / math.e:
        run(chamber, 100.0, 1)
        seconds += 1

    assert 120 <= seconds <= 180


def test_it_holds_its_target() -> None:
    chamber = Chamber()
    run(chamber, 1200.0, 900)

    assert chamber.gas.pressure_pa == pytest.approx(1200.0, rel=0.02)


def test_it_comes_back_to_the_ground_within_ten_minutes() -> None:
    chamber = Chamber()
    run(chamber, 1200.0, 800)
    run(chamber, sizes.ROOM_PA, 600)

    assert chamber.gas.pressure_pa == pytest.approx(sizes.ROOM_PA, rel=0.03)


def test_gas_cools_on_the_way_up_and_warms_on_the_way_down() -> None:
    chamber = Chamber()
    run(chamber, 1200.0, 60)
    assert chamber.gas.temperature_k < sizes.ROOM_K - 10.0
    run(chamber, 1200.0, 800)
    run(chamber, sizes.ROOM_PA, 60)
    assert chamber.gas.temperature_k > sizes.ROOM_K + 10.0


def test_walls_warm_slowly_under_the_lamps() -> None:
    chamber = Chamber()
    run(chamber, sizes.ROOM_PA, 600, lamps=1.0)

    assert 0.3 < chamber.wall_k - sizes.ROOM_K < 2.0


def test_left_alone_in_vacuum_it_outgasses() -> None:
    chamber = Chamber()
    run(chamber, 300.0, 1200)
    vapour = chamber.gas.kg[3]
    pressure = chamber.gas.pressure_pa
    # Pump off: a target that it is at already.
    for _ in range(6000):
        chamber.step(0.1, chamber.gas.pressure_pa, 0.0, Ledger())

    assert chamber.gas.kg[3] > vapour
    assert chamber.gas.pressure_pa > pressure


def test_the_ledger_accounts_for_every_kilogram_and_joule() -> None:
    chamber = Chamber()

    def energy() -> float:
        return chamber.gas.energy_j + chamber.wall_k * sizes.CHAMBER_WALL_J_K

    kg, joule = list(chamber.gas.kg), energy()
    total = Ledger()
    for target in (5e3, 5e4):
        for _ in range(3000):
            chamber.step(0.1, target, 1.0, total)
    came = came_in(total)

    assert chamber.gas.kg[0] - kg[0] == pytest.approx(came.o2, abs=1e-12)
    assert chamber.gas.kg[1] - kg[1] == pytest.approx(came.n2, abs=1e-12)
    assert energy() - joule == pytest.approx(came.energy_j, abs=1e-3)
