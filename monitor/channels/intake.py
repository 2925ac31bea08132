"""Which rows are due in a step: late ones left out, early ones kept, the rest by origin."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import msgspec
import numpy as np

from monitor.channels.plan import Measured
from monitor.samples import Admitted, Floats, Ints

#: Rows of one origin that may wait for W; more are dropped and counted.
MOST_WAITING_ROWS = 100_000
#: Origins remembered; an instrument that keeps naming its signals anew must not fill memory.
_MOST_ROUTES = 10_000


@dataclass(frozen=True, slots=True, eq=False)
class Route:
    """Which signals of an instrument's blocks go to which columns.

    Attributes:
        instrument: Name of the instrument.
        signals: Names of all columns of its blocks.
        columns: (routed,) columns of the grid, each once.
        to: The same as a slice where they are neighbours: much quicker to write.
        pick: (routed,) positions of their signals in the block, likewise a slice if possible.
        shortest_stale_ns: The least stale time among the columns.
    """

    instrument: str
    signals: tuple[str, ...]
    columns: Ints
    to: slice | Ints
    pick: slice | Ints
    shortest_stale_ns: int


@dataclass(frozen=True, slots=True)
class Piece:
    """Rows that came together: (rows,) rising times and (rows, signals) numbers."""

    route: Route
    is_old: bool
    t_ns: Ints
    values: Floats

    def rows(self, first: int | None, last: int | None) -> Piece:
        """Give the rows from *first* up to *last*."""
        return Piece(self.route, self.is_old, self.t_ns[first:last], self.values[first:last])


@dataclass(slots=True)
class Lane:
    """All rows of one origin in this step, in the order of their arrival.

    Attributes:
        route: Where they go.
        is_old: Whether the broker kept them for us.
        pieces: The rows as they came.
        arrivals: Number of each piece in the step's order of arrival.
        first_ns: Time of the first row.
        last_ns: Time of the last row.
        is_rising: Whether times rise from each row to the next.
        rows: Number of rows.
    """

    route: Route
    is_old: bool
    pieces: list[Piece] = field(default_factory=list)
    arrivals: list[int] = field(default_factory=list)
    first_ns: int = 0
    last_ns: int = 0
    is_rising: bool = True
    rows: int = 0

    def add(self, piece: Piece, arrival: int, first_ns: int, last_ns: int) -> None:
        """Put *piece* behind the others."""
        if not self.pieces:
            self.first_ns = first_ns
        elif first_ns <= self.last_ns:
            self.is_rising = False
        self.last_ns = last_ns
        self.rows += piece.t_ns.size
        self.pieces.append(piece)
        self.arrivals.append(arrival)

    def joined(self) -> tuple[Ints, Floats]:
        """Give times and numbers of all pieces."""
        if len(self.pieces) == 1:
            return self.pieces[0].t_ns, self.pieces[0].values
        return (
            np.concatenate([piece.t_ns for piece in self.pieces]),
            np.concatenate([piece.values for piece in self.pieces]),
        )


class Intake:
    """Takes blocks as they were handed over; gives the rows in (W0, W].

    Attributes:
        until_ns: W0.
        late_rows: Rows at or before the W of their moment: not evaluated.
        unknown_rows: Rows of which no channel uses a signal.
        overflow_rows: Rows after W that found no room to wait.
        waiting_rows: Rows that wait for a later W.
    """

    def __init__(self, measured: Sequence[Measured], start_ns: int) -> None:
        """Start with nothing waiting and W at *start_ns*."""
        self._measured = tuple(measured)
        self._routes: dict[tuple[str, tuple[str, ...]], Route | None] = {}
        self._waiting: list[Piece] = []
        self._waiting_by_route: dict[Route, int] = {}
        self.until_ns = start_ns
        self.late_rows = 0
        self.unknown_rows = 0
        self.overflow_rows = 0

    @property
    def waiting_rows(self) -> int:
        """Count the rows that wait for a later W."""
        return sum(self._waiting_by_route.values())

    def take(self, admitted: Sequence[Admitted], until_ns: int) -> list[Lane]:
        """Take what was handed over; give what is due up to *until_ns*, which is the new W."""
        pieces = self._waiting
        pieces += _rising([piece for one in admitted for piece in self._admit(one)])
        self._waiting = []
        self._waiting_by_route = {}
        lanes: dict[tuple[Route, bool], Lane] = {}
        for arrival, piece in enumerate(pieces):
            self._sort_in(piece, arrival, until_ns, lanes)
        self.until_ns = until_ns
        return list(lanes.values())

    def _admit(self, one: Admitted) -> Iterator[Piece]:
        """Give the rows of a block that can still be evaluated."""
        block, t_ns, values = one.block, one.block.t_ns, one.block.values
        route = self._route(block.instrument, block.signals)
        if one.late is not None and one.late.any():
            self.late_rows += int(np.count_nonzero(one.late))
            t_ns, values = t_ns[~one.late], values[~one.late]
        if route is None:
            self.unknown_rows += t_ns.size
        elif t_ns.size:
            yield Piece(route, block.is_old, t_ns, values)

    def _sort_in(
        self,
        piece: Piece,
        arrival: int,
        until_ns: int,
        lanes: dict[tuple[Route, bool], Lane],
    ) -> None:
        """Put what is due of *piece* into its lane; let the rest wait."""
        first_ns, last_ns = int(piece.t_ns[0]), int(piece.t_ns[-1])
        if first_ns <= self.until_ns or last_ns > until_ns:
            piece = self._trimmed(piece, until_ns)
            if not piece.t_ns.size:
                return
            first_ns, last_ns = int(piece.t_ns[0]), int(piece.t_ns[-1])
        key = (piece.route, piece.is_old)
        lane = lanes.get(key)
        if lane is None:
            lane = lanes[key] = Lane(piece.route, piece.is_old)
        lane.add(piece, arrival, first_ns, last_ns)

    def _trimmed(self, piece: Piece, until_ns: int) -> Piece:
        """Give the rows in (W0, W]; count the earlier ones, keep the later ones.

        Whoever hands rows over marks the late ones; without a mark they are late all the same.
        """
        bounds = np.array([self.until_ns, until_ns], dtype=np.int64)
        first, last = piece.t_ns.searchsorted(bounds, side="right").tolist()
        self.late_rows += first
        self._wait(piece.rows(last, None))
        return piece.rows(first, last)

    def _wait(self, piece: Piece) -> None:
        """Keep *piece* for a later step while there is room."""
        waiting = self._waiting_by_route.get(piece.route, 0)
        room = MOST_WAITING_ROWS - waiting
        if piece.t_ns.size > room:
            self.overflow_rows += piece.t_ns.size - room
            piece = piece.rows(None, room)
        if piece.t_ns.size:
            self._waiting.append(piece)
            self._waiting_by_route[piece.route] = waiting + piece.t_ns.size

    def _route(self, instrument: str, signals: tuple[str, ...]) -> Route | None:
        """Give where these signals go; None where no channel uses any."""
        key = (instrument, signals)
        try:
            return self._routes[key]
        except KeyError:
            if len(self._routes) >= _MOST_ROUTES:
                self._routes.clear()
            route = self._routes[key] = _route(self._measured, instrument, signals)
            return route

    def waiting(self) -> bytes:
        """Give the rows that wait, for a checkpoint."""
        return msgspec.msgpack.encode(
            [
                _Waiting(
                    piece.route.instrument,
                    piece.route.signals,
                    piece.is_old,
                    piece.t_ns.tobytes(),
                    piece.values.tobytes(),
                )
                for piece in self._waiting
            ]
        )

    def load_waiting(self, saved: bytes) -> None:
        """Go on from :meth:`waiting`."""
        self._waiting = []
        self._waiting_by_route = {}
        for row in msgspec.msgpack.decode(saved, type=list[_Waiting]):
            route = self._route(row.instrument, row.signals)
            t_ns = np.frombuffer(row.t_ns, dtype=np.int64)
            values = np.frombuffer(row.values, dtype=np.float64)
            if route is not None:
                shaped = values.reshape(t_ns.size, len(row.signals))
                self._wait(Piece(route, row.is_old, t_ns, shaped))


class _Waiting(msgspec.Struct, array_like=True):
    """A piece that waits, as plain data."""

    instrument: str
    signals: tuple[str, ...]
    is_old: bool
    t_ns: bytes
    values: bytes


def _route(
    measured: Sequence[Measured], instrument: str, signals: tuple[str, ...]
) -> Route | None:
    """Find the channels that *signals* of *instrument* feed."""
    position = {signal: i for i, signal in enumerate(signals)}
    pairs = [
        (column, position[channel.signal], channel.stale_after_ns)
        for column, channel in enumerate(measured)
        if channel.instrument == instrument and channel.signal in position
    ]
    if not pairs:
        return None
    columns = np.array([pair[0] for pair in pairs], dtype=np.int64)
    pick = np.array([pair[1] for pair in pairs], dtype=np.int64)
    shortest_ns = min(pair[2] for pair in pairs)
    return Route(instrument, signals, columns, _slice(columns), _slice(pick), shortest_ns)


def _slice(numbers: Ints) -> slice | Ints:
    """Give neighbouring numbers as a slice, others as they are."""
    first, last = int(numbers[0]), int(numbers[-1])
    is_run = np.array_equal(numbers, np.arange(first, last + 1))
    return slice(first, last + 1) if is_run else numbers


def _rising(pieces: list[Piece]) -> list[Piece]:
    """Take pieces whose times do not rise apart, row by row: each row is then in its place.

    Drivers promise rising times; this keeps a mistake of theirs from turning time back here.
    """
    if not pieces:
        return pieces
    t_ns = np.concatenate([piece.t_ns for piece in pieces])
    ends = np.array([piece.t_ns.size for piece in pieces], dtype=np.int64).cumsum()
    is_rising = np.empty(t_ns.size, dtype=np.bool_)
    np.greater(t_ns[1:], t_ns[:-1], out=is_rising[:-1])
    is_rising[ends - 1] = True
    if is_rising.all():
        return pieces
    apart: list[Piece] = []
    for piece in pieces:
        if (piece.t_ns[1:] > piece.t_ns[:-1]).all():
            apart.append(piece)
        else:
            apart += [piece.rows(i, i + 1) for i in range(piece.t_ns.size)]
    return apart
