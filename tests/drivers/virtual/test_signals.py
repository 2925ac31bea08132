"""Tests for drivers.virtual.signals.

Source: hand-worked here: names are unique, and every sensor looks at something there is.
"""

from __future__ import annotations

from drivers.virtual.rig import Rig
from drivers.virtual.sensors import Sensor
from drivers.virtual.signals import INSTRUMENTS


def test_names_are_unique_over_all_instruments() -> None:
    names = [plan.signal for plans in INSTRUMENTS.values() for plan in plans]

    assert len(names) == len(set(names)) > 40


def test_every_sensor_reads_something_on_the_ground() -> None:
    rig = Rig()
    raws = {
        plan.signal: Sensor(plan, rig).read()
        for plans in INSTRUMENTS.values()
        for plan in plans
    }

    assert all(3.8 <= raw <= 20.5 for name, raw in raws.items() if name.endswith("_ma"))
    assert all(95.0 < raw < 115.0 for name, raw in raws.items() if name.endswith("_ohm"))
