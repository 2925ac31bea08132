"""One limit through time: on-delay, off-delay, bad data. The table below is the behaviour."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import IntEnum

import numpy as np

from monitor.limits.compare import Seen
from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import Limit
from monitor.samples import Bytes, Floats, Ints

NEVER = 2**63 - 1


class Standing(IntEnum):
    """Where a limit stands."""

    CLEAR = 0
    #: True, the on-delay runs.
    PENDING = 1
    ACTIVE = 2
    #: Active and returned, the off-delay runs.
    CLEARING = 3
    #: Bad data came while the on-delay ran; its elapsed time is frozen, the bridge runs.
    PENDING_BAD = 4
    #: Bad data came while clear, the bridge runs; only where bad data raises.
    CLEAR_BAD = 5


class Delays:
    """The standing of every limit. Lists, not arrays: it is touched one limit at a time.

    Times fall due strictly before the next sample, or when W reaches them: a reading at the
    very instant at which a delay ends wins over the timer.
    """

    def __init__(self, limits: Sequence[Limit]) -> None:
        """Start clear."""
        count = len(limits)
        self._limits = tuple(limits)
        self.standing: list[int] = [Standing.CLEAR] * count
        self.last_seen: list[int] = [Seen.BETWEEN] * count
        self.due_ns: list[int] = [NEVER] * count
        self._onset_ns = [0] * count
        self._onset_value = [np.nan] * count
        self._onset_quality = [0] * count
        self._onset_setpoint = [np.nan] * count
        self._left_ns = [0] * count
        self.timed: set[int] = set()
        self.touched: set[int] = set()
        self._edges: list[Edge] = []

    def take_edges(self) -> list[Edge]:
        """Give the edges since the last call, in time order, then in the plan's order."""
        edges, self._edges = self._edges, []
        edges.sort(key=lambda edge: (edge.t_ns, edge.limit))
        return edges

    def see(self, i: int, t_ns: int, seen: int, sample: tuple[float, int, float]) -> None:
        """Show limit *i* a sample at *t_ns*; *sample* is (value, quality, setpoint)."""
        if self.due_ns[i] < t_ns:
            self._fall_due(i)
        self.last_seen[i] = seen
        move = _TABLE.get((self.standing[i], seen))
        if move is not None:
            move(self, i, t_ns, sample)

    def run_until(self, until_ns: int) -> None:
        """Let fall due what is due at or before W."""
        for i in sorted(self.timed):
            if self.due_ns[i] <= until_ns:
                self._fall_due(i)

    def next_due_ns(self) -> int:
        """Give the earliest time at which something falls due."""
        due_ns = self.due_ns
        return min((due_ns[i] for i in self.timed), default=NEVER)

    # Moves of the table.

    def _begin(self, i: int, t_ns: int, sample: tuple[float, int, float]) -> None:
        """The condition is newly true: its on-delay starts."""
        self._note_onset(i, t_ns, sample)
        self._go(i, Standing.PENDING, t_ns + self._limits[i].on_delay_ns)

    def _begin_bad(self, i: int, t_ns: int, sample: tuple[float, int, float]) -> None:
        """Bad data while clear: where it raises, the bridge starts."""
        if self._limits[i].raises_on_bad:
            self._note_onset(i, t_ns, sample)
            self._go(i, Standing.CLEAR_BAD, t_ns + self._limits[i].bridge_ns)

    def _give_up(self, i: int, _t_ns: int, _sample: tuple[float, int, float]) -> None:
        """Not true any more before the delay had run out."""
        self._go(i, Standing.CLEAR, NEVER)

    def _freeze(self, i: int, t_ns: int, _sample: tuple[float, int, float]) -> None:
        """Bad while pending: keep what is left of the delay, start the bridge."""
        self._left_ns[i] = self.due_ns[i] - t_ns
        self._go(i, Standing.PENDING_BAD, t_ns + self._limits[i].bridge_ns)

    def _resume(self, i: int, t_ns: int, _sample: tuple[float, int, float]) -> None:
        """Good and true again within the bridge: the delay goes on."""
        self._go(i, Standing.PENDING, t_ns + self._left_ns[i])

    def _begin_return(self, i: int, t_ns: int, sample: tuple[float, int, float]) -> None:
        """Returned beyond the deadband: the off-delay starts."""
        self._note_onset(i, t_ns, sample)
        self._go(i, Standing.CLEARING, t_ns + self._limits[i].off_delay_ns)

    def _stay_active(self, i: int, _t_ns: int, _sample: tuple[float, int, float]) -> None:
        """Not returned for long enough."""
        self._go(i, Standing.ACTIVE, NEVER)

    def _fall_due(self, i: int) -> None:
        """Something's time has come: the end of a delay or of the bridge."""
        at_ns, standing = self.due_ns[i], self.standing[i]
        if standing == Standing.CLEARING:
            self._edge(i, at_ns, Turn.CLEARED)
            self._go(i, Standing.CLEAR, NEVER)
        elif standing == Standing.PENDING_BAD and not self._limits[i].raises_on_bad:
            self._edge(i, at_ns, Turn.PENDING_LOST)
            self._go(i, Standing.CLEAR, NEVER)
        else:
            self._edge(i, at_ns, Turn.RAISED)
            self._go(i, Standing.ACTIVE, NEVER)

    def _note_onset(self, i: int, t_ns: int, sample: tuple[float, int, float]) -> None:
        """Remember the first sample of a turn: the event will tell of it."""
        self._onset_ns[i] = t_ns
        self._onset_value[i], self._onset_quality[i], self._onset_setpoint[i] = sample

    def _edge(self, i: int, t_ns: int, turn: Turn) -> None:
        """Write down that limit *i* turned."""
        value = self._onset_value[i]
        self._edges.append(
            Edge(
                t_ns,
                i,
                turn,
                self._onset_ns[i],
                None if value != value else value,
                self._onset_quality[i],
                self._onset_setpoint[i],
            )
        )

    def _go(self, i: int, standing: Standing, due_ns: int) -> None:
        """Move to *standing*; *due_ns* is when it ends by itself."""
        self.standing[i] = int(standing)
        self.due_ns[i] = due_ns
        self.touched.add(i)
        if due_ns == NEVER:
            self.timed.discard(i)
        else:
            self.timed.add(i)

    def state(self) -> dict[str, Ints | Floats | Bytes]:
        """Give everything that must outlive a restart, as arrays of one row a limit."""
        whole = {
            "standing": self.standing,
            "last_seen": self.last_seen,
            "due_ns": self.due_ns,
            "onset_ns": self._onset_ns,
            "onset_quality": self._onset_quality,
            "left_ns": self._left_ns,
        }
        real = {"onset_value": self._onset_value, "onset_setpoint": self._onset_setpoint}
        state: dict[str, Ints | Floats | Bytes] = {}
        state |= {name: np.array(rows, dtype=np.int64) for name, rows in whole.items()}
        state |= {name: np.array(rows, dtype=np.float64) for name, rows in real.items()}
        return state

    def load_state(self, state: dict[str, Ints | Floats | Bytes]) -> None:
        """Take back what :meth:`state` gave."""
        self.standing = state["standing"].tolist()
        self.last_seen = state["last_seen"].tolist()
        self.due_ns = state["due_ns"].tolist()
        self._onset_ns = state["onset_ns"].tolist()
        self._onset_quality = state["onset_quality"].tolist()
        self._left_ns = state["left_ns"].tolist()
        self._onset_value = state["onset_value"].tolist()
        self._onset_setpoint = state["onset_setpoint"].tolist()
        self.timed = {i for i, due_ns in enumerate(self.due_ns) if due_ns != NEVER}
        self.touched = set(range(len(self.due_ns)))


