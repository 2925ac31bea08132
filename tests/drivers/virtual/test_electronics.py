"""Tests for drivers.virtual.electronics.

Source: hand-worked here: 200 W into 9 kJ/K is 1.33 K a minute; 200 W boil 0.29 kg/h.
"""

from __future__ import annotations

import pytest

from drivers.virtual.cooling import Tank
from drivers.virtual.electronics import Electronics
from drivers.virtual.gas import filled
from drivers.virtual.ledger import Ledger


def run(seconds: int, setting: float, *, on_cart: bool = False) -> tuple[Electronics, Ledger]:
    made, ledger = Electronics(), Ledger()
    tank, out = Tank(5.0, 293.15), filled(1e5, 1_200.0, 293.15, (0.2, 0.8, 0.0, 0.0))
    for _ in range(seconds * 10):
        made.heat(0.1, 1.0, on_cart, ledger)
        made.cool(0.1, setting, tank, 38_000.0, out)
    return made, ledger


def test_without_cooling_the_plate_warms_by_its_load() -> None:
    made, ledger = run(60, 0.0)

    assert made.plate.temperature_k - 293.15 == pytest.approx(1.333, abs=0.01)
    assert ledger.joule["electricity"] == pytest.approx(12_000.0)


def test_water_carries_the_load_away() -> None:
    made, _ = run(3600, 6.0)

    assert made.plate.temperature_k < 300.0
    # 0.29 for the load, and some that still cools the plate.
    assert made.plate.steam_kg_s * 3600 == pytest.approx(0.30, abs=0.02)


def test_the_ground_cart_cools_it_too() -> None:
    made, _ = run(1800, 0.0, on_cart=True)

    # 200 W over 30 W/K above 285 K.
    assert made.plate.temperature_k == pytest.approx(285.0 + 200.0 / 30.0, abs=0.5)
