"""Minimum and maximum of the whole run in buckets that double in width when they run out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.engine.reduce import grouped
from monitor.engine.rows import Rows
from monitor.samples import Bytes, Flags, Floats, Ints

#: The minimum came before the maximum.
_RISING = 1
#: The first row of the bucket was bad.
_GAP_BEFORE = 2
#: A later row of the bucket was bad.
_GAP_AFTER = 4

#: Where the rows of a bucket lie in it: gap, first extreme, second extreme, gap.
_QUARTERS = np.array([0, 1, 2, 3], np.int64)


@dataclass(frozen=True, slots=True)
class Buckets:
    """Some buckets: lowest and highest value (NaN without a number) and flags."""

    low: Floats
    high: Floats
    flags: Bytes


class Pyramid:
    """Holds *buckets* buckets for each channel, from *start_ns* on, for as long as it takes.

    Channels double one after the other, not all in one step: each has an end of its own
    between three quarters and the whole of its buckets.

    Args:
        channels: How many channels.
        buckets: Buckets of each, an even number.
        start_ns: Begin of the first bucket.
        width_ns: Width of a bucket before any doubling.
    """

    def __init__(self, channels: int, buckets: int, start_ns: int, width_ns: int) -> None:
        """Start with every bucket empty."""
        self._start_ns = start_ns
        self._buckets = buckets
        self._width_ns = np.full(channels, width_ns, np.int64)
        self._end = np.linspace(buckets * 3 // 4, buckets, channels).astype(np.int64)
        self._low = np.full((channels, buckets), np.nan)
        self._high = np.full((channels, buckets), np.nan)
        self._flags = np.zeros((channels, buckets), np.uint8)

    def width_ns(self, channel: int) -> int:
        """Give the present width of a channel's buckets, in ns."""
        return int(self._width_ns[channel])

    def push(self, rows: Rows) -> None:
        """Take new rows, all channels at once."""
        if not len(rows):
            return
        newest_ns = rows.t_ns[rows.start[1:] - 1] - self._start_ns
        room_ns = self._width_ns[rows.channel] * self._end[rows.channel]
        for k in np.flatnonzero(newest_ns >= room_ns):
            self._make_room(int(rows.channel[k]), int(newest_ns[k]))
        of_row = rows.per_row()
        bucket = np.maximum(rows.t_ns - self._start_ns, 0) // self._width_ns[of_row]
        at = of_row * self._buckets + bucket
        new, first = _buckets_of(at, rows.value)
        where = at[first]
        low, high, flags = (a.reshape(-1) for a in (self._low, self._high, self._flags))
        merged = _merged(Buckets(low[where], high[where], flags[where]), new)
        low[where], high[where], flags[where] = merged.low, merged.high, merged.flags

    def rows(self, channel: int, from_ns: int, until_ns: int) -> tuple[Ints, Floats]:
        """Give one channel's buckets as rows: extremes in their order, NaN as gaps.

        Args:
            channel: Which one.
            from_ns: The bucket that holds it is the first one given.
            until_ns: Buckets that begin at it or later are left out.
        """
        width_ns = self.width_ns(channel)
        first = min(max(0, (from_ns - self._start_ns) // width_ns), self._buckets)
        last = min(max(first, -(-(until_ns - self._start_ns) // width_ns)), self._buckets)
        low, high = self._low[channel, first:last], self._high[channel, first:last]
        flags = self._flags[channel, first:last]
        is_rising = (flags & _RISING) != 0
        gap = np.full(len(low), np.nan)
        early, late = np.where(is_rising, low, high), np.where(is_rising, high, low)
        value = np.stack((gap, early, late, gap), axis=1)
        shown = np.stack(_shown(low, high, flags), axis=1)
        begin_ns = self._start_ns + np.arange(first, last, dtype=np.int64) * width_ns
        t_ns = begin_ns[:, None] + _QUARTERS * (width_ns // 4)
        return t_ns[shown], value[shown]

    def _make_room(self, channel: int, newest_ns: int) -> None:
        """Double the width of one channel until *newest_ns* fits."""
        while newest_ns >= self._width_ns[channel] * self._end[channel]:
            low, high, flags = self._low[channel], self._high[channel], self._flags[channel]
            even = Buckets(low[0::2], high[0::2], flags[0::2])
            odd = Buckets(low[1::2], high[1::2], flags[1::2])
            merged = _merged(even, odd)
            half = self._buckets // 2
            low[:half], high[:half], flags[:half] = merged.low, merged.high, merged.flags
            low[half:], high[half:], flags[half:] = np.nan, np.nan, 0
            self._width_ns[channel] *= 2


def _buckets_of(at: Ints, value: Floats) -> tuple[Buckets, Ints]:
    """Make buckets of new rows; give the position of each one's first row, too."""
    groups = grouped(at, value)
    is_bad = np.isnan(value)
    before = is_bad[groups.start]
    later = is_bad.copy()
    later[groups.start] = False
    after = np.logical_or.reduceat(later, groups.start)
    flags = (
        (groups.low_at <= groups.high_at) * _RISING + before * _GAP_BEFORE + after * _GAP_AFTER
    )
    return Buckets(groups.low, groups.high, flags.astype(np.uint8)), groups.start


def _merged(a: Buckets, b: Buckets) -> Buckets:
    """Merge buckets with those that follow them in time."""
    a_empty, b_empty = np.isnan(a.low), np.isnan(b.low)
    low_from_b = (b.low < a.low) | (a_empty & ~b_empty)
    high_from_b = (b.high > a.high) | (a_empty & ~b_empty)
    own = np.where(low_from_b, b.flags, a.flags) & _RISING
    rising = np.where(low_from_b == high_from_b, own, np.where(high_from_b, _RISING, 0))
    a_nothing = a_empty & ((a.flags & (_GAP_BEFORE | _GAP_AFTER)) == 0)
    before = np.where(a_nothing, b.flags, a.flags) & _GAP_BEFORE
    inner = ((b.flags & _GAP_BEFORE) != 0) & ~a_nothing
    after = ((a.flags | b.flags) & _GAP_AFTER) | np.where(inner, _GAP_AFTER, 0)
    flags = (rising | before | after).astype(np.uint8)
    return Buckets(np.fmin(a.low, b.low), np.fmax(a.high, b.high), flags)


def _shown(low: Floats, high: Floats, flags: Bytes) -> tuple[Flags, Flags, Flags, Flags]:
    """Say which of gap, first extreme, second extreme, gap a bucket needs."""
    some = ~np.isnan(low)
    before = (flags & _GAP_BEFORE) != 0
    return before, some, some & (low < high), (flags & _GAP_AFTER) != 0
