"""Tests for drivers.virtual.faults.

Source: hand-worked here.
"""

from __future__ import annotations

from typing import Any

import pytest

from drivers.virtual.faults import Fault, Faults


def test_a_fault_is_on_between_set_and_clear() -> None:
    faults = Faults()
    faults.set(Fault("cabin_leak", size=1.5))
    assert faults.has("cabin_leak")
    assert faults.leak_m2("cabin_leak") == pytest.approx(1.5e-6)
    faults.clear("cabin_leak")
    assert not faults.has("cabin_leak")
    assert faults.leak_m2("cabin_leak") == 0.0


def test_clearing_what_is_not_on_does_nothing() -> None:
    faults = Faults((Fault("fan_failed", "1"),))
    faults.clear("fan_failed", "2")

    assert faults.has("fan_failed", "1")


def test_the_same_kind_may_hit_two_targets() -> None:
    faults = Faults((Fault("sensor_noisy", "a", 1.0), Fault("sensor_noisy", "b", 2.0)))

    assert (faults.size("sensor_noisy", "a"), faults.size("sensor_noisy", "b")) == (1.0, 2.0)


def test_a_stuck_valve_stands_where_it_is_stuck() -> None:
    faults = Faults((Fault("valve_stuck", "inlet", 0.4),))

    assert faults.opening("inlet", 1.0) == 0.4
    assert faults.opening("vent", 1.0) == 1.0


@pytest.mark.parametrize(
    ("kind", "target"),
    [
        ("leaks_everywhere", ""),
        ("valve_stuck", "hatch"),
        ("fan_failed", ""),
        ("sensor_stuck", ""),
        ("wire_unplugged", ""),
    ],
)
def test_a_fault_that_would_do_nothing_is_refused(kind: Any, target: str) -> None:
    with pytest.raises(ValueError, match=kind):
        Fault(kind, target)
