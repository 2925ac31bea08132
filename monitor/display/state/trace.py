"""What of a series a chart draws: at most two points for each column of pixels.

Columns are counted from the Unix epoch, so that they hold the same rows from one frame to the
next: a line does not shimmer while it moves, and only the newest columns are worked out anew.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.display.state.series import Rows, Series
from monitor.display.state.text import NS
from monitor.samples import Flags, Floats

#: Entries looked at for each column when all columns are worked out.
_MOST_PER_COLUMN = 32
#: Entries looked at when only the newest columns are.
_MOST_NEWEST = 4096
MOST_COLUMNS = 2000


@dataclass(frozen=True, slots=True)
class Window:
    """The stretch of time that a chart shows.

    Attributes:
        until_ns: Its right edge, in data time.
        span_ns: Its length.
        columns: Columns of pixels across it.
    """

    until_ns: int
    span_ns: int
    columns: int

    @property
    def column_ns(self) -> int:
        """Time of one column of pixels, in ns."""
        return max(1, self.span_ns // max(1, min(self.columns, MOST_COLUMNS)))

    @property
    def last_column(self) -> int:
        """Number of the newest column since the Unix epoch."""
        return self.until_ns // self.column_ns

    @property
    def edge_ns(self) -> int:
        """The right edge as drawn: the beginning of the newest column."""
        return self.last_column * self.column_ns


@dataclass(frozen=True, slots=True)
class Line:
    """Points to draw.

    Attributes:
        x_s: Seconds from the right edge, at most 0.
        y: Values; NaN is a gap.
        low: Lowest value, NaN when there is none.
        high: Highest value, NaN when there is none.
    """

    x_s: Floats
    y: Floats
    low: float
    high: float


def line_of(x_s: Floats, y: Floats) -> Line:
    """Make a line out of its points."""
    low = float(np.fmin.reduce(y, initial=np.nan))
    return Line(x_s, y, low, float(np.fmax.reduce(y, initial=np.nan)))


def _with_gaps(x_s: Floats, y: Floats, after: Flags) -> Line:
    """Break the line behind each point marked in *after*."""
    if not after.any():
        return line_of(x_s, y)
    places = np.flatnonzero(after) + 1
    return line_of(np.insert(x_s, places, x_s[places - 1]), np.insert(y, places, np.nan))


def _raw_line(rows: Rows, edge_ns: int) -> Line:
    """Draw every row; double a row that stands alone between gaps, or it would not be seen."""
    x_s, y = (rows.t_ns - edge_ns) / NS, rows.low
    if not rows.has_gap.any():
        return line_of(x_s, y)
    good = np.concatenate(([False], ~rows.has_gap, [False]))
    alone = np.flatnonzero(good[1:-1] & ~good[:-2] & ~good[2:])
    return line_of(np.insert(x_s, alone, x_s[alone]), np.insert(y, alone, y[alone]))


class Trace:
    """Works out the line of one series, and remembers the columns that cannot change."""

    def __init__(self) -> None:
        self._known: tuple[int, int, int] | None = None
        self._drawn: tuple[object, ...] | None = None
        self._line = line_of(np.empty(0), np.empty(0))
        self._settled = -1
        self._first = 0
        self._columns(1)

    def _columns(self, count: int) -> None:
        """Forget all columns."""
        self._low = np.full(count, np.nan)
        self._high = np.full(count, np.nan)
        self._has_gap = np.zeros(count, np.bool_)
        self._is_there = np.zeros(count, np.bool_)

    def line(self, series: Series, window: Window) -> Line:
        """Give the line; the very same object as before when nothing changed."""
        key = (
            series.serial,
            series.appended,
            series.remade,
            window.last_column,
            window.column_ns,
        )
        if key != self._drawn:
            self._drawn = key
            self._line = self._worked_out(series, window)
        return self._line

    def _worked_out(self, series: Series, window: Window) -> Line:
        """Draw rows as they are while there are few, columns when there are many."""
        count = window.span_ns // window.column_ns + 1
        from_ns = window.edge_ns - window.span_ns
        rows = series.window(from_ns, window.until_ns, 2 * count)
        if rows.is_raw and rows.t_ns.size <= 2 * count:
            self._known = None
            return _raw_line(rows, window.edge_ns)
        self._refresh(series, window, count)
        return self._column_line(window)

    def _refresh(self, series: Series, window: Window, count: int) -> None:
        """Bring the columns up to the window's right edge."""
        first = window.last_column - count + 1
        known = (series.serial, series.remade, window.column_ns)
        start, most = first, max(_MOST_NEWEST, _MOST_PER_COLUMN * count)
        if known == self._known and self._first <= first <= self._settled:
            self._shift(first - self._first)
            start, most = min(self._settled, window.last_column), _MOST_NEWEST
        else:
            self._columns(count)
        self._first, self._known = first, known
        rows = series.window(start * window.column_ns, window.until_ns, most)
        self._fill(rows, start, window.column_ns)
        self._settled = min(window.last_column, series.last_t_ns() // window.column_ns)

    def _shift(self, by: int) -> None:
        """Move all columns *by* places to the left, fewer than there are."""
        if by == 0:
            return
        for columns, empty in ((self._low, np.nan), (self._high, np.nan)):
            columns[:-by] = columns[by:]
            columns[-by:] = empty
        for flags in (self._has_gap, self._is_there):
            flags[:-by] = flags[by:]
            flags[-by:] = False

    def _fill(self, rows: Rows, start: int, column_ns: int) -> None:
        """Work the rows into the columns from number *start* on."""
        if rows.t_ns.size == 0:
            return
        column = np.maximum(rows.t_ns // column_ns, start) - self._first
        heads = np.flatnonzero(np.diff(column, prepend=-1))
        where = column[heads]
        self._low[where] = np.fmin.reduceat(rows.low, heads)
        self._high[where] = np.fmax.reduceat(rows.high, heads)
        self._has_gap[where] = np.logical_or.reduceat(rows.has_gap, heads)
        self._is_there[where] = True

    def _column_line(self, window: Window) -> Line:
        """Lay out lowest and highest of each column that holds rows."""
        where = np.flatnonzero(self._is_there)
        x_s = np.repeat(
            (where + (self._first - window.last_column)) * (window.column_ns / NS), 2
        )
        y = np.empty(2 * where.size)
        y[0::2], y[1::2] = self._low[where], self._high[where]
        after = np.zeros(y.size, np.bool_)
        after[1::2] = self._has_gap[where]
        return _with_gaps(x_s, y, after)
