"""Lines through the samples of windows: their slope, and when they reach a bound.

By least squares.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from monitor.channels.plan import NO_TREND_S, Slope, TimeTo
from monitor.channels.windows import Sums
from monitor.samples import Flags, Floats, Ints

#: The fewest samples that a line goes through, and those that its spread can be told from.
LEAST_FOR_SLOPE = 3
LEAST_FOR_TIME = 8

_S = 1e9


def is_covered(sums: Sums, window_ns: Ints, least: Ints) -> Flags:
    """Tell where there are *least* samples that span at least 80 % of the window."""
    is_long: Flags = 5 * sums.span_ns >= 4 * window_ns[:, None]
    return is_long & (sums.n >= least[:, None])


class Trends:
    """Slopes, and behind them times to bounds."""

    def __init__(self, slopes: Sequence[Slope], times: Sequence[TimeTo]) -> None:
        """Note what is wanted of each column."""
        self._slopes = Slopes(slopes) if slopes else None
        self._times = Times(times) if times else None
        self._first_time = len(slopes)
        self.window_ns = [row.window_ns for row in slopes] + [row.window_ns for row in times]
        self._window_ns: Ints = np.array(self.window_ns, dtype=np.int64)
        least = [LEAST_FOR_SLOPE] * len(slopes) + [LEAST_FOR_TIME] * len(times)
        self._least: Ints = np.array(least, dtype=np.int64)

    def of(self, sums: Sums) -> tuple[Floats, Flags]:
        """Give (columns, rows) figures, and whether their windows are covered."""
        found = np.empty_like(sums.n)
        if self._slopes:
            found[: self._first_time] = self._slopes.of(sums.of(slice(self._first_time)))
        if self._times:
            times = self._times.of(sums.of(slice(self._first_time, None)))
            found[self._first_time :] = times
        return found, is_covered(sums, self._window_ns, self._least)


class Slopes:
    """Slopes of many columns in their units."""

    def __init__(self, rows: Sequence[Slope]) -> None:
        """Note in what time each slope is given."""
        self._factor = _column([row.per_ns / row.window_ns for row in rows])

    def of(self, sums: Sums) -> Floats:
        """Give (columns, rows) slopes, which mean nothing where a window is not covered."""
        square, product = _deviations(sums)
        return product / square * self._factor + 0.0


class Times:
    """Times to the bounds of many columns."""

    def __init__(self, rows: Sequence[TimeTo]) -> None:
        """Note the bounds."""
        self._window_s = _column([row.window_ns / _S for row in rows])
        self._bound = _column([row.bound for row in rows])
        #: Turns what falls towards a lower bound into what rises.
        self._sign = _column([1.0 if row.is_upper else -1.0 for row in rows])
        self._quantile = _column([row.normal_quantile for row in rows])

    def of(self, sums: Sums) -> Floats:
        """Give (columns, rows) times in s; NaN where a line does not have finite numbers.

        They mean nothing where a window is not covered.
        """
        n, sum_x, sum_y = sums.n, sums.moments[0], sums.moments[1]
        square, product = _deviations(sums)
        slope = product / square
        residual = n * sums.moments[4] - sum_y * sum_y - slope * product
        # Where the window is too short for it, any number will do.
        freedom = np.maximum(n - 2.0, 1.0)
        # Rounding may make what a perfect line leaves negative.
        error = np.sqrt(np.maximum(residual, 0.0) / (freedom * square))
        slowest = self._sign * slope - t_quantile(self._quantile, freedom) * error
        fitted = sum_y / n + slope * (sums.at - sum_x / n)
        gap = self._sign * ((self._bound - sums.reference) - fitted)
        time_s = np.minimum(gap / slowest * self._window_s, NO_TREND_S)
        time_s = np.where(slowest > 0.0, time_s, NO_TREND_S)
        time_s = np.where(gap > 0.0, time_s, 0.0)
        return np.where(np.isfinite(slowest), time_s, np.nan)


def t_quantile(normal: Floats, freedom: Floats) -> Floats:
    """Give the quantile of Student's t that belongs to a quantile of the normal distribution.

    Args:
        normal: The quantile of the normal distribution.
        freedom: Degrees of freedom.

    Returns:
        Within 0.1 % from 6 degrees of freedom on, for confidences up to 99 %.

    Source:
        M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 26.7.5.
    """
    x, x2 = normal, normal * normal
    g1 = x * (x2 + 1.0) / 4.0
    g2 = x * ((5.0 * x2 + 16.0) * x2 + 3.0) / 96.0
    g3 = x * (((3.0 * x2 + 19.0) * x2 + 17.0) * x2 - 15.0) / 384.0
    g4 = x * ((((79.0 * x2 + 776.0) * x2 + 1482.0) * x2 - 1920.0) * x2 - 945.0) / 92160.0
    return x + (g1 + (g2 + (g3 + g4 / freedom) / freedom) / freedom) / freedom


def _deviations(sums: Sums) -> tuple[Floats, Floats]:
    """Give n times the sums about the means: of x * x, and of x * y."""
    x, y, xx, xy, _ = sums.moments
    return sums.n * xx - x * x, sums.n * xy - x * y


def _column(numbers: Sequence[float]) -> Floats:
    """Give (numbers, 1)."""
    return np.array(numbers, dtype=np.float64)[:, None]
