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
        self._first = 0
        self._settled = -1
        self._forget(1, 1)

    def _forget(self, count: int, column_ns: int) -> None:
        """Begin anew with *count* empty columns: low and high of each, gap, anything at all."""
        self._pairs = np.full((count, 2), np.nan)
        self._has_gap = np.zeros(count, np.bool_)
        self._is_there = np.zeros(count, np.bool_)
        places = np.arange(1 - count, 1) * (column_ns / NS)
        self._x_s = np.repeat(places, 2)

    def line(self, series: Series, window: Window) -> Line:
        """Give the line; the very same object as before when nothing changed."""
        key = (*_identity(series, window), series.appended, window.last_column)
        if key != self._drawn:
            self._drawn = key
            self._line = self._worked_out(series, window)
        return self._line

    def _worked_out(self, series: Series, window: Window) -> Line:
        """Draw rows as they are while there are few, columns when there are many."""
        count = window.span_ns // window.column_ns + 1
        first = window.last_column - count + 1
        if self._known == _identity(series, window) and self._first <= first <= self._settled:
            self._advance(series, window, first)
            return self._column_line()
        rows = series.window(window.edge_ns - window.span_ns, window.until_ns, 2 * count)
        self._known = None
        if rows.is_raw and rows.t_ns.size <= 2 * count:
            return _raw_line(rows, window.edge_ns)
        self._begin(series, window, first, count)
        return self._column_line()

    def _begin(self, series: Series, window: Window, first: int, count: int) -> None:
        """Work every column out."""
        self._known, self._first = _identity(series, window), first
        self._forget(count, window.column_ns)
        self._fill(series, window, first, max(_MOST_NEWEST, _MOST_PER_COLUMN * count))

    def _advance(self, series: Series, window: Window, first: int) -> None:
        """Move the columns to the left and work the newest ones out."""
        by, self._first = first - self._first, first
        if by:
            for columns in (self._pairs, self._has_gap, self._is_there):
                columns[:-by] = columns[by:]
            self._pairs[-by:] = np.nan
            self._has_gap[-by:] = self._is_there[-by:] = False
        self._fill(series, window, min(self._settled, window.last_column), _MOST_NEWEST)

    def _fill(self, series: Series, window: Window, start: int, most: int) -> None:
        """Work the rows from column number *start* on into the columns."""
        column_ns = window.column_ns
        self._settled = min(window.last_column, series.last_t_ns() // column_ns)
        rows = series.window(start * column_ns, window.until_ns, most)
        if rows.t_ns.size == 0:
            return
        column = np.maximum(rows.t_ns // column_ns, start) - self._first
        heads = np.concatenate(([0], np.flatnonzero(column[1:] != column[:-1]) + 1))
        where = column[heads]
        self._pairs[where, 0] = np.fmin.reduceat(rows.low, heads)
        self._pairs[where, 1] = np.fmax.reduceat(rows.high, heads)
        self._has_gap[where] = np.logical_or.reduceat(rows.has_gap, heads)
        self._is_there[where] = True

    def _column_line(self) -> Line:
        """Lay out lowest and highest of each column that holds rows."""
        if self._is_there.all() and not self._has_gap.any():
            return line_of(self._x_s, self._pairs.ravel().copy())
        there = np.flatnonzero(self._is_there)
        x_s = self._x_s.reshape(-1, 2)[there].ravel()
        after = np.zeros(x_s.size, np.bool_)
        after[1::2] = self._has_gap[there]
        return _with_gaps(x_s, self._pairs[there].ravel(), after)


def _identity(series: Series, window: Window) -> tuple[int, int, int]:
    """Give what must stay the same for columns to be of use again."""
    return series.serial, series.remade, window.column_ns
