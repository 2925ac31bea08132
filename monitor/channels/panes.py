"""Samples of the present and the previous pane of many columns, and sums over the latter.

A pane is as long as the window of its column.
"""

from __future__ import annotations

import numpy as np

from monitor.samples import Flags, Floats, Ints

#: How many sums are kept: of x, y, x * x, x * y, y * y.
MOMENTS = 5

_FIRST_SIZE = 64

#: Panes of more samples are turned one by one: less is moved about.
_LONG = 1024


def moments(x: Floats, y: Floats) -> Floats:
    """Give what is summed, for samples of any shape."""
    found = np.empty((MOMENTS, *x.shape))
    found[0], found[1] = x, y
    found[2:4] = x * found[:2]
    np.multiply(y, y, out=found[4])
    return found


class Panes:
    """Samples in flat arrays, each column in a stretch of its own that grows when it is full.

    Attributes:
        present: (columns,) number of samples in the present pane.
        before: (columns,) number of samples in the previous pane.
    """

    def __init__(self, window_ns: Ints, most: int) -> None:
        """Keep nothing yet.

        Args:
            window_ns: (columns,) length of a pane.
            most: The greatest number of samples in a pane.

        Raises:
            ValueError: The windows are too long to be told apart.
        """
        columns = window_ns.size
        self._window_ns = window_ns
        self._most = most
        self.present: Ints = np.zeros(columns, dtype=np.int64)
        self.before: Ints = np.zeros(columns, dtype=np.int64)
        if sum(window_ns.tolist()) + columns > np.iinfo(np.int64).max:
            raise ValueError("windows that are longer than centuries together")
        #: Added to a time within a pane it makes keys that rise over all columns.
        self._offset = np.cumsum(window_ns + 1) - (window_ns + 1)
        self._size: Ints = np.full(columns, _FIRST_SIZE, dtype=np.int64)
        self._allocate()

    def _allocate(self) -> None:
        """Make empty stretches of the sizes wanted."""
        total = int(self._size.sum())
        self._base: Ints = np.cumsum(self._size) - self._size
        self._present_ns: Ints = np.zeros(total, dtype=np.int64)
        self._present_value: Floats = np.zeros(total)
        self._before_ns: Ints = np.zeros(total, dtype=np.int64)
        self._before_value: Floats = np.zeros(total)
        #: Sums from each sample of the previous pane to its end, summed from the end on.
        self._suffix: Floats = np.zeros((MOMENTS, total))
        #: Times of the previous pane; above any time where there is no sample.
        self._key: Ints = np.repeat(self._offset + self._window_ns, self._size)

    def _make_room(self, columns: Ints, needed: Ints) -> None:
        """Make the stretches of *columns* longer than *needed* samples."""
        if (needed < self._size[columns]).all():
            return
        old = (self._present_ns, self._present_value, self._before_ns, self._before_value)
        suffix, key, size, base = self._suffix, self._key, self._size, self._base
        # Others that are about to need it get their room along with these.
        filled = self.present.copy()
        filled[columns] = needed
        grown = np.minimum(4 * filled, self._most + 1)
        self._size = np.where(2 * filled >= size, np.maximum(grown, size), size)
        self._allocate()
        to = np.arange(key.size) + np.repeat(self._base - base, size)
        self._present_ns[to], self._present_value[to] = old[0], old[1]
        self._before_ns[to], self._before_value[to] = old[2], old[3]
        self._suffix[:, to] = suffix
        self._key[to] = key

    def append(self, columns: Ints, t_ns: Ints, value: Floats, is_kept: Flags) -> Ints:
        """Add samples to the present panes.

        Args:
            columns: (columns,) the columns.
            t_ns: (columns, rows) times.
            value: (columns, rows) values.
            is_kept: (columns, rows) which of them to add.

        Returns:
            (columns, rows) how many samples the present pane has with each row.
        """
        before = self.present[columns]
        count: Ints = before[:, None] + np.cumsum(is_kept, axis=1)
        self.present[columns] = count[:, -1]
        self._make_room(columns, count[:, -1])
        place = (self._base[columns][:, None] + count - 1)[is_kept]
        self._present_ns[place] = t_ns[is_kept]
        self._present_value[place] = value[is_kept]
        return count

    def first_inside(self, columns: Ints, since_ns: Ints) -> Ints:
        """Give the place in the previous pane from which a window reaches.

        Args:
            columns: (columns,) the columns.
            since_ns: (columns, rows) how long after the pane's beginning the window ends.
        """
        key = self._offset[columns][:, None] + since_ns
        found: Ints = np.searchsorted(self._key, key, side="right")
        return found - self._base[columns][:, None]

    def sums_before(self, columns: Ints, first: Ints) -> Floats:
        """Give (sums, columns, rows) over the previous pane from the places *first* on."""
        return self._suffix[:, self._base[columns][:, None] + first]

    def first_ns(self, columns: Ints, first: Ints) -> Ints:
        """Give the time of the first sample at or behind the places *first*."""
        base = self._base[columns][:, None]
        is_before = first < self.before[columns][:, None]
        found: Ints = np.where(is_before, self._before_ns[base + first], self._present_ns[base])
        return found

    def last_value(self, columns: Ints) -> Floats:
        """Give the last value of the present panes; 0 where they are empty."""
        value = self._present_value[
            self._base[columns] + np.maximum(self.present[columns] - 1, 0)
        ]
        return np.where(self.present[columns] > 0, value, 0.0)

    def turn(self, columns: Ints, moved: Ints, edge_ns: Ints, reference: Floats) -> None:
        """Begin panes; the old ones become the previous ones, or are forgotten.

        Args:
            columns: The columns.
            moved: How many samples become those of the previous pane: all or none.
            edge_ns: Where the panes begin.
            reference: What is taken off the values before they are summed.
        """
        longest = np.maximum(moved, self.before[columns])
        # Columns of about one length at a time: little is padded.
        lengths = np.frexp(np.minimum(longest, _LONG).astype(np.float64))[1]
        for length in np.unique(lengths[longest < _LONG]).tolist():
            which = (lengths == length) & (longest < _LONG)
            self._turn(columns[which], moved[which], edge_ns[which], reference[which])
        for k in np.flatnonzero(longest >= _LONG).tolist():
            self._turn_one(int(columns[k]), int(moved[k]), int(edge_ns[k]), reference[k])
        self.before[columns] = moved
        self.present[columns] = 0

    def _turn(self, columns: Ints, moved: Ints, edge_ns: Ints, reference: Floats) -> None:
        """Turn columns of about one length."""
        base, window_ns = self._base[columns], self._window_ns[columns][:, None]
        width = int(np.maximum(moved, self.before[columns]).max())
        step = np.arange(width)
        is_moved = step < moved[:, None]
        # The samples from the last to the first; behind them, what is left of the pane before.
        place = base[:, None] + np.where(is_moved, moved[:, None] - 1 - step, step)
        t_ns, value = self._present_ns[place], self._present_value[place]
        since_ns = t_ns - edge_ns[:, None]
        x = since_ns.astype(np.float64) / window_ns.astype(np.float64)
        y = np.where(is_moved, value - reference[:, None], 0.0)
        terms = moments(np.where(is_moved, x, 0.0), y)
        self._suffix[:, place] = np.add.accumulate(terms, axis=2)
        self._suffix[:, base + moved] = 0.0
        self._before_ns[place], self._before_value[place] = t_ns, value
        within_ns = np.where(is_moved, since_ns + window_ns, window_ns)
        self._key[place] = self._offset[columns][:, None] + within_ns

    def _turn_one(self, column: int, moved: int, edge_ns: int, reference: float) -> None:
        """Turn one column of many samples."""
        base, window_ns = int(self._base[column]), int(self._window_ns[column])
        here, left = slice(base, base + moved), slice(base, base + int(self.before[column]))
        offset = int(self._offset[column])
        self._key[left] = offset + window_ns
        self._suffix[:, base + moved] = 0.0
        t_ns, value = self._present_ns[here], self._present_value[here]
        since_ns = t_ns - edge_ns
        self._key[here] = since_ns + (offset + window_ns)
        self._before_ns[here], self._before_value[here] = t_ns, value
        terms = moments(since_ns.astype(np.float64) / float(window_ns), value - reference)
        self._suffix[:, here] = np.add.accumulate(terms[:, ::-1], axis=1)[:, ::-1]

    def kept(self) -> tuple[Ints, Floats]:
        """Give times and values: of each column the previous pane's and then the present's."""
        parts = [
            (stretch[b : b + n], values[b : b + n])
            for b, counts in zip(
                self._base.tolist(),
                zip(self.before.tolist(), self.present.tolist(), strict=True),
                strict=True,
            )
            for stretch, values, n in (
                (self._before_ns, self._before_value, counts[0]),
                (self._present_ns, self._present_value, counts[1]),
            )
        ]
        t_ns = np.concatenate([np.empty(0, dtype=np.int64), *(part[0] for part in parts)])
        return t_ns, np.concatenate([np.empty(0), *(part[1] for part in parts)])