_Move = Callable[[Delays, int, int, tuple[float, int, float]], None]

#: (standing, what is seen) -> move. A pair that is not listed changes nothing.
_TABLE: dict[tuple[int, int], _Move] = {
    (Standing.CLEAR, Seen.TRUE): Delays._begin,
    (Standing.CLEAR, Seen.BAD): Delays._begin_bad,
    (Standing.CLEAR_BAD, Seen.TRUE): Delays._begin,
    (Standing.CLEAR_BAD, Seen.BETWEEN): Delays._give_up,
    (Standing.CLEAR_BAD, Seen.RETURNED): Delays._give_up,
    (Standing.PENDING, Seen.BETWEEN): Delays._give_up,
    (Standing.PENDING, Seen.RETURNED): Delays._give_up,
    (Standing.PENDING, Seen.BAD): Delays._freeze,
    (Standing.PENDING_BAD, Seen.TRUE): Delays._resume,
    (Standing.PENDING_BAD, Seen.BETWEEN): Delays._give_up,
    (Standing.PENDING_BAD, Seen.RETURNED): Delays._give_up,
    (Standing.ACTIVE, Seen.RETURNED): Delays._begin_return,
    (Standing.CLEARING, Seen.TRUE): Delays._stay_active,
    (Standing.CLEARING, Seen.BETWEEN): Delays._stay_active,
    (Standing.CLEARING, Seen.BAD): Delays._stay_active,
}
