"""Tests for monitor.channels.filters.

Source: Lag gain dt/(tau + dt): 0.09090909 at dt/tau = 0.1, 0.5 at 1 (by arithmetic). Median of
width 3 of [2, 80, 6, 3, 1, 4, 5, 200, 5, 5]: computed with scipy 1.17.1; away from its ends the
same as here.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.channels.filters import Lags, Medians

S = 1_000_000_000


def lag(tau_s: float, rows: list[tuple[float, float]]) -> list[float]:
    """Run one lag over (seconds, value) rows."""
    t_ns = np.array([[round(t * S)] for t, _ in rows])
    value = np.array([[x] for _, x in rows])
    filtered = Lags([round(tau_s * S)]).step(t_ns, value, np.array([len(rows)]))
    return filtered[:, 0].tolist()


def median(width: int, rows: list[float], cut: int = 0) -> list[float]:
    """Run one median over rows, in two steps where *cut* is given."""
    medians = Medians(width, 1)
    parts = [rows[:cut], rows[cut:]] if cut else [rows]
    out: list[float] = []
    for part in parts:
        value = np.array(part)[:, None]
        out += medians.step(value, np.array([len(part)]))[:, 0].tolist()
    return out


@pytest.mark.parametrize(("dt_s", "gain"), [(0.1, 0.09090909), (1.0, 0.5)])
def test_the_gain_of_a_lag_follows_the_time_between_rows(dt_s: float, gain: float) -> None:
    assert lag(1.0, [(0, 0.0), (dt_s, 1.0)])[1] == pytest.approx(gain, abs=5e-9)


def test_the_first_good_row_starts_a_lag() -> None:
    assert lag(10.0, [(0, 7.0)]) == [7.0]


def test_a_lag_starts_afresh_after_a_bad_row() -> None:
    out = lag(1.0, [(0, 0.0), (1, np.nan), (2, 8.0)])

    assert np.isnan(out[1])
    assert out[2] == 8.0


def test_a_lag_of_a_constant_is_the_constant() -> None:
    assert set(lag(3.0, [(t * 0.37, 5.5) for t in range(50)])) == {5.5}


def test_the_median_throws_spikes_out() -> None:
    out = median(3, [2, 80, 6, 3, 1, 4, 5, 200, 5, 5])

    assert out[2:] == [6, 6, 3, 3, 4, 5, 5, 5]


def test_the_median_of_few_rows_is_the_mean_of_the_middle_two() -> None:
    assert median(5, [1.0, 4.0, 10.0])[:3] == [1.0, 2.5, 4.0]


def test_a_median_starts_afresh_after_a_bad_row() -> None:
    out = median(3, [1.0, 1.0, 1.0, np.nan, 9.0])

    assert np.isnan(out[3])
    assert out[4] == 9.0


@pytest.mark.parametrize("width", [3, 5, 7])
def test_the_quick_way_for_full_windows_gives_the_same_bits(width: int) -> None:
    rows = np.random.default_rng(5).normal(0, 1, 200).round(1).tolist()

    one_by_one = Medians(width, 1)
    singles = [float(one_by_one.step(np.array([[x]]), np.array([1]))[0, 0]) for x in rows]

    assert median(width, rows, cut=60) == singles
    assert singles[-1] == float(np.median(rows[-width:]))


def test_rows_beyond_the_count_are_not_looked_at() -> None:
    medians = Medians(3, 2)
    value = np.array([[1.0, 1.0], [2.0, 99.0]])

    medians.step(value, np.array([2, 1]))

    assert medians.window[:, 1].tolist()[-1] == 1.0
