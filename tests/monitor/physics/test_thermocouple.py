"""Tests for monitor.physics.thermocouple.

Source: ITS-90 reference functions, NIST Monograph 175 / SRD 60 (= IEC 60584-1), values to
1e-6 mV computed with two independent libraries that agree (thermocouple-its90 1.0.2,
thermocouples_reference 0.20). The cold-junction example was computed with the same.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from monitor.physics.thermocouple import (
    degc_from_mv,
    mv_from_degc,
    reference_mv_from_degc,
    type_k_table,
)

TYPE_K = [(-270, -6.457738), (-200, -5.891404), (-100, -3.553631), (0, 0.0),
          (25, 1.000242), (100, 4.096230), (200, 8.138473), (300, 12.208566),
          (500, 20.644286), (1000, 41.275606), (1200, 48.838238),
          (1372, 54.886364)]  # fmt: skip


@pytest.mark.parametrize(("degc", "mv"), TYPE_K)
def test_the_reference_function_agrees_with_the_published_values(
    degc: float, mv: float
) -> None:
    assert reference_mv_from_degc(float(degc)) == pytest.approx(mv, abs=0.6e-6)


@pytest.mark.parametrize(("degc", "mv"), TYPE_K[1:-1])
def test_the_table_gives_the_temperature_back(degc: float, mv: float) -> None:
    # 1e-6 mV over the flattest slope in this range, 15 uV/degC at -200 degC, and the table.
    assert float(degc_from_mv(np.array(mv))) == pytest.approx(degc, abs=1e-3)


def test_straight_lines_in_the_table_stay_within_their_stated_error() -> None:
    degc = np.arange(-199.5, 1371.5, 7.0)

    error = mv_from_degc(degc) - [reference_mv_from_degc(x) for x in degc.tolist()]

    assert np.abs(error).max() < 0.03e-3


def test_a_cold_junction_is_added_in_millivolts_before_inverting() -> None:
    """Hot 200 degC, cold 25 degC: the meter reads 7.138231 mV."""
    hot = degc_from_mv(7.138231 + mv_from_degc(np.array([25.0])))

    assert hot[0] == pytest.approx(200.0, abs=1e-3)


@pytest.mark.parametrize("mv", [-6.5, 54.9, np.nan])
def test_outside_the_range_there_is_no_temperature(mv: float) -> None:
    assert np.isnan(degc_from_mv(np.array([mv]))[0])


def test_the_reference_function_has_a_range() -> None:
    assert math.isnan(reference_mv_from_degc(1373.0))


def test_the_table_rises_all_the_way() -> None:
    degcs, mvs = type_k_table()

    assert len(degcs) == 1643
    assert (np.diff(mvs) > 0).all()
