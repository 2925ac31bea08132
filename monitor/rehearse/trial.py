"""One limit set up in many ways at once, over the samples of one column."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from monitor.channels.draft import Draft, Held, alone, held_at_start
from monitor.channels.filters import Filters
from monitor.channels.plan import ChannelsPlan, Linear, Measured
from monitor.limits.cutting import cut
from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import Limit
from monitor.limits.stage import Limits
from monitor.rehearse.choices import NO_SIEVE, Choice, Sieve
from monitor.rehearse.occurrences import Occurrence
from monitor.rehearse.track import Move, Track
from monitor.samples import Grid

_SOURCE = "source"
#: Rows that are taken at once: a block of some columns that stays in the processor's cache.
_ROWS = 16_384


def tried(track: Track, limit: Limit, choices: Sequence[Choice]) -> list[list[Occurrence]]:
    """Run a limit over a column, set up in many ways.

    The filters and the limits are those of the pipeline; each filter runs once and each limit
    looks at its filter's column.

    Args:
        track: The column without a filter.
        limit: The limit; what a choice says counts instead of what it says.
        choices: The ways.

    Returns:
        Occurrences by choice, in the order of *choices*, each by time.
    """
    sieves = list(dict.fromkeys(choice.sieve for choice in choices))
    trial = _Trial(track, [sieve for sieve in sieves if sieve != NO_SIEVE])
    limits = [
        replace(
            limit,
            column=trial.column(choice.sieve),
            deadband=choice.deadband,
            on_delay_ns=choice.on_delay_ns,
            n_of_m=choice.n_of_m,
        )
        for choice in choices
    ]
    standing: dict[int, int] = {}
    found: list[list[Occurrence]] = [[] for _ in choices]
    for edge in trial.edges(limits):
        if edge.turn is Turn.RAISED:
            standing[edge.limit] = edge.t_ns
        elif edge.turn is Turn.CLEARED and edge.limit in standing:
            found[edge.limit].append(Occurrence(standing.pop(edge.limit), edge.t_ns))
    for i, raised_ns in standing.items():
        found[i].append(Occurrence(raised_ns, track.end_ns, is_over=False))
    return found


class _Trial:
    """The column and its filtered copies."""

    def __init__(self, track: Track, sieves: Sequence[Sieve]) -> None:
        """Lay the columns out: the source, then one for each filter."""
        self._track = track
        self._sieves = list(sieves)
        rows = [sieve.row(f"{_SOURCE}~{i}", _SOURCE) for i, sieve in enumerate(sieves)]
        measured = Measured(_SOURCE, "", "", Linear(), 0)
        self._plan = ChannelsPlan((measured,), filtered=tuple(rows))
        self._filters = Filters(self._plan)
        self._held = held_at_start(self._plan, track.start_ns)

    def column(self, sieve: Sieve) -> int:
        """Give the column that a limit behind a filter looks at."""
        return 0 if sieve == NO_SIEVE else 1 + self._sieves.index(sieve)

    def edges(self, limits: Sequence[Limit]) -> Iterator[Edge]:
        """Run limits over the whole track."""
        track = self._track
        columns = len(self._plan.column)
        stage = Limits(limits, columns, track.moves[0].place, track.start_ns)
        moves = list(track.moves[1:])
        for first in range(0, max(track.t_ns.size, 1), _ROWS):
            grid = self._block(slice(first, first + _ROWS))
            is_last = first + _ROWS >= track.t_ns.size
            until_ns = track.end_ns if is_last else int(grid.t_ns[-1, 0])
            while moves and moves[0].first_ns <= until_ns:
                move = moves.pop(0)
                before, grid = cut(grid, move.first_ns)
                yield from _entered(stage, move, before)
            yield from stage.step(grid, until_ns)
        # Those that come after the rows of the last instant.
        for move in moves:
            yield from stage.enter(move.place, move.t_ns, is_phase=move.is_phase)
        yield from stage.step(self._nothing(), track.end_ns)

    def _block(self, rows: slice) -> Grid:
        """Give some rows of the source with its filtered copies beside it."""
        track, columns = self._track, len(self._plan.column)
        t_ns = track.t_ns[rows]
        if not t_ns.size:
            return self._nothing()
        grid = Grid(
            np.repeat(t_ns[:, None], columns, axis=1),
            np.repeat(track.value[rows, None], columns, axis=1),
            np.repeat(track.quality[rows, None], columns, axis=1),
            np.full(columns, t_ns.size, dtype=np.int64),
        )
        draft = Draft(grid, np.zeros((t_ns.size, 1)), alone(columns), self._held)
        with np.errstate(all="ignore"):
            self._filters.run(draft)
        self._held = draft.newest()
        return grid

    def _nothing(self) -> Grid:
        """Give a step in which nothing came."""
        held: Held = self._held
        count = np.zeros(held.t_ns.size, dtype=np.int64)
        return Grid(held.t_ns[None, :], held.value[None, :], held.quality[None, :], count)


def _entered(stage: Limits, move: Move, before: Grid) -> Iterator[Edge]:
    """Take the rows before a move, then be there."""
    yield from stage.step(before, move.first_ns - 1)
    yield from stage.enter(move.place, move.t_ns, is_phase=move.is_phase)
