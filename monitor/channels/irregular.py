"""Columns about which something is irregular: put together sample by sample, all at once.

Irregular is a row without a number for a signal, rows out of order or with equal times, values
that a broker kept, a link that went down, and a gap in which a value goes stale. The samples of
all such columns are laid in one flat list and sorted by column and time.

At one instant a column has one sample. A fresh reading counts before all else, and of two the
one that arrived first. Without one it is STALE where that falls due, else OLD where a broker
kept a value, else LINK_LOST, else RELEASED where a hand lets go of a forced value.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from monitor.channels.intake import Lane
from monitor.samples import Bytes, Flags, Floats, Ints, Quality

# What a sample is; at one instant the least counts.
_RANK_READING, _RANK_STALE, _RANK_OLD, _RANK_LINK_LOST, RANK_RELEASED, RANK_FORCED = range(6)
_QUALITY_OF_RANK: Bytes = np.array(
    [
        Quality.GOOD,
        Quality.STALE,
        Quality.OLD,
        Quality.LINK_LOST,
        Quality.RELEASED,
        # What it shows is put in its place once everything is converted.
        Quality.RELEASED,
    ],
    dtype=np.uint8,
)


@dataclass(frozen=True, slots=True)
class Gaps:
    """What it takes to see that a value goes stale.

    Attributes:
        arrival_ns: (columns,) newest reading of each column before the step.
        stale_after_ns: (columns,) a gap longer than this makes the value stale.
        after_ns: W0: what fell due up to then was given in an earlier step.
        until_ns: W.
    """

    arrival_ns: Ints
    stale_after_ns: Ints
    after_ns: int
    until_ns: int


@dataclass(frozen=True, slots=True)
class Samples:
    """Samples of many columns in one flat list; arrays of (samples,).

    Attributes:
        column: Column in the grid.
        t_ns: Time.
        raw: Raw number; NaN where the sample only says why there is none.
        rank: What the sample is.
    """

    column: Ints
    t_ns: Ints
    raw: Floats
    rank: Bytes

    def chosen(self, which: Ints | Flags) -> Samples:
        """Give some of the samples, or all in another order."""
        return Samples(self.column[which], self.t_ns[which], self.raw[which], self.rank[which])

    @property
    def quality(self) -> Bytes:
        """Quality of each sample before anything is converted."""
        return _QUALITY_OF_RANK[self.rank]


def readings_of(lanes: Sequence[Lane], is_odd: Flags) -> tuple[Samples, int]:
    """Lay the readings of the columns marked by *is_odd* in one list.

    Returns:
        Samples by column and time, one for each instant, and the number of rows that another
        one of the same time has displaced in at least one column.
    """
    parts = [part for lane in lanes for part in _flat(lane, is_odd)]
    samples = joined([part for part, _ in parts])
    row = np.concatenate([_NO_INTS, *(row for _, row in parts)])
    order = np.lexsort((row, samples.rank, samples.t_ns, samples.column))
    samples, row = samples.chosen(order), row[order]
    is_first = _is_first(samples)
    displaced = row[~is_first]
    return samples.chosen(is_first), np.unique(displaced).size


def with_stale(readings: Samples, columns: Ints, gaps: Gaps) -> tuple[Samples, Ints]:
    """Add a STALE sample wherever no reading came in time.

    Args:
        readings: Readings of *columns* and ends of forced values, by column and time.
        columns: The columns to look at, rising.
        gaps: What was before.

    Returns:
        Readings and STALE samples, in no order; (columns,) newest reading of each column.
    """
    # Only fresh readings count as arrivals, and the end of a forced value: from then on one is
    # awaited. The one before the step stands before the others.
    is_fresh = (readings.rank == _RANK_READING) | (readings.rank == RANK_RELEASED)
    fresh = readings.chosen(is_fresh)
    place = np.searchsorted(fresh.column, columns)
    t_ns = np.insert(fresh.t_ns, place, gaps.arrival_ns[columns])
    column = np.insert(fresh.column, place, columns)
    is_last = np.append(column[1:] != column[:-1], True)
    due_ns = t_ns + gaps.stale_after_ns[column]
    in_time = np.append(t_ns[1:] <= due_ns[:-1], False)
    is_stale = (is_last | ~in_time) & (due_ns > gaps.after_ns) & (due_ns <= gaps.until_ns)
    stale = marks(column[is_stale], due_ns[is_stale], _RANK_STALE)
    return joined([readings, stale]), t_ns[is_last]


def link_lost(columns: Ints, t_ns: int) -> Samples:
    """Give a LINK_LOST sample for each of *columns* at *t_ns*."""
    return marks(columns, np.full(columns.size, t_ns, dtype=np.int64), _RANK_LINK_LOST)


def at(places: Sequence[tuple[int, int]], rank: int) -> Samples:
    """Give samples that only say why there is no reading, at (column, time in ns)."""
    rows = np.array(places, dtype=np.int64).reshape(-1, 2)
    return marks(rows[:, 0], rows[:, 1], rank)


def in_order(samples: Samples) -> Samples:
    """Sort by column and time, and leave one sample for each instant."""
    samples = samples.chosen(np.lexsort((samples.rank, samples.t_ns, samples.column)))
    return samples.chosen(_is_first(samples))


def marks(column: Ints, t_ns: Ints, rank: int) -> Samples:
    """Give samples that only say why there is no reading."""
    raw = np.full(column.size, np.nan)
    return Samples(column, t_ns, raw, np.full(column.size, rank, dtype=np.uint8))


def joined(parts: Sequence[Samples]) -> Samples:
    """Put lists of samples behind each other."""
    return Samples(
        np.concatenate([_NO_INTS, *(part.column for part in parts)]),
        np.concatenate([_NO_INTS, *(part.t_ns for part in parts)]),
        np.concatenate([_NO_FLOATS, *(part.raw for part in parts)]),
        np.concatenate([_NO_BYTES, *(part.rank for part in parts)]),
    )


_NO_INTS: Ints = np.empty(0, dtype=np.int64)
_NO_FLOATS: Floats = np.empty(0, dtype=np.float64)
_NO_BYTES: Bytes = np.empty(0, dtype=np.uint8)
#: More rows than one piece ever has: keeps the numbers of its rows apart from the next one's.
_ROWS_A_PIECE = 1 << 32


def _flat(lane: Lane, is_odd: Flags) -> list[tuple[Samples, Ints]]:
    """Give a lane's readings of odd columns, and for each the number of its row by arrival."""
    chosen = np.flatnonzero(is_odd[lane.route.columns])
    if not chosen.size:
        return []
    t_ns, values = lane.joined()
    row = np.concatenate(
        [
            arrival * _ROWS_A_PIECE + np.arange(piece.t_ns.size, dtype=np.int64)
            for arrival, piece in zip(lane.arrivals, lane.pieces, strict=True)
        ]
    )
    raw = values[:, lane.route.pick][:, chosen].ravel()
    column = np.tile(lane.route.columns[chosen], t_ns.size)
    says_something = np.flatnonzero(~np.isnan(raw))
    row = np.repeat(row, chosen.size)[says_something]
    column, t_ns = column[says_something], np.repeat(t_ns, chosen.size)[says_something]
    if lane.is_old:
        return [(marks(column, t_ns, _RANK_OLD), row)]
    rank = np.full(row.size, _RANK_READING, dtype=np.uint8)
    return [(Samples(column, t_ns, raw[says_something], rank), row)]


def _is_first(samples: Samples) -> Flags:
    """Mark the first sample of each column and time; the samples are sorted by these."""
    is_first = np.ones(samples.t_ns.size, dtype=np.bool_)
    is_first[1:] = (samples.column[1:] != samples.column[:-1]) | (
        samples.t_ns[1:] != samples.t_ns[:-1]
    )
    return is_first
