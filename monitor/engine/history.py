"""The whole run in memory, bounded: new rows at full rate, old ones as minimum and maximum."""

from __future__ import annotations

import numpy as np

from monitor.engine.pyramid import Pyramid
from monitor.engine.reduce import reduced
from monitor.engine.ring import Ring
from monitor.engine.rows import Rows
from monitor.samples import Floats, Ints

#: Memory for rows at full rate and for buckets, each, in bytes over all channels.
_BUDGET_BYTES = 72_000_000
_ROW_BYTES = 16
_BUCKET_BYTES = 17
_MOST_ROWS = 65_536
_FEWEST_ROWS = 1_024
_MOST_BUCKETS = 8_192
_FEWEST_BUCKETS = 512
#: Width of a bucket at the start of a run, in ns.
_FIRST_WIDTH_NS = 100_000_000


class History:
    """Answers what a display asks about the past of the run.

    Args:
        channels: How many channels, in the order people see them.
        start_ns: Begin of the run.
    """

    def __init__(self, channels: int, start_ns: int) -> None:
        """Share the memory out among the channels."""
        many = max(1, channels)
        room = _BUDGET_BYTES // (_ROW_BYTES * many)
        self._ring = Ring(many, min(_MOST_ROWS, max(_FEWEST_ROWS, room)))
        self._pyramid = Pyramid(many, buckets_for(many), start_ns, _FIRST_WIDTH_NS)
        self.channels = channels
        self._has_older = False

    def push(self, rows: Rows) -> None:
        """Take the rows of a step."""
        if len(rows):
            self._ring.push(rows)
            self._pyramid.push(rows)

    def push_older(self, rows: Rows) -> None:
        """Take rows from before those that came first; only their extremes are kept."""
        self._has_older = True
        self._pyramid.push(rows)

    def answer(
        self, channel: int, from_ns: int, until_ns: int, points: int
    ) -> tuple[Ints, Floats]:
        """Give one channel's past, reduced to *points* intervals, NaN as gaps.

        The newest row before *from_ns* is given, too, so that a line can enter the picture.

        Args:
            channel: Position of the channel.
            from_ns: Begin of the span.
            until_ns: Its end, included.
            points: Number of intervals; up to two rows and a gap for each.
        """
        t_ns, value = self._ring.rows(channel)
        first_ns = int(t_ns[0]) if len(t_ns) else until_ns + 1
        if from_ns < first_ns and (self._has_older or not self._ring.is_whole(channel)):
            # Some way back, for the row before the span.
            back_ns = from_ns - (until_ns - from_ns)
            old_ns, old = self._pyramid.rows(channel, back_ns, first_ns)
            older = old_ns < first_ns
            t_ns = np.concatenate((old_ns[older], t_ns))
            value = np.concatenate((old[older], value))
        first, last = np.searchsorted(t_ns, (from_ns, until_ns + 1))
        first = max(0, int(first) - 1)
        return reduced(t_ns[first:last], value[first:last], from_ns, until_ns, points)


def buckets_for(channels: int) -> int:
    """Give the number of buckets a channel gets: a power of two that memory allows."""
    room = _BUDGET_BYTES // (_BUCKET_BYTES * channels)
    power = 1 << (max(1, room).bit_length() - 1)
    return min(_MOST_BUCKETS, max(_FEWEST_BUCKETS, power))
