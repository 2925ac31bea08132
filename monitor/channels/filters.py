"""Filtered copies of channels: what limits look at, never what is recorded or drawn."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.channels.draft import Draft, padded
from monitor.channels.median import RunningMedian
from monitor.channels.plan import ChannelsPlan
from monitor.channels.windows import Windows
from monitor.samples import Floats, Ints

#: State by name, for a checkpoint.
MedianHistory = dict[int, Floats]


class Filters:
    """Fills the filtered columns: same rows and quality as their source.

    A bad row restarts a filter: it begins anew with the next good value.
    """

    def __init__(self, plan: ChannelsPlan) -> None:
        """Group the filters by kind, so that each kind runs on all its columns at once."""
        column = plan.column
        self._first = len(plan.measured) + len(plan.system) + len(plan.computed)
        self._last = self._first + len(plan.filtered)
        sources = [column[row.source] for row in plan.filtered]
        self._source: Ints = np.array(sources, dtype=np.int64)
        lags = [i for i, row in enumerate(plan.filtered) if row.lag_ns]
        self._lag: Ints = np.array(lags, dtype=np.int64)
        self._lag_ns: Floats = np.array([float(plan.filtered[i].lag_ns) for i in lags])
        means = [i for i, row in enumerate(plan.filtered) if row.mean_ns]
        self._mean: Ints = np.array(means, dtype=np.int64)
        self._mean_ns = [plan.filtered[i].mean_ns for i in means]
        self._windows = Windows(self._mean_ns)
        self._medians: dict[int, tuple[RunningMedian, Ints]] = {}
        for width in sorted({row.median_of for row in plan.filtered if row.median_of}):
            chosen = [i for i, row in enumerate(plan.filtered) if row.median_of == width]
            self._medians[width] = (RunningMedian(width), np.array(chosen, dtype=np.int64))
        self._history: MedianHistory = {
            width: median.start(chosen.size)
            for width, (median, chosen) in self._medians.items()
        }

    def run(self, draft: Draft) -> None:
        """Fill the filtered columns; the sources are filled already."""
        if not self._source.size:
            return
        grid, source = draft.grid, self._source
        columns = slice(self._first, self._last)
        grid.t_ns[:, columns] = grid.t_ns[:, source]
        grid.quality[:, columns] = grid.quality[:, source]
        grid.count[columns] = grid.count[source]
        draft.same_rows[columns] = draft.same_rows[source]
        self._run_medians(draft)
        self._run_lags(draft)
        self._run_means(draft)
        draft.hold(draft.idle(self._first, self._last))

    def _run_medians(self, draft: Draft) -> None:
        """Fill the columns of all medians."""
        grid = draft.grid
        for width, (median, chosen) in self._medians.items():
            count = grid.count[self._source[chosen]]
            value = grid.value[:, self._source[chosen]]
            result, self._history[width] = median.step(self._history[width], value, count)
            grid.value[:, self._first + chosen] = padded(result, count)

    def _run_lags(self, draft: Draft) -> None:
        """Fill the columns of all first-order lags.

        The gain dt / (lag + dt) needs no exponential. In the padding dt is 0 and nothing moves.
        """
        if not self._lag.size:
            return
        grid, source, to = draft.grid, self._source[self._lag], self._first + self._lag
        t_ns = np.concatenate([draft.held.t_ns[None, source], grid.t_ns[:, source]])
        dt_ns = (t_ns[1:] - t_ns[:-1]).astype(np.float64)
        gain = dt_ns / (self._lag_ns + dt_ns)
        value = grid.value[:, source]
        grid.value[:, to] = _lagged(draft.held.value[to], value, gain)

    def _run_means(self, draft: Draft) -> None:
        """Fill the columns of all moving averages."""
        if not self._mean.size:
            return
        grid, source = draft.grid, self._source[self._mean]
        count, value = grid.count[source], grid.value[:, source]
        sums = self._windows.step(grid.t_ns[:, source], value, count)
        mean = (sums.reference + sums.moments[1] / sums.n).T
        mean = np.where(np.isnan(value), np.nan, mean)
        grid.value[:, self._first + self._mean] = padded(mean, count)

    def state(self) -> dict[str, NDArray[Any]]:
        """Give the values that medians and means look back on."""
        histories = {f"median_{width}": found for width, found in self._history.items()}
        return {**histories, **self._windows.state("mean")}

    def load_state(self, state: Mapping[str, NDArray[Any]]) -> None:
        """Go on from :meth:`state`."""
        for width in self._history:
            self._history[width] = state[f"median_{width}"]
        self._windows = Windows.restored(self._mean_ns, "mean", state)


def _lagged(start: Floats, value: Floats, gain: Floats) -> Floats:
    """Follow *value* row by row from *start*; NaN in either restarts at the next number."""
    result = np.empty_like(value)
    y = start
    may_restart = bool(np.isnan(start).any() or np.isnan(value.min(axis=0)).any())
    for k in range(value.shape[0]):
        x = value[k]
        moved = y + gain[k] * (x - y)
        if may_restart:
            moved = np.where(np.isnan(y), x, moved)
        y = result[k] = moved
    return result
