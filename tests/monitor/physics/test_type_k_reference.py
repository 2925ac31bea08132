"""Tests for monitor.physics.type_k_reference.

Source: ITS-90 reference functions, NIST Monograph 175 / SRD 60 (= IEC 60584-1), values to
1e-6 mV computed with two independent libraries that agree (thermocouple-its90 1.0.2,
thermocouples_reference 0.20). Slope at 0 degC 39.450 uV/degC, computed with the same.
"""

from __future__ import annotations

import math

import pytest

from monitor.physics.type_k_reference import reference_mv_from_degc

# degC, mV: rows copied, none computed here.
TYPE_K = [
    (-270, -6.457738),
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
    (1372, 54.886364),
]

# Half the last digit that the source prints.
SOURCE_MV = 0.5e-6


@pytest.mark.parametrize(("degc", "mv"), TYPE_K)
def test_it_agrees_with_the_published_values(degc: float, mv: float) -> None:
    assert reference_mv_from_degc(float(degc)) == pytest.approx(mv, abs=SOURCE_MV)


def test_both_sides_of_0_degc_meet_with_the_published_slope() -> None:
    below = (reference_mv_from_degc(0.0) - reference_mv_from_degc(-0.01)) / 0.01
    above = (reference_mv_from_degc(0.01) - reference_mv_from_degc(0.0)) / 0.01

    assert below == pytest.approx(0.039450, abs=1e-6)
    assert above == pytest.approx(0.039450, abs=1e-6)


@pytest.mark.parametrize("degc", [-270.01, 1372.01, math.nan])
def test_outside_its_range_there_is_no_voltage(degc: float) -> None:
    assert math.isnan(reference_mv_from_degc(degc))
