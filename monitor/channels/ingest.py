"""Blocks of raw readings to one raw grid: what came, what is missing, what is lost.

Nearly all columns are regular: rows in time order, no holes, no gaps. They are written as
whole slices. A column with anything else about it is put together piece by piece.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import msgspec
import numpy as np

from drivers.reading import Block
from monitor.channels.plan import Measured
from monitor.events import Control, LinkChange
from monitor.samples import Admitted, Bytes, Flags, Floats, Ints, Quality

#: Blocks that may wait for W; each is at most one read of one instrument.
MAX_WAITING_BLOCKS = 10_000


@dataclass(slots=True)
class RawGrid:
    """Raw rows of the measured columns, time-major, not padded.

    *quality* is good for a reading, and bad for a sample that only says why there is none.
    Columns of one *group* have the very same times; -1 stands for a group of one's own.
    """

    t_ns: Ints
    raw: Floats
    quality: Bytes
    count: Ints
    group: Ints


@dataclass(slots=True)
class _Pieces:
    """What belongs to one irregular column in this step, earlier arrivals first."""

    t_ns: list[Ints] = field(default_factory=list)
    raw: list[Floats] = field(default_factory=list)
    quality: list[int] = field(default_factory=list)

    def add(self, t_ns: Ints, raw: Floats, quality: int) -> None:
        """Add rows of one quality."""
        self.t_ns.append(t_ns)
        self.raw.append(raw)
        self.quality.append(quality)


_Key = tuple[str, tuple[str, ...], bool]


class Ingest:
    """Turns admitted blocks and link changes into raw rows of (W0, W].

    Attributes:
        counts: Rows that were not used, by reason in plain words.
    """

    def __init__(self, measured: Sequence[Measured], start_ns: int) -> None:
        """Start waiting for a first reading of every channel at *start_ns*."""
        self._measured = tuple(measured)
        self._columns_of: dict[tuple[str, str], list[int]] = {}
        for i, m in enumerate(measured):
            self._columns_of.setdefault((m.instrument, m.signal), []).append(i)
        self._of_instrument: dict[str, list[int]] = {}
        for i, m in enumerate(measured):
            self._of_instrument.setdefault(m.instrument, []).append(i)
        self._routes: dict[_Key, tuple[Ints, Ints]] = {}
        self._stale_after: Ints = np.array([m.stale_after_ns for m in measured], dtype=np.int64)
        self.last_arrival_ns: Ints = np.full(len(measured), start_ns, dtype=np.int64)
        self.until_ns = start_ns
        self._waiting: list[Block] = []
        self.counts: dict[str, int] = {}

    def step(
        self, admitted: Sequence[Admitted], controls: Sequence[Control], until_ns: int
    ) -> RawGrid:
        """Take what has come; give the rows up to W."""
        blocks = self._due(admitted, until_ns)
        width = len(self._measured)
        height = max((len(t_ns) for t_ns, _ in blocks.values()), default=0)
        grid = RawGrid(
            np.zeros((height, width), dtype=np.int64),
            np.zeros((height, width), dtype=np.float64),
            np.zeros((height, width), dtype=np.uint8),
            np.zeros(width, dtype=np.int64),
            np.full(width, -1, dtype=np.int64),
        )
        odd: dict[int, _Pieces] = {}
        self._place(blocks, grid, odd)
        self._lose_links(controls, grid, odd)
        self._find_gaps(grid, odd, until_ns)
        if odd:
            grid = self._assemble(grid, odd, until_ns)
        self.until_ns = until_ns
        return grid

    # Which rows are due.

    def _due(
        self, admitted: Sequence[Admitted], until_ns: int
    ) -> dict[_Key, tuple[Ints, Floats]]:
        """Give the rows up to W by where they come from; keep the others."""
        arrived = [*self._waiting, *self._not_late(admitted)]
        self._waiting = []
        parts: dict[_Key, list[tuple[Ints, Floats]]] = {}
        for block in arrived:
            t_ns, values = block.t_ns, block.values
            if len(t_ns) and t_ns.max() > until_ns:
                is_due = t_ns <= until_ns
                self._wait(block, ~is_due)
                t_ns, values = t_ns[is_due], values[is_due]
            if len(t_ns):
                key = (block.instrument, block.signals, block.is_old)
                parts.setdefault(key, []).append((t_ns, values))
        return {key: _joined(rows) for key, rows in parts.items()}

    def _not_late(self, admitted: Iterable[Admitted]) -> list[Block]:
        """Leave out the rows that came too late to be evaluated."""
        blocks = []
        for one in admitted:
            if one.late is None or not one.late.any():
                blocks.append(one.block)
                continue
            self._count("late rows", int(np.count_nonzero(one.late)))
            blocks.append(_some_rows(one.block, ~one.late))
        return blocks

    def _wait(self, block: Block, rows: Flags) -> None:
        """Keep rows for a later step, bounded."""
        self._waiting.append(_some_rows(block, rows))
        if len(self._waiting) > MAX_WAITING_BLOCKS:
            oldest = self._waiting.pop(0)
            self._count("rows dropped while waiting for W", len(oldest.t_ns))

    # Where they go.

    def _place(
        self,
        blocks: dict[_Key, tuple[Ints, Floats]],
        grid: RawGrid,
        odd: dict[int, _Pieces],
    ) -> None:
        """Write rows into their columns: whole slices where everything is regular."""
        for group, (key, (t_ns, values)) in enumerate(blocks.items()):
            columns, signals = self._route(key)
            if not len(columns):
                self._count("rows that no channel uses", len(t_ns))
                continue
            raw = values if signals is _ALL else values[:, signals]
            is_plain = not key[2] and bool((t_ns[1:] > t_ns[:-1]).all())
            is_plain &= not grid.count[columns].any() and odd.keys().isdisjoint(columns)
            if is_plain and not np.isnan(raw).any():
                rows = len(t_ns)
                grid.t_ns[:rows, columns] = t_ns[:, None]
                grid.raw[:rows, columns] = raw
                grid.count[columns], grid.group[columns] = rows, group
                continue
            quality = Quality.OLD if key[2] else Quality.GOOD
            for j, column in enumerate(columns.tolist()):
                self._odd(grid, odd, column).add(t_ns, raw[:, j], quality)

    def _route(self, key: _Key) -> tuple[Ints, Ints]:
        """Give (columns, positions of their signals) for blocks of one kind; remembered."""
        route = self._routes.get(key)
        if route is None:
            instrument, signals, _ = key
            pairs = [
                (column, j)
                for j, signal in enumerate(signals)
                for column in self._columns_of.get((instrument, signal), ())
            ]
            columns = np.array([column for column, _ in pairs], dtype=np.int64)
            positions = np.array([j for _, j in pairs], dtype=np.int64)
            if np.array_equal(positions, np.arange(len(signals))):
                positions = _ALL
            route = self._routes[key] = (columns, positions)
        return route

    def _odd(self, grid: RawGrid, odd: dict[int, _Pieces], column: int) -> _Pieces:
        """Give the pieces of an irregular column; what it has in the grid comes first."""
        pieces = odd.get(column)
        if pieces is None:
            pieces = odd[column] = _Pieces()
            rows = int(grid.count[column])
            if rows:
                t_ns, raw = grid.t_ns[:rows, column].copy(), grid.raw[:rows, column].copy()
                pieces.add(t_ns, raw, Quality.GOOD)
                grid.count[column], grid.group[column] = 0, -1
        return pieces

    # What is missing.

    def _lose_links(
        self, controls: Sequence[Control], grid: RawGrid, odd: dict[int, _Pieces]
    ) -> None:
        """A link that goes down makes the values of its instrument bad at that instant."""
        for control in controls:
            what = control.what
            if not isinstance(what, LinkChange) or what.is_up:
                continue
            t_ns = np.array([control.t_ns], dtype=np.int64)
            for column in self._of_instrument.get(what.instrument, ()):
                self._odd(grid, odd, column).add(t_ns, _NOTHING, Quality.LINK_LOST)

    def _find_gaps(self, grid: RawGrid, odd: dict[int, _Pieces], until_ns: int) -> None:
        """Mark columns irregular in which a value goes stale in this step."""
        if not len(self._measured):
            return
        before = newest = self.last_arrival_ns
        has_gap: Flags = np.zeros(len(self._measured), dtype=np.bool_)
        if grid.t_ns.shape[0]:
            has_rows = grid.count > 0
            has_gap = has_rows & (grid.t_ns[0] - newest > self._stale_after)
            inner = grid.t_ns[1:] - grid.t_ns[:-1] > self._stale_after
            if inner.any():
                has_gap |= inner.any(axis=0)
            last_row = np.maximum(grid.count - 1, 0)
            newest = np.where(has_rows, grid.t_ns[last_row, _ranged(len(last_row))], newest)
        stale_at = newest + self._stale_after
        has_gap |= (stale_at <= until_ns) & (stale_at > self.until_ns)
        for column in np.flatnonzero(has_gap).tolist():
            self._odd(grid, odd, column)
        # What is put together piece by piece finds its own arrivals from the time before.
        self.last_arrival_ns = np.where(has_gap, before, newest)

    # Irregular columns.

    def _assemble(self, grid: RawGrid, odd: dict[int, _Pieces], until_ns: int) -> RawGrid:
        """Put the irregular columns together and make the grid high enough for them."""
        rows = {column: self._merge(column, odd[column], until_ns) for column in odd}
        needed = max(len(t_ns) for t_ns, _, _ in rows.values())
        if needed > grid.t_ns.shape[0]:
            grid = _grown(grid, needed)
        for column, (t_ns, raw, quality) in rows.items():
            n = len(t_ns)
            grid.t_ns[:n, column], grid.raw[:n, column] = t_ns, raw
            grid.quality[:n, column], grid.count[column] = quality, n
        return grid

    def _merge(self, column: int, pieces: _Pieces, until_ns: int) -> tuple[Ints, Floats, Bytes]:
        """Put the pieces of one column in order, with stale samples where nothing came."""
        t_ns = np.concatenate([_NO_TIMES, *pieces.t_ns])
        raw = np.concatenate([_NO_VALUES, *pieces.raw])
        sizes = [len(part) for part in pieces.t_ns]
        quality = np.repeat(np.array(pieces.quality, dtype=np.uint8), sizes)
        # A row that says nothing about this signal is no sample at all.
        says = (quality != Quality.GOOD) | ~np.isnan(raw)
        t_ns, raw, quality = t_ns[says], raw[says], quality[says]
        stale = self._stale_times(column, np.sort(t_ns[quality == Quality.GOOD]), until_ns)
        t_ns = np.concatenate([t_ns, stale])
        raw = np.concatenate([raw, np.full(len(stale), np.nan)])
        quality = np.concatenate([quality, np.full(len(stale), Quality.STALE, dtype=np.uint8)])
        # At one instant a reading counts, then staleness, then anything else; and of two
        # readings the first that arrived. Sorting is stable.
        grade = np.select([quality == Quality.GOOD, quality == Quality.STALE], [0, 1], 2)
        order = np.lexsort((grade, t_ns))
        t_ns, raw, quality = t_ns[order], raw[order], quality[order]
        is_first = np.ones(len(t_ns), dtype=np.bool_)
        is_first[1:] = t_ns[1:] > t_ns[:-1]
        self._count("rows with a time that was there already", int(np.count_nonzero(~is_first)))
        return t_ns[is_first], raw[is_first], quality[is_first]

    def _stale_times(self, column: int, arrivals: Ints, until_ns: int) -> Ints:
        """Give the instants in (W0, W] at which the column goes stale."""
        before = int(self.last_arrival_ns[column])
        after = int(self._stale_after[column])
        starts = np.concatenate([np.array([before], dtype=np.int64), arrivals])
        ends = np.concatenate([arrivals, np.array([_FAR_NS], dtype=np.int64)])
        self.last_arrival_ns[column] = starts[-1]
        stale_at = starts + after
        is_stale = (stale_at < ends) & (stale_at > self.until_ns) & (stale_at <= until_ns)
        return stale_at[is_stale]

    def _count(self, what: str, rows: int) -> None:
        """Add to a counter."""
        if rows:
            self.counts[what] = self.counts.get(what, 0) + rows

    # Checkpoints.

    def waiting_bytes(self) -> bytes:
        """Give the rows that wait for W, for a checkpoint."""
        rows = [
            _Waiting(b.instrument, b.signals, b.t_ns.tobytes(), b.values.tobytes(), b.is_old)
            for b in self._waiting
        ]
        # Only the order within one source means anything.
        rows.sort(key=lambda row: (row.instrument, row.signals, row.is_old))
        return msgspec.msgpack.encode(rows)

    def load(self, until_ns: int, last_arrival_ns: Ints, waiting: bytes) -> None:
        """Go on from a checkpoint."""
        self.until_ns, self.last_arrival_ns = until_ns, last_arrival_ns
        self._waiting = []
        for row in msgspec.msgpack.decode(waiting, type=list[_Waiting]):
            t_ns = np.frombuffer(row.t_ns, dtype=np.int64)
            values = np.frombuffer(row.values, dtype=np.float64)
            shaped = values.reshape(len(t_ns), len(row.signals))
            block = Block(row.instrument, row.signals, t_ns, shaped, is_old=row.is_old)
            self._waiting.append(block)


class _Waiting(msgspec.Struct, array_like=True):
    """Rows that wait for W."""

    instrument: str
    signals: tuple[str, ...]
    t_ns: bytes
    values: bytes
    is_old: bool


#: Stands for "every signal in its order": no need to pick columns.
_ALL: Ints = np.empty(0, dtype=np.int64)
_NO_TIMES: Ints = np.empty(0, dtype=np.int64)
_NO_VALUES: Floats = np.empty(0, dtype=np.float64)
_NOTHING: Floats = np.array([np.nan])
_FAR_NS = 2**62


def _ranged(size: int) -> Ints:
    """Give 0 .. size - 1."""
    return np.arange(size, dtype=np.int64)


def _some_rows(block: Block, rows: Flags) -> Block:
    """Give a block with some of its rows."""
    return Block(
        block.instrument,
        block.signals,
        block.t_ns[rows],
        block.values[rows],
        is_old=block.is_old,
    )


def _joined(rows: list[tuple[Ints, Floats]]) -> tuple[Ints, Floats]:
    """Put rows of one source behind each other, in the order in which they arrived."""
    if len(rows) == 1:
        return rows[0]
    return np.concatenate([t_ns for t_ns, _ in rows]), np.concatenate([v for _, v in rows])


def _grown(grid: RawGrid, height: int) -> RawGrid:
    """Give the grid more rows."""
    more = height - grid.t_ns.shape[0]
    return RawGrid(
        np.pad(grid.t_ns, ((0, more), (0, 0))),
        np.pad(grid.raw, ((0, more), (0, 0))),
        np.pad(grid.quality, ((0, more), (0, 0))),
        grid.count,
        grid.group,
    )
