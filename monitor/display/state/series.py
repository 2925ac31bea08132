"""One channel's past for drawing: newest rows in full, older ones as minimum and maximum.

A pyramid of levels: level 0 holds rows as they came, each level above holds one entry for 16
of the level below. Each level keeps a bounded number of its newest entries, so that memory is
bounded and a whole day can still be drawn; what falls out of one level lives on in the next.
Gaps are rows of NaN and are remembered by a flag of the entry.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count

import numpy as np

from monitor.samples import Flags, Floats, Ints

FACTOR = 16
#: Entries that a level keeps.
KEPT = 65_536
_LEVELS = 5
_FIRST_ROOM = 256


@dataclass(frozen=True, slots=True)
class Rows:
    """A stretch of one level: lowest and highest value from each time on, and gaps in it."""

    t_ns: Ints
    low: Floats
    high: Floats
    has_gap: Flags
    is_raw: bool


class _Level:
    """Newest entries of one level in contiguous arrays."""

    def __init__(self, kept: int) -> None:
        self.kept = kept
        self.first = 0
        self.end = 0
        self.dropped = 0
        self._room(_FIRST_ROOM)

    def _room(self, size: int) -> None:
        """Move the valid entries to the front of arrays of *size*."""
        t_ns, low = np.empty(size, np.int64), np.empty(size)
        high, has_gap = np.empty(size), np.empty(size, np.bool_)
        held = self.end - self.first
        if held:
            rows = self.rows(0, held)
            t_ns[:held], low[:held] = rows.t_ns, rows.low
            high[:held], has_gap[:held] = rows.high, rows.has_gap
        self._t, self._low, self._high, self._gap = t_ns, low, high, has_gap
        self.first, self.end = 0, held

    def __len__(self) -> int:
        return self.end - self.first

    @property
    def t_ns(self) -> Ints:
        """Times of the entries kept."""
        return self._t[self.first : self.end]

    def rows(self, start: int, end: int) -> Rows:
        """Give entries *start* to *end* of those kept, without copying."""
        cut = slice(self.first + start, self.first + end)
        return Rows(self._t[cut], self._low[cut], self._high[cut], self._gap[cut], False)

    def append(self, rows: Rows) -> None:
        """Add entries behind, at most half of what is kept; drop the oldest beyond that."""
        new = rows.t_ns.size
        if self.end + new > self._t.size:
            self._room(min(2 * self.kept, max(self._t.size, 2 * (len(self) + new))))
        cut = slice(self.end, self.end + new)
        self._t[cut], self._low[cut] = rows.t_ns, rows.low
        self._high[cut], self._gap[cut] = rows.high, rows.has_gap
        self.end += new
        over = len(self) - self.kept
        if over > 0:
            self.first += over
            self.dropped += over


def _folded(rows: Rows) -> Rows:
    """Make one entry of each 16; the length must be a multiple of 16."""
    shape = (-1, FACTOR)
    return Rows(
        rows.t_ns.reshape(shape)[:, 0],
        np.fmin.reduce(rows.low.reshape(shape), axis=1),
        np.fmax.reduce(rows.high.reshape(shape), axis=1),
        np.logical_or.reduce(rows.has_gap.reshape(shape), axis=1),
        False,
    )


def _joined(parts: list[Rows], *, is_raw: bool) -> Rows:
    """Lay stretches one behind the other."""
    if len(parts) == 1:
        one = parts[0]
        return Rows(one.t_ns, one.low, one.high, one.has_gap, is_raw)
    return Rows(
        np.concatenate([part.t_ns for part in parts]),
        np.concatenate([part.low for part in parts]),
        np.concatenate([part.high for part in parts]),
        np.concatenate([part.has_gap for part in parts]),
        is_raw,
    )


#: Gives each series a number of its own: that of an object can come again.
_SERIALS = count()


class Series:
    """Rows of one channel, oldest first.

    Attributes:
        serial: Number that no other series has.
        appended: Rows ever appended; changes whenever there is something new to draw.
        remade: How often older rows were put in front; caches of drawn lines start anew.
    """

    def __init__(self, kept: int = KEPT) -> None:
        """Start empty, keeping *kept* entries in each level."""
        self.serial = next(_SERIALS)
        self._kept = kept
        self._levels = [_Level(kept)]
        self._unfolded = [0]
        self.appended = 0
        self.remade = 0

    def append(self, t_ns: Ints, value: Floats) -> None:
        """Add rows behind. Times must not fall; bad values are NaN."""
        piece = max(FACTOR, self._kept // 2)
        for start in range(0, t_ns.size, piece):
            cut = slice(start, start + piece)
            part = value[cut]
            self._add(0, Rows(t_ns[cut], part, part, np.isnan(part), True))
        self.appended += t_ns.size

    def _add(self, number: int, rows: Rows) -> None:
        """Add entries to a level and fold what is complete into the level above."""
        level = self._levels[number]
        level.append(rows)
        waiting = self._unfolded[number] + rows.t_ns.size
        whole = waiting // FACTOR * FACTOR
        self._unfolded[number] = waiting - whole
        if not whole or number + 1 == _LEVELS:
            return
        if number + 1 == len(self._levels):
            self._levels.append(_Level(self._kept))
            self._unfolded.append(0)
        start = len(level) - waiting
        self._add(number + 1, _folded(level.rows(start, start + whole)))

    def put_before(self, t_ns: Ints, value: Floats) -> bool:
        """Put older rows in front of those here; rows not older than these are left out.

        Returns:
            False when rows were already dropped at full resolution, so that it is too late.
        """
        level = self._levels[0]
        if level.dropped:
            return False
        kept = level.rows(0, len(level))
        older = t_ns < kept.t_ns[0] if len(level) else np.ones(t_ns.size, np.bool_)
        fresh = Series(self._kept)
        fresh.append(t_ns[older], value[older])
        fresh.append(kept.t_ns, kept.low)
        self._levels, self._unfolded = fresh._levels, fresh._unfolded
        self.appended = fresh.appended
        self.remade += 1
        return True

    def last_t_ns(self) -> int:
        """Give the time of the newest row in ns; 0 when there is none."""
        times = self._levels[0].t_ns
        return int(times[-1]) if times.size else 0

    def window(self, from_ns: int, until_ns: int, most: int) -> Rows:
        """Give what falls into [from_ns, until_ns] from the finest level that can serve.

        That is the finest level that reaches back to *from_ns* and has at most *most* entries
        there; the coarsest one otherwise. Rows not yet folded come from the levels below.
        An entry of a coarser level that straddles *from_ns* is included whole.
        """
        for number, level in enumerate(self._levels):
            start = int(level.t_ns.searchsorted(from_ns, "right" if number else "left"))
            end = int(level.t_ns.searchsorted(until_ns, "right"))
            reaches = level.dropped == 0 or start > 0
            start = max(0, start - 1) if number else start
            if reaches and end - start <= most:
                break
        parts = [level.rows(start, len(level))]
        for lower in range(number - 1, -1, -1):
            size = len(self._levels[lower])
            parts.append(self._levels[lower].rows(size - self._unfolded[lower], size))
        rows = _joined(
            [part for part in parts if part.t_ns.size] or parts[:1], is_raw=not number
        )
        return self._until(rows, until_ns)

    @staticmethod
    def _until(rows: Rows, until_ns: int) -> Rows:
        """Leave out what begins after *until_ns*."""
        end = int(rows.t_ns.searchsorted(until_ns, "right"))
        if end == rows.t_ns.size:
            return rows
        return Rows(
            rows.t_ns[:end], rows.low[:end], rows.high[:end], rows.has_gap[:end], rows.is_raw
        )
