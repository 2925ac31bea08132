"""Tests for drivers.virtual.separator.

Source: the trade (common practice, no source): a stroke every 30 min of 30 s sends 30 to 60 g
of water to the coolant tank and shows as a blip of 0.05 kPa in the loop.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from drivers.virtual import water
from drivers.virtual.cooling import Tank
from drivers.virtual.rig import Rig
from drivers.virtual.separator import Separator

Run = Callable[..., None]


def strokes(
    separator: Separator, seconds: int, *, is_on: bool = True
) -> list[tuple[float, float]]:
    """Give start and end of each stroke."""
    tank, found, was = Tank(1.0, 290.0), [], False
    begun = 0.0
    for tick in range(1, seconds * 10 + 1):
        separator.step(tick / 10, 0.1, is_on, tank)
        if separator.is_stroking and not was:
            begun = tick / 10
        if was and not separator.is_stroking:
            found.append((begun, tick / 10))
        was = separator.is_stroking
    return found


def test_strokes_come_by_interval_and_last_as_set() -> None:
    found = strokes(Separator(270.0, 1800.0, 30.0), 4000)

    assert [start for start, _ in found] == [270.0, 2070.0, 3870.0]
    assert [end - start for start, end in found] == pytest.approx([29.9] * 3, abs=0.11)


def test_a_stroke_squeezes_the_sponge_into_the_tank() -> None:
    separator, tank = Separator(1.0, 1800.0, 30.0), Tank(1.0, 290.0)
    separator.take(0.020, 285.0)
    before = separator.kg
    energy = separator.energy_j + tank.energy_j
    for tick in range(1, 400):
        separator.step(tick / 10, 0.1, True, tank)

    assert tank.kg - 1.0 == pytest.approx(0.95 * before, rel=1e-6)
    assert separator.kg == pytest.approx(0.05 * before, rel=1e-6)
    assert separator.energy_j + tank.energy_j == pytest.approx(energy, rel=1e-12)


def test_switched_off_it_keeps_its_water_and_its_rhythm() -> None:
    separator = Separator(10.0, 100.0, 5.0)
    before = separator.kg
    assert strokes(separator, 150, is_on=False) == []
    assert separator.kg == before


def test_a_full_sponge_takes_no_more() -> None:
    separator = Separator(1e9, 1800.0, 30.0)

    assert separator.take(0.2, 285.0) == pytest.approx(0.2 - (0.150 - 0.030))
    assert separator.take(0.01, 285.0) == pytest.approx(0.01)
    assert separator.energy_j == pytest.approx(
        0.150 * water.liquid_j_kg(separator.temperature_k)
    )


def test_half_an_hour_of_breathing_gives_30_to_60_g(aloft: Rig, run: Run) -> None:
    aloft.loop.separator.kg = 0.0
    aloft.controls.stroke_on = False
    run(aloft, 1800)

    assert 0.030 < aloft.loop.separator.kg < 0.060


def test_a_stroke_blips_the_loop_by_50_pa(aloft: Rig, run: Run) -> None:
    aloft.controls.regulator_open = False
    loop = aloft.loop
    loop.separator = Separator(aloft.at_s + 5.0, 1800.0, 30.0)
    run(aloft, 4)
    before = loop.gas.pressure_pa
    trace: list[float] = []
    run(aloft, 6, lambda rig: trace.append(rig.loop.gas.pressure_pa))

    assert max(trace) - before == pytest.approx(50.0, abs=15.0)
