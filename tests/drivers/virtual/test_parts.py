"""Tests for drivers.virtual.parts.

Source: hand-worked here: on the ground everything stands at room pressure.
"""

from __future__ import annotations

import pytest

from drivers.virtual import sizes
from drivers.virtual.parts import Parts
from drivers.virtual.separator import Separator


def test_the_rig_starts_on_the_ground() -> None:
    parts = Parts(Separator(1.0, 2.0, 0.5))

    for gas in (parts.chamber.gas, parts.cabin.gas, parts.loop.gas):
        assert gas.pressure_pa == pytest.approx(sizes.ROOM_PA)
    assert parts.tank.kg == sizes.TANK_START_KG


def test_two_rigs_share_nothing() -> None:
    one, two = Parts(Separator(1.0, 2.0, 0.5)), Parts(Separator(1.0, 2.0, 0.5))
    one.controls.vent_open = True
    one.cabin.gas.heat(1e4)

    assert not two.controls.vent_open
    assert two.cabin.gas.pressure_pa == pytest.approx(sizes.ROOM_PA)
