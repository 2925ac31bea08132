"""Sums over the last stretch of time of many columns, for means and for lines through samples.

Time is cut into panes as long as the window, from the first sample on. A window that ends in
one pane reaches back into the pane before and no further, so its sum is that over the previous
pane, summed from its end backwards to where the window begins, and that over the present pane,
summed forwards. Either grows by one sample at a time: nothing is ever taken off, the cost of a
row does not depend on how many samples are in the window, and the order of summing depends on
the samples alone.

So that numbers stay small, x is the time since the present pane began, in windows (-1 to 1),
and y is the value less a reference: the last value of the previous pane, or the first value of
the present one where that has none.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.channels.panes import MOMENTS, Panes, moments
from monitor.samples import Flags, Floats, Ints

#: No more than so many samples of a pane count: of those in one slot, so long a part of the
#: pane, the first.
MOST_SAMPLES = 5_000

#: Rows of one pane that are taken at once, so that columns of many rows do not blow up others.
_MOST_AT_ONCE = 1024

#: Number of the pane that a column is in of which there is no sample.
_NO_PANE = -1
#: Stands for a pane that no other one follows, while samples are put back.
_ANY_PANE = -2


@dataclass(frozen=True, slots=True)
class Sums:
    """What is in the window that ends at each row; arrays of (columns, rows).

    Rows without a number, and those that are not a column's own, mean nothing.

    Attributes:
        n: Number of samples.
        moments: (sums, columns, rows) sums of x, y, x * x, x * y, y * y.
        at: x of the row.
        reference: What was taken off the values.
        span_ns: From the first sample to the row.
    """

    n: Floats
    moments: Floats
    at: Floats
    reference: Floats
    span_ns: Ints

    def of(self, columns: slice) -> Sums:
        """Give some of the columns."""
        return Sums(
            self.n[columns],
            self.moments[:, columns],
            self.at[columns],
            self.reference[columns],
            self.span_ns[columns],
        )


@dataclass(frozen=True, slots=True)
class _Part:
    """Rows of several columns, those of each column in one pane; arrays of (columns,).

    Attributes:
        columns: The columns.
        first: The first row of each.
        length: The number of rows.
        is_afresh: Whether a bad row goes before them.
    """

    columns: Ints
    first: Ints
    length: Ints
    is_afresh: Flags


class Windows:
    """Keeps the samples of windows (t - length, t].

    A row without a number starts them afresh.
    """

    def __init__(self, window_ns: Sequence[int]) -> None:
        """Start with nothing in the windows, one for each column, of these lengths."""
        columns = len(window_ns)
        self._window_ns: Ints = np.array(window_ns, dtype=np.int64)
        self._slot_ns: Ints = -(-self._window_ns // MOST_SAMPLES)
        self._panes = Panes(self._window_ns, MOST_SAMPLES)
        #: Where the first pane of each column begins, and the number of the one that it is in.
        self._origin_ns: Ints = np.zeros(columns, dtype=np.int64)
        self._pane: Ints = np.full(columns, _NO_PANE, dtype=np.int64)
        self._slot: Ints = np.full(columns, -1, dtype=np.int64)
        self._reference: Floats = np.zeros(columns)
        self._prefix: Floats = np.zeros((MOMENTS, columns))

    def step(self, t_ns: Ints, value: Floats, count: Ints) -> Sums:
        """Take the next rows.

        Args:
            t_ns: (rows, columns) times.
            value: (rows, columns) values, NaN where there is none.
            count: (columns,) number of rows that are a column's own.
        """
        t_ns, value = np.ascontiguousarray(t_ns.T), np.ascontiguousarray(value.T)
        shape = value.shape
        sums = Sums(
            np.ones(shape),
            np.zeros((MOMENTS, *shape)),
            np.zeros(shape),
            np.zeros(shape),
            np.zeros(shape, dtype=np.int64),
        )
        is_good = ~np.isnan(value) & (np.arange(shape[1]) < count[:, None])
        is_afresh = is_good.copy()
        is_afresh[:, 0] &= self._pane == _NO_PANE
        is_afresh[:, 1:] &= ~is_good[:, :-1]
        origin_ns = _carried(self._origin_ns, t_ns, is_afresh)
        pane = (t_ns - origin_ns) // self._window_ns[:, None]
        for part in _parts(is_good, is_afresh, pane):
            place = (part.columns, part.first)
            self._origin_ns[part.columns] = origin_ns[place]
            self._begin(part, pane[place], value[place])
            self._take(part, t_ns, value, sums)
        last = np.maximum(count - 1, 0)
        ends_bad = (count > 0) & ~is_good[np.arange(count.size), last]
        self._pane[ends_bad] = _NO_PANE
        return sums

    def _begin(self, part: _Part, pane: Ints, value: Floats) -> None:
        """Turn to the panes of *part* where a column is in another one; *value* comes first."""
        old = self._pane[part.columns]
        turns = (pane != old) | part.is_afresh
        if not turns.any():
            return
        columns, goes_on = part.columns[turns], (pane == old + 1) & ~part.is_afresh
        moved = np.where(goes_on, self._panes.present[part.columns], 0)[turns]
        reference = np.where(moved > 0, self._panes.last_value(columns), value[turns])
        edge_ns = self._origin_ns[columns] + pane[turns] * self._window_ns[columns]
        self._panes.turn(columns, moved, edge_ns, reference)
        self._reference[columns] = reference
        self._pane[columns] = pane[turns]
        self._slot[columns] = -1
        self._prefix[:, columns] = 0.0

    def _take(self, part: _Part, t_ns: Ints, values: Floats, sums: Sums) -> None:
        """Sum over the windows that end in the rows of *part*."""
        columns, panes = part.columns, self._panes
        # Beyond a column's own rows its last one is repeated, which changes nothing.
        step = np.minimum(np.arange(int(part.length.max())), part.length[:, None] - 1)
        place = (columns[:, None], part.first[:, None] + step)
        at_ns, value, window_ns = t_ns[place], values[place], self._window_ns[columns][:, None]
        edge_ns = self._origin_ns[columns][:, None] + self._pane[columns][:, None] * window_ns
        since_ns = at_ns - edge_ns
        x = since_ns.astype(np.float64) / window_ns.astype(np.float64)
        reference = self._reference[columns][:, None]
        is_kept = self._is_first_of_slot(columns, since_ns)
        forwards = self._summed(columns, moments(x, value - reference), is_kept)
        count = panes.append(columns, at_ns, value, is_kept)
        first = panes.first_inside(columns, since_ns)
        sums.n[place] = count + (panes.before[columns][:, None] - first)
        sums.moments[:, place[0], place[1]] = panes.sums_before(columns, first) + forwards
        sums.at[place] = x
        sums.reference[place] = reference
        sums.span_ns[place] = at_ns - panes.first_ns(columns, first)

    def _is_first_of_slot(self, columns: Ints, since_ns: Ints) -> Flags:
        """Tell which rows count: those in another slot than the row before."""
        slot = np.empty((columns.size, since_ns.shape[1] + 1), dtype=np.int64)
        slot[:, 0] = self._slot[columns]
        np.floor_divide(since_ns, self._slot_ns[columns][:, None], out=slot[:, 1:])
        self._slot[columns] = slot[:, -1]
        is_first: Flags = slot[:, 1:] != slot[:, :-1]
        return is_first

    def _summed(self, columns: Ints, terms: Floats, is_kept: Flags) -> Floats:
        """Go on with the sums over the present panes."""
        rising = np.empty((MOMENTS, columns.size, is_kept.shape[1] + 1))
        rising[:, :, 0] = self._prefix[:, columns]
        rising[:, :, 1:] = np.where(is_kept, terms, 0.0)
        rising = np.add.accumulate(rising, axis=2)
        self._prefix[:, columns] = rising[:, :, -1]
        return rising[:, :, 1:]

    def state(self, name: str) -> dict[str, NDArray[Any]]:
        """Give the samples in the panes, as arrays whose names begin with *name*."""
        self._forget_left()
        t_ns, value = self._panes.kept()
        count = np.stack([self._panes.before, self._panes.present])
        return {
            f"{name}_pane": self._pane.copy(),
            f"{name}_origin_ns": np.where(self._pane == _NO_PANE, 0, self._origin_ns),
            f"{name}_count": count,
            f"{name}_kept_ns": t_ns,
            f"{name}_kept_value": value,
        }

    def _forget_left(self) -> None:
        """Let go of what a bad row has made useless."""
        left = np.flatnonzero(self._pane == _NO_PANE)
        self._panes.turn(left, np.zeros_like(left), np.zeros_like(left), np.zeros(left.size))

    @classmethod
    def restored(
        cls, window_ns: Sequence[int], name: str, state: Mapping[str, NDArray[Any]]
    ) -> Windows:
        """Go on from :meth:`state`: the same sums are made of the same samples again."""
        windows = cls(window_ns)
        windows._origin_ns = state[f"{name}_origin_ns"].copy()
        windows._pane = np.where(state[f"{name}_pane"] == _NO_PANE, _NO_PANE, _ANY_PANE)
        ends = np.cumsum(state[f"{name}_count"].T.ravel())
        t_ns = np.split(state[f"{name}_kept_ns"], ends)[:-1]
        value = np.split(state[f"{name}_kept_value"], ends)[:-1]
        # Of each column the previous pane's samples and the present one's take turns.
        for which in (0, 1):
            windows._load(t_ns[which::2], value[which::2])
        return windows

    def _load(self, t_ns: Sequence[Ints], value: Sequence[Floats]) -> None:
        """Take the samples of one pane of each column."""
        count: Ints = np.array([one.size for one in t_ns], dtype=np.int64)
        rows = int(count.max(initial=1))
        at_ns: Ints = np.zeros((rows, count.size), dtype=np.int64)
        values: Floats = np.zeros((rows, count.size))
        for column, n in enumerate(count.tolist()):
            at_ns[:n, column], values[:n, column] = t_ns[column], value[column]
        self.step(at_ns, values, count)


def _carried(before: Ints, t_ns: Ints, is_afresh: Flags) -> Ints:
    """Give for each row the time of the last row that is afresh; until then *before*."""
    if not is_afresh.any():
        return np.broadcast_to(before[:, None], t_ns.shape)
    number = np.arange(1, t_ns.shape[1] + 1)
    last = np.maximum.accumulate(np.where(is_afresh, number, 0), axis=1)
    return np.take_along_axis(np.concatenate([before[:, None], t_ns], axis=1), last, axis=1)


def _parts(is_good: Flags, is_afresh: Flags, pane: Ints) -> Iterator[_Part]:
    """Cut rows where a pane begins and behind bad rows; give what comes first of each column.

    Then what comes second, and so on.
    """
    rows = is_good.shape[1]
    starts = is_afresh.copy()
    starts[:, 1:] |= is_good[:, 1:] & (pane[:, 1:] != pane[:, :-1])
    starts[:, ::_MOST_AT_ONCE] |= is_good[:, ::_MOST_AT_ONCE]
    column, first = np.nonzero(starts)
    place = np.searchsorted(np.flatnonzero(is_good), column * rows + first)
    length = np.diff(np.append(place, np.count_nonzero(is_good)))
    turn = np.arange(column.size) - np.searchsorted(column, column)
    order = np.argsort(turn, kind="stable")
    ends = np.searchsorted(turn[order], np.arange(1, int(turn.max(initial=-1)) + 2))
    for chosen in np.split(order, ends)[:-1]:
        columns = column[chosen]
        yield _Part(columns, first[chosen], length[chosen], is_afresh[columns, first[chosen]])
