"""Tests for monitor.display.state.trend.

Source: hand-worked here.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.display.state.series import Series
from monitor.display.state.trend import trend
from monitor.samples import Floats

S = 1_000_000_000


def series_of(value: Floats, step_ns: int = S) -> Series:
    """Give a series with one row each *step_ns* from 0 on."""
    series = Series()
    series.append(np.arange(value.size, dtype=np.int64) * step_ns, value)
    return series


RAMP = np.linspace(0.0, 1.0, 61)


@pytest.mark.parametrize(
    ("change", "expected"),
    [(0.5, 0), (2.0, 1), (-2.0, -1), (10.0, 2), (-10.0, -2), (0.0, 0)],
)
def test_a_change_in_a_minute_is_graded_by_its_share_of_the_span(
    change: float, expected: int
) -> None:
    assert trend(series_of(RAMP * change), 60 * S, 100.0) == expected


def test_noise_points_nowhere_even_when_it_is_larger_than_the_dead_zone() -> None:
    noise = np.random.default_rng(1).normal(size=61) * 5

    assert trend(series_of(noise), 60 * S, 100.0) == 0


def test_too_few_rows_tell_nothing() -> None:
    assert trend(series_of(RAMP[:5]), 60 * S, 1.0) is None


def test_less_than_half_a_minute_tells_nothing() -> None:
    assert trend(series_of(RAMP[:25]), 24 * S, 1.0) is None


def test_a_gap_tells_nothing() -> None:
    value = RAMP.copy()
    value[30] = np.nan

    assert trend(series_of(value), 60 * S, 1.0) is None


def test_rows_bunched_at_one_end_tell_nothing() -> None:
    series = Series()
    t_ns = np.array([0, 50, 51, 52, 53, 54, 55]) * S
    series.append(t_ns, np.arange(7.0))

    assert trend(series, 60 * S, 1.0) is None


@pytest.mark.parametrize("span", [0.0, -1.0, float("nan")])
def test_without_a_span_there_is_nothing_to_measure_by(span: float) -> None:
    assert trend(series_of(RAMP), 60 * S, span) is None
