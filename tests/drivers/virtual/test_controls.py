"""Tests for drivers.virtual.controls.

Source: hand-worked here: what a rig that nobody has touched stands at.
"""

from __future__ import annotations

from drivers.virtual import sizes
from drivers.virtual.controls import Controls


def test_untouched_the_rig_is_safe_on_the_ground() -> None:
    controls = Controls()

    assert controls.chamber_target_pa == sizes.ROOM_PA
    assert controls.interface_open
    assert controls.ground_cart
    assert controls.emergency == -1
    assert controls.fan_selector == 0
    assert not controls.vent_open
    assert not controls.repressurise_open
    assert controls.loop_water == controls.cabin_water == controls.electronics_water == 0.0
