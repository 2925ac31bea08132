"""Tests for monitor.physics.thermocouple.

Source: ITS-90 reference functions, NIST Monograph 175 / SRD 60 (= IEC 60584-1), values to
1e-6 mV computed with two independent libraries that agree (thermocouple-its90 1.0.2,
thermocouples_reference 0.20). The cold-junction example was computed with the same. How far
straight lines are from the curve: against the reference function, tested by itself.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.physics.thermocouple import degc_from_mv, mv_from_degc, type_k_table
from monitor.physics.type_k_reference import reference_mv_from_degc

# degC, mV: rows copied, none computed here.
TYPE_K = [
    (-200, -5.891404),
    (-100, -3.553631),
    (-50, -1.889383),
    (0, 0.0),
    (25, 1.000242),
    (100, 4.096230),
    (200, 8.138473),
    (300, 12.208566),
    (500, 20.644286),
    (1000, 41.275606),
    (1200, 48.838238),
]

# Half the source's last digit, over the flattest slope (0.0153 mV/degC at -200 degC).
SOURCE_DEGC = 0.5e-6 / 0.0153


@pytest.mark.parametrize(("degc", "mv"), TYPE_K)
def test_the_table_agrees_with_the_published_values_both_ways(degc: float, mv: float) -> None:
    assert float(mv_from_degc(np.array(float(degc)))) == pytest.approx(mv, abs=0.5e-6)
    assert float(degc_from_mv(np.array(mv))) == pytest.approx(degc, abs=SOURCE_DEGC)


def test_straight_lines_between_rows_stay_within_their_stated_error() -> None:
    degc = np.arange(-269.97, 1371.9, 0.37)
    mv = np.array([reference_mv_from_degc(t) for t in degc.tolist()])

    assert np.abs(mv_from_degc(degc) - mv).max() < 0.02e-3
    assert np.abs(degc_from_mv(mv) - degc).max() < 0.0005


def test_a_cold_junction_is_added_in_millivolts_before_inverting() -> None:
    """Hot 200 degC, cold 25 degC: the meter reads 7.138231 mV.

    Inverted alone that is 174.946 degC; inverted and 25 added 199.946 degC. Both are wrong.
    """
    hot = degc_from_mv(7.138231 + mv_from_degc(np.array([25.0])))

    assert hot[0] == pytest.approx(200.0, abs=1e-3)


@pytest.mark.parametrize("mv", [-6.4578, 54.8864, np.nan])
def test_outside_the_curve_there_is_no_temperature(mv: float) -> None:
    assert np.isnan(degc_from_mv(np.array([mv]))[0])


@pytest.mark.parametrize("degc", [-270.1, 1372.1, np.nan])
def test_outside_the_curve_there_is_no_voltage(degc: float) -> None:
    assert np.isnan(mv_from_degc(np.array([degc]))[0])


def test_the_table_rises_all_the_way_and_cannot_be_written_to() -> None:
    degc, mv = type_k_table()

    assert (degc[0], degc[-1]) == (-270.0, 1372.0)
    assert (np.diff(degc) > 0).all()
    assert (np.diff(mv) > 0).all()
    with pytest.raises(ValueError, match="read-only"):
        mv[0] = 1.0
