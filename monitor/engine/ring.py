"""The newest rows of every channel at full rate, bounded."""

from __future__ import annotations

import numpy as np

from monitor.engine.rows import Rows
from monitor.samples import Floats, Ints


class Ring:
    """Keeps the newest *capacity* rows of each of *channels* channels."""

    def __init__(self, channels: int, capacity: int) -> None:
        """Start empty; memory is taken only as rows come."""
        self._capacity = capacity
        self._t_ns = np.zeros((channels, capacity), np.int64)
        self._value = np.zeros((channels, capacity), np.float64)
        self._written = np.zeros(channels, np.int64)

    def push(self, rows: Rows) -> None:
        """Take new rows, all channels at once."""
        count = np.diff(rows.start)
        begin = self._written[rows.channel] - rows.start[:-1]
        at = (np.repeat(begin, count) + np.arange(len(rows))) % self._capacity
        at += np.repeat(rows.channel * self._capacity, count)
        # Of equal positions numpy lets the last win: a block longer than the ring is right.
        self._t_ns.reshape(-1)[at] = rows.t_ns
        self._value.reshape(-1)[at] = rows.value
        self._written[rows.channel] += count

    def rows(self, channel: int) -> tuple[Ints, Floats]:
        """Give times and values of one channel, oldest first."""
        written = int(self._written[channel])
        if written <= self._capacity:
            return self._t_ns[channel, :written], self._value[channel, :written]
        cut = written % self._capacity
        order = np.r_[cut : self._capacity, 0:cut]
        return self._t_ns[channel, order], self._value[channel, order]

    def is_whole(self, channel: int) -> bool:
        """Whether every row that ever came is still here."""
        return bool(self._written[channel] <= self._capacity)
