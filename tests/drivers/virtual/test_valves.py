"""Tests for drivers.virtual.valves.

Source: the trade (common practice, no source): a relief valve reseats 3 to 8 % below cracking;
a contact has two switching points; a regulator that sticks hunts.
"""

from __future__ import annotations

from drivers.virtual import sizes
from drivers.virtual.valves import Latch, Needle, Relief


def test_a_relief_valve_reseats_lower_than_it_cracks() -> None:
    relief = Relief(1000.0)
    assert relief.step(990.0) == 0.0
    assert relief.step(1010.0) > 0.0
    assert relief.step(960.0) > 0.0
    assert relief.step(940.0) == 0.0
    assert relief.step(990.0) == 0.0


def test_a_relief_valve_opens_wide_with_more_pressure() -> None:
    relief = Relief(1000.0)

    assert relief.step(1010.0) < relief.step(1040.0) < relief.step(2000.0) == 1.0


def test_a_latch_keeps_its_state_between_its_points() -> None:
    latch = Latch(10.0, 8.0, is_on=False)

    assert [latch.step(value) for value in (9, 11, 9, 7, 9)] == [
        False,
        True,
        True,
        False,
        False,
    ]


def test_a_needle_sticks_until_pulled_hard_enough() -> None:
    needle = Needle()
    stuck = sizes.CABIN_SET_PA - 0.9 * sizes.CABIN_STICK * sizes.CABIN_BAND_PA
    loose = sizes.CABIN_SET_PA - 1.1 * sizes.CABIN_STICK * sizes.CABIN_BAND_PA
    for _ in range(100):
        needle.step(stuck, 0.1)
    assert needle.opening <= sizes.CABIN_CREEP
    for _ in range(100):
        needle.step(loose, 0.1)
    assert needle.opening > sizes.CABIN_STICK
    needle.shut()
    assert needle.opening == 0.0


def test_a_needle_is_wide_open_below_its_band() -> None:
    needle = Needle()
    for _ in range(200):
        needle.step(sizes.CABIN_SET_PA - 2.0 * sizes.CABIN_BAND_PA, 0.1)

    assert needle.opening > 0.99
