"""Tests for drivers.virtual.sizes.

Source: common practice, no source: a cabin near 5.5 psia, a regulator that shuts below about
4.1 psia, an ambient inlet near 20 000 ft (46.6 kPa in the US Standard Atmosphere 1976).
"""

from __future__ import annotations

import pytest

from drivers.virtual import sizes

PSI_PA = 6894.757


def test_the_cabins_pressures_are_the_usual_ones() -> None:
    assert pytest.approx(5.5, abs=0.02) == sizes.CABIN_SET_PA / PSI_PA
    assert pytest.approx(4.1, abs=0.02) == sizes.CABIN_CUT_OFF_PA / PSI_PA
    assert pytest.approx(46_560, rel=2e-3) == sizes.INLET_OPEN_PA


def test_what_switches_has_hysteresis_in_the_right_sense() -> None:
    assert sizes.CABIN_CUT_OFF_PA < sizes.CABIN_CUT_IN_PA < sizes.CABIN_SET_PA
    assert sizes.INLET_SHUT_PA < sizes.INLET_OPEN_PA
    assert 0.92 <= sizes.RESEAT <= 0.97


def test_the_outflow_valve_opens_above_the_regulator_and_below_the_relief() -> None:
    assert (
        sizes.CABIN_SET_PA
        < sizes.CABIN_OUTFLOW_SHUT_PA
        < sizes.CABIN_OUTFLOW_OPEN_PA
        < sizes.CABIN_RELIEF_PA
    )


def test_the_primary_is_set_higher_than_a_full_secondary_locks_up() -> None:
    from_full_pa = sizes.INLET_EFFECT * (200.0 - sizes.SECONDARY_BAR) * 1e5
    lock_up_pa = (sizes.SECONDARY_SET_PA + from_full_pa) * (1.0 + sizes.LOCK_UP)

    assert lock_up_pa < sizes.PRIMARY_SET_PA


def test_the_loop_never_regulates_into_its_own_relief() -> None:
    assert sizes.LOOP_OVER_CABIN_PA + sizes.LOOP_BAND_PA < sizes.RESEAT * sizes.LOOP_RELIEF_PA
    assert sizes.LOOP_LEAST_PA < sizes.LOOP_RELIEF_LOCK_PA
    assert sizes.EMERGENCY_BELOW_PA < sizes.LOOP_LEAST_PA
