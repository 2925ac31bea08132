"""Filters that limits look through. Row by row in each channel, across all channels at once.

A bad row gives a bad row and the filter starts afresh with the next good one.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from monitor.samples import Flags, Floats, Ints


class Lags:
    """First-order lags, gain ``dt / (tau + dt)`` with the real time between rows."""

    def __init__(self, lag_ns: Sequence[int]) -> None:
        """One filter for each time constant, in ns."""
        self._tau: Floats = np.array(lag_ns, dtype=np.float64)
        self.last: Floats = np.full(len(lag_ns), np.nan)
        self.last_ns: Ints = np.zeros(len(lag_ns), dtype=np.int64)

    def step(self, t_ns: Ints, value: Floats, count: Ints) -> Floats:
        """Filter (rows, filters); rows from *count* on are not looked at."""
        out = np.full(value.shape, np.nan)
        for k in range(value.shape[0]):
            x, t = value[k], t_ns[k]
            dt = (t - self.last_ns).astype(np.float64)
            y = self.last + (x - self.last) * (dt / (self._tau + dt))
            y = np.where(np.isnan(self.last), x, y)
            out[k] = y
            is_row = count > k
            self.last = np.where(is_row, y, self.last)
            self.last_ns = np.where(is_row, t, self.last_ns)
        return out


class Medians:
    """Medians of the last n good rows; fewer while there are fewer since the start."""

    def __init__(self, width: int, filters: int) -> None:
        """Make *filters* medians of *width* rows, an odd number."""
        self._width = width
        self.window: Floats = np.full((width - 1, filters), np.nan)

    def step(self, value: Floats, count: Ints) -> Floats:
        """Filter (rows, filters); rows from *count* on are not looked at."""
        out = np.full(value.shape, np.nan)
        if self._is_plain(value, count):
            rows = np.concatenate([self.window, value])
            self.window = rows[-(self._width - 1) :].copy()
            return _median_of_plain(rows, self._width)
        for k in range(value.shape[0]):
            self._row(value[k], count > k, out[k])
        return out

    def _is_plain(self, value: Floats, count: Ints) -> bool:
        """Whether every window is full and every row of every filter is good."""
        if self._width not in (3, 5) or not value.size or count.min() < value.shape[0]:
            return False
        return not (np.isnan(self.window).any() or np.isnan(value).any())

    def _row(self, x: Floats, is_row: Flags, out: Floats) -> None:
        """Take one row of each filter."""
        rows = np.concatenate([self.window, x[None, :]])
        ordered = np.sort(rows, axis=0)
        good = np.count_nonzero(~np.isnan(rows), axis=0)
        low = np.maximum((good - 1) // 2, 0)[None, :]
        high = np.minimum(good // 2, self._width - 1)[None, :]
        middle = np.take_along_axis(ordered, low, 0) + np.take_along_axis(ordered, high, 0)
        out[:] = np.where(np.isnan(x), np.nan, middle[0] * 0.5)
        moved = np.where(np.isnan(x), np.nan, rows[1:])
        self.window = np.where(is_row, moved, self.window)


def _median_of_plain(rows: Floats, width: int) -> Floats:
    """Give the medians of every *width* rows on end, by comparing pairs."""
    n = rows.shape[0] - width + 1
    parts = [rows[i : i + n] for i in range(width)]
    if width == 3:
        middle = _median_of_3(parts[0], parts[1], parts[2])
    else:
        a, b, c, d, e = parts
        # The smallest and the largest of four cannot be the median of five.
        low = np.maximum(np.minimum(a, b), np.minimum(c, d))
        high = np.minimum(np.maximum(a, b), np.maximum(c, d))
        middle = _median_of_3(e, low, high)
    return (middle + middle) * 0.5


def _median_of_3(a: Floats, b: Floats, c: Floats) -> Floats:
    """Give the middle one of three."""
    return np.maximum(np.minimum(a, b), np.minimum(np.maximum(a, b), c))
