"""Tests for monitor.channels.trend.

Source: Percentage points of Student's t as printed in common tables (for example NIST/SEMATECH
e-Handbook 1.3.6.7.2; from memory), to 3 decimals. Lines fitted by exact fractions, and by
numpy.polyfit. The rest hand-worked here.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import pytest

from monitor.channels.plan import NO_TREND_S, Slope, TimeTo
from monitor.channels.trend import Slopes, Times, Trends, is_covered, t_quantile
from monitor.channels.windows import Sums, Windows
from tests.monitor.channels.made import START_NS, S

# Confidence on one side: quantile of the normal distribution, to 6 decimals.
NORMAL = {0.90: 1.281552, 0.95: 1.644854, 0.975: 1.959964, 0.99: 2.326348}

# Confidence on one side, degrees of freedom, printed value.
STUDENT = [
    *((0.90, 6, 1.440), (0.90, 8, 1.397), (0.90, 10, 1.372), (0.90, 20, 1.325)),
    *((0.90, 30, 1.310), (0.90, 60, 1.296), (0.90, 120, 1.289)),
    *((0.95, 6, 1.943), (0.95, 8, 1.860), (0.95, 10, 1.812), (0.95, 20, 1.725)),
    *((0.95, 30, 1.697), (0.95, 60, 1.671), (0.95, 120, 1.658)),
    *((0.975, 6, 2.447), (0.975, 8, 2.306), (0.975, 10, 2.228), (0.975, 20, 2.086)),
    *((0.975, 30, 2.042), (0.975, 60, 2.000), (0.975, 120, 1.980)),
    *((0.99, 6, 3.143), (0.99, 8, 2.896), (0.99, 10, 2.764), (0.99, 20, 2.528)),
    *((0.99, 30, 2.457), (0.99, 60, 2.390), (0.99, 120, 2.358)),
]


@pytest.mark.parametrize(("confidence", "freedom", "printed"), STUDENT)
def test_quantiles_of_t_are_those_of_the_tables(
    confidence: float, freedom: int, printed: float
) -> None:
    found = t_quantile(np.array(NORMAL[confidence]), np.array(float(freedom)))

    # The last digit printed, and at 6 degrees of freedom what the series leaves out.
    allowed = 0.0005 + (0.003 if freedom == 6 else 0.0)
    assert float(found) == pytest.approx(printed, abs=allowed)


def sums_of(window_s: float, rows: Sequence[tuple[float, float]]) -> Sums:
    """Give the sums of a window over rows of (seconds, value)."""
    t_ns = np.array([[START_NS + round(t * S)] for t, _ in rows], dtype=np.int64)
    value = np.array([[x] for _, x in rows])
    return Windows([round(window_s * S)]).step(t_ns, value, np.array([len(rows)]))


def slope_of(window_s: float, rows: Sequence[tuple[float, float]], per_s: float = 1) -> float:
    """Give the slope at the last row."""
    plan = Slope("A~rate", "A", round(window_s * S), round(per_s * S))
    with np.errstate(all="ignore"):
        return float(Slopes([plan]).of(sums_of(window_s, rows))[0, -1])


def time_of(
    rows: Sequence[tuple[float, float]],
    bound: float,
    quantile: float = 0.0,
    *,
    is_upper: bool = True,
) -> float:
    """Give the time to a bound at the last row, over a window of 100 s."""
    plan = TimeTo("A~time", "A", 100 * S, bound, is_upper, quantile)
    with np.errstate(all="ignore"):
        return float(Times([plan]).of(sums_of(100, rows))[0, -1])


def test_the_slope_of_a_line_is_its_slope() -> None:
    rows = [(t, 5.0 - 0.25 * t) for t in range(50)]

    assert slope_of(100, rows) == pytest.approx(-0.25, rel=1e-14)


def test_a_slope_is_given_in_the_time_wanted() -> None:
    rows = [(t, 5.0 - 0.25 * t) for t in range(50)]

    assert slope_of(100, rows, per_s=60) == pytest.approx(-15.0, rel=1e-14)


def test_the_slope_of_a_constant_is_zero() -> None:
    assert slope_of(7, [(0.3 * t, 101325.17) for t in range(100)]) == 0.0


def exact_slope(rows: Sequence[tuple[float, float]]) -> Fraction:
    """Fit a line without rounding; times as whole ns, slope in 1/s."""
    t = [Fraction(round(t * S), S) for t, _ in rows]
    x = [Fraction(x) for _, x in rows]
    n = len(rows)
    square = n * sum(a * a for a in t) - sum(t) ** 2
    return (n * sum(a * b for a, b in zip(t, x, strict=True)) - sum(t) * sum(x)) / square


@pytest.mark.parametrize("trend", [0.0, 1e-4, 0.5])
@pytest.mark.parametrize("end", [601, 950, 1199, 1200])
def test_the_slope_of_a_pressure_with_little_noise_keeps_its_digits(
    trend: float, end: int
) -> None:
    """101325 with noise of 0.01 at 10 Hz over 60 s, against a fit by exact fractions."""
    rng = np.random.default_rng(5)
    rows = [
        (0.1 * k, 101325.0 + trend * 0.1 * k + 0.01 * float(rng.normal())) for k in range(1200)
    ][:end]
    error = abs(Fraction(slope_of(60, rows)) - exact_slope(rows[-600:]))

    # What the values themselves can tell: a unit in the last place of one is 1.5e-11.
    assert error < Fraction(1, 10**14) + Fraction(trend) / 10**13


def test_the_slope_is_no_worse_than_that_of_a_general_fit() -> None:
    rng = np.random.default_rng(6)
    rows = [(0.1 * k, 101325.0 + 0.01 * float(rng.normal())) for k in range(601)]
    t, x = np.array(rows[1:]).T
    general = float(np.polyfit(t - t[0], x, 1)[0])
    exact = exact_slope(rows[1:])

    assert slope_of(60, rows) == pytest.approx(general, rel=1e-6)
    assert abs(Fraction(slope_of(60, rows)) - exact) <= abs(Fraction(general) - exact)


def test_the_time_is_from_the_fitted_value_along_the_line() -> None:
    rows = [(t, 5.0 + 0.25 * t) for t in range(99)]

    # 29.5 at 98 s; 20.5 more at 0.25 a second.
    assert time_of(rows, 50.0) == pytest.approx(82.0, rel=1e-12)


def test_the_time_to_a_lower_bound_is_that_of_the_mirrored_line() -> None:
    falling = [(t, -5.0 - 0.25 * t) for t in range(99)]

    assert time_of(falling, -50.0, is_upper=False) == pytest.approx(82.0, rel=1e-12)


def zigzag(slope: float) -> list[tuple[float, float]]:
    """Give a line of 90 samples with 1 added and taken off in turn."""
    return [(t, slope * t + (-1.0) ** t) for t in range(90)]


def test_the_line_is_the_slowest_one_that_is_still_likely() -> None:
    rows = zigzag(0.25)
    t, x = np.array(rows).T
    (slope, offset), covariance = np.polyfit(t, x, 1, cov=True)
    student = 1.6624  # 95 % at 88 degrees of freedom, from memory; tables have 1.662.
    slowest = slope - student * np.sqrt(covariance[0, 0])
    expected = (50.0 - (offset + slope * 89)) / slowest

    assert time_of(rows, 50.0, NORMAL[0.95]) == pytest.approx(expected, rel=1e-4)
    assert time_of(rows, 50.0, NORMAL[0.95]) > time_of(rows, 50.0)


def test_a_slope_that_is_lost_in_the_noise_leads_nowhere() -> None:
    rows = zigzag(0.004)

    assert time_of(rows, 50.0) < 20_000
    assert time_of(rows, 50.0, NORMAL[0.95]) == NO_TREND_S
    mirrored = [(t, -x) for t, x in rows]
    assert time_of(mirrored, -50.0, NORMAL[0.95], is_upper=False) == NO_TREND_S


@pytest.mark.parametrize("slope", [-0.25, 0.0])
def test_away_from_the_bound_nothing_leads(slope: float) -> None:
    assert time_of([(t, slope * t) for t in range(90)], 50.0) == NO_TREND_S


def test_no_time_is_longer_than_that_for_no_trend() -> None:
    assert time_of([(t, 1e-12 * t) for t in range(90)], 50.0) == NO_TREND_S


@pytest.mark.parametrize("slope", [-0.25, 0.0, 0.25])
def test_a_line_beyond_the_bound_has_reached_it(slope: float) -> None:
    assert time_of([(t, 90.0 + slope * t) for t in range(90)], 50.0) == 0.0


def test_a_perfect_line_has_no_spread() -> None:
    """What rounding leaves of its residuals may be negative."""
    rows = [(t, 0.1 + 0.3 * t) for t in range(99)]

    assert time_of(rows, 50.0, 2.0) == pytest.approx((50.0 - 29.5) / 0.3, rel=1e-6)


@pytest.mark.parametrize("bound", [50.0, -1e300])
def test_a_line_without_finite_numbers_has_no_time(bound: float) -> None:
    assert np.isnan(time_of([(t, 1e250 * (t % 3)) for t in range(90)], bound))


def test_slopes_come_first_and_times_behind_them() -> None:
    slope, time = Slope("R", "A", 10 * S, S), TimeTo("T", "A", 10 * S, 50.0, True, 0.0)
    rows = [(t, 0.5 * t) for t in range(9)]
    t_ns = np.array([[START_NS + t * S] * 2 for t, _ in rows], dtype=np.int64)
    value = np.array([[x] * 2 for _, x in rows])
    trends = Trends([slope], [time])

    with np.errstate(all="ignore"):
        sums = Windows(trends.window_ns).step(t_ns, value, np.array([9, 9]))
        found, covered = trends.of(sums)

    assert found[:, -1].tolist() == pytest.approx([0.5, 92.0])
    assert covered[:, -2:].tolist() == [[False, True], [False, True]]


@pytest.mark.parametrize(
    ("rows", "least", "expected"),
    [
        ([0, 4, 8], 3, True),
        ([0, 4, 7.999999999], 3, False),
        ([0, 8], 3, False),
        ([0, 1, 2, 3, 4, 5, 6, 8], 8, True),
        ([0, 1, 2, 3, 4, 5, 8], 8, False),
    ],
)
def test_a_window_is_covered_by_enough_samples_over_most_of_it(
    rows: list[float], least: int, expected: bool
) -> None:
    sums = sums_of(10, [(t, 1.0) for t in rows])

    found = is_covered(sums, np.array([10 * S]), np.array([least]))

    assert bool(found[0, -1]) == expected
