"""One limit through time: on-delay, off-delay, bad data. The table below is the behaviour."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from enum import IntEnum

import numpy as np

from monitor.limits.compare import Seen
from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import Limit
from monitor.samples import Bytes, Floats, Ints

NEVER = 2**63 - 1

#: Value, quality, and the setpoint that was in force.
_Sample = tuple[float, int, float]
#: Limit, time in ns, what it sees from then on, value, quality, setpoint: plain, for there may
#: be many.
Sight = tuple[int, int, int, float, int, float]
#: The same with its time before it.
_Onset = tuple[int, float, int, float]


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
    #: Waits until the value was once inside the band.
    ASLEEP = 6
    #: What had to come once has come.
    DONE = 7
    #: Not watched in this phase and mode.
    IDLE = 8


class Delays:
    """The standing of every limit. Lists, not arrays: it is touched one limit at a time.

    Times fall due strictly before the next sample, or when W reaches them: a reading at the
    very instant at which a delay ends wins over the timer. A sample in which a limit sees the
    same as in the one before changes nothing, so it need not be shown.

    Attributes:
        standing: (limits,) of :class:`Standing`.
        last_seen: (limits,) what each saw in the newest sample that it was shown.
        due_ns: (limits,) when the standing ends by itself, :data:`NEVER` where it does not.
        timed: The limits with a due time.
        touched: The limits that moved since the owner last cleared it.
    """

    def __init__(self, limits: Sequence[Limit]) -> None:
        """Start clear."""
        count = len(limits)
        self._limits = list(limits)
        self.standing: list[int] = [Standing.CLEAR] * count
        self.last_seen: list[int] = [Seen.BETWEEN] * count
        self.due_ns: list[int] = [NEVER] * count
        self._onset: list[_Onset] = [(0, np.nan, 0, np.nan)] * count
        self._left_ns = [0] * count
        self.timed: set[int] = set()
        self.touched: set[int] = set()
        self._edges: list[Edge] = []

    def take_edges(self) -> list[Edge]:
        """Give the edges since the last call, in time order, then in the plan's order."""
        edges, self._edges = self._edges, []
        edges.sort(key=lambda edge: (edge.t_ns, edge.limit))
        return edges

    def see(self, i: int, t_ns: int, seen: int, sample: _Sample) -> None:
        """Show limit *i* a sample at *t_ns*; *sample* is (value, quality, setpoint)."""
        if self.due_ns[i] < t_ns:
            self._fall_due(i)
        self.last_seen[i] = seen
        move = _TABLE.get((self.standing[i], seen))
        if move is not None:
            move(self, i, t_ns, sample)

    def see_all(self, sights: Iterable[Sight]) -> None:
        """Show limits many samples, each limit's in time order."""
        standing, due_ns, last_seen = self.standing, self.due_ns, self.last_seen
        for i, t_ns, seen, value, quality, setpoint in sights:
            if due_ns[i] < t_ns or _MATTERS[standing[i]][seen]:
                self.see(i, t_ns, seen, (value, quality, setpoint))
            else:
                last_seen[i] = seen

    def see_since(self, i: int, t_ns: int, seen: int, onset: _Onset) -> None:
        """As :meth:`see`, where what is seen began with an earlier sample."""
        if self.due_ns[i] < t_ns:
            self._fall_due(i)
        is_clear = self.standing[i] in (Standing.CLEAR, Standing.CLEAR_BAD)
        self.see(i, t_ns, seen, onset[1:])
        if is_clear and self.standing[i] == Standing.PENDING:
            self._onset[i] = onset

    def watch(self, i: int, t_ns: int, seen: int, sample: _Sample) -> None:
        """Begin to watch limit *i* at *t_ns* with what it sees then."""
        self._go(i, Standing.ASLEEP if self._limits[i].is_arming else Standing.CLEAR, NEVER)
        self.see(i, t_ns, seen, sample)

    def leave(self, i: int, t_ns: int, sample: _Sample) -> None:
        """Watch limit *i* no more from *t_ns* on; if it is active, it clears."""
        if self.due_ns[i] < t_ns:
            self._fall_due(i)
        if self.standing[i] in (Standing.ACTIVE, Standing.CLEARING):
            self._note_onset(i, t_ns, sample)
            self._edge(i, t_ns, Turn.CLEARED)
        self._go(i, Standing.IDLE, NEVER)

    def change(self, i: int, limit: Limit) -> None:
        """Take other settings for limit *i*; a delay that runs keeps the end that it has."""
        self._limits[i] = limit

    def run_until(self, until_ns: int) -> None:
        """Let fall due what is due at or before W."""
        for i in list(self.timed):
            if self.due_ns[i] <= until_ns:
                self._fall_due(i)

    def next_due_ns(self) -> int:
        """Give the earliest time at which something falls due."""
        due_ns = self.due_ns
        return min((due_ns[i] for i in self.timed), default=NEVER)

    # Moves of the table.

    def _begin(self, i: int, t_ns: int, sample: _Sample) -> None:
        """The condition is newly true: its on-delay starts."""
        self._note_onset(i, t_ns, sample)
        self._go(i, Standing.PENDING, t_ns + self._limits[i].on_delay_ns)

    def _begin_bad(self, i: int, t_ns: int, sample: _Sample) -> None:
        """Bad data while clear: where it raises, the bridge starts."""
        if self._limits[i].raises_on_bad:
            self._note_onset(i, t_ns, sample)
            self._go(i, Standing.CLEAR_BAD, t_ns + self._limits[i].bridge_ns)

    def _give_up(self, i: int, _t_ns: int, _sample: _Sample) -> None:
        """Not true any more before the delay had run out."""
        self._go(i, self._rest(i), NEVER)

    def _come(self, i: int, _t_ns: int, _sample: _Sample) -> None:
        """Returned while clear: where something had to come once, it has."""
        if self._limits[i].is_once:
            self._go(i, Standing.DONE, NEVER)

    def _wake(self, i: int, t_ns: int, sample: _Sample) -> None:
        """Inside the band for the first time."""
        self._note_onset(i, t_ns, sample)
        self._edge(i, t_ns, Turn.ARMED)
        self._go(i, Standing.CLEAR, NEVER)

    def _rest(self, i: int) -> Standing:
        """Give where a limit is that has nothing to tell."""
        return Standing.DONE if self._limits[i].is_once else Standing.CLEAR

    def _freeze(self, i: int, t_ns: int, _sample: _Sample) -> None:
        """Bad while pending: keep what is left of the delay, start the bridge."""
        self._left_ns[i] = self.due_ns[i] - t_ns
        self._go(i, Standing.PENDING_BAD, t_ns + self._limits[i].bridge_ns)

    def _resume(self, i: int, t_ns: int, _sample: _Sample) -> None:
        """Good and true again within the bridge: the delay goes on."""
        self._go(i, Standing.PENDING, t_ns + self._left_ns[i])

    def _begin_return(self, i: int, t_ns: int, sample: _Sample) -> None:
        """Returned beyond the deadband: the off-delay starts."""
        self._note_onset(i, t_ns, sample)
        self._go(i, Standing.CLEARING, t_ns + self._limits[i].off_delay_ns)

    def _stay_active(self, i: int, _t_ns: int, _sample: _Sample) -> None:
        """Not returned for long enough."""
        self._go(i, Standing.ACTIVE, NEVER)

    def _fall_due(self, i: int) -> None:
        """Something's time has come: the end of a delay or of the bridge."""
        at_ns, standing = self.due_ns[i], self.standing[i]
        if standing == Standing.CLEARING:
            self._edge(i, at_ns, Turn.CLEARED)
            self._go(i, self._rest(i), NEVER)
        elif standing == Standing.PENDING_BAD and not self._limits[i].raises_on_bad:
            self._edge(i, at_ns, Turn.PENDING_LOST)
            self._go(i, Standing.CLEAR, NEVER)
        else:
            self._edge(i, at_ns, Turn.RAISED)
            self._go(i, Standing.ACTIVE, NEVER)

    def _note_onset(self, i: int, t_ns: int, sample: _Sample) -> None:
        """Remember the first sample of a turn: the event will tell of it."""
        self._onset[i] = (t_ns, *sample)

    def _edge(self, i: int, t_ns: int, turn: Turn) -> None:
        """Write down that limit *i* turned."""
        onset_ns, value, quality, setpoint = self._onset[i]
        shown = None if value != value else value
        self._edges.append(Edge(t_ns, i, turn, onset_ns, shown, quality, setpoint))

    def _go(self, i: int, standing: Standing, due_ns: int) -> None:
        """Move to *standing*; *due_ns* is when it ends by itself."""
        self.standing[i] = standing
        self.due_ns[i] = due_ns
        self.touched.add(i)
        if due_ns == NEVER:
            self.timed.discard(i)
        else:
            self.timed.add(i)

    def state(self) -> dict[str, Ints | Floats | Bytes]:
        """Give what must outlive a restart, as arrays of one row a limit.

        What was last seen is not among it: it depends on which samples were looked at, so on
        how the input was cut, and the held samples tell it again.
        """
        return {
            "standing": np.array(self.standing, dtype=np.int64),
            "due_ns": np.array(self.due_ns, dtype=np.int64),
            "left_ns": np.array(self._left_ns, dtype=np.int64),
            "onset_ns": np.array([x[0] for x in self._onset], dtype=np.int64),
            "onset_value": np.array([x[1] for x in self._onset], dtype=np.float64),
            "onset_quality": np.array([x[2] for x in self._onset], dtype=np.int64),
            "onset_setpoint": np.array([x[3] for x in self._onset], dtype=np.float64),
        }

    def load_state(self, state: dict[str, Ints | Floats | Bytes]) -> None:
        """Take back what :meth:`state` gave; set :attr:`last_seen` after it."""
        self.standing = state["standing"].tolist()
        self.due_ns = state["due_ns"].tolist()
        self._left_ns = state["left_ns"].tolist()
        names = ("onset_ns", "onset_value", "onset_quality", "onset_setpoint")
        self._onset = list(zip(*(state[name].tolist() for name in names), strict=True))
        self.timed = {i for i, due_ns in enumerate(self.due_ns) if due_ns != NEVER}


_Move = Callable[[Delays, int, int, _Sample], None]

#: (standing, what is seen) -> move. A pair that is not listed changes nothing.
_TABLE: dict[tuple[int, int], _Move] = {
    (Standing.CLEAR, Seen.TRUE): Delays._begin,
    (Standing.CLEAR, Seen.RETURNED): Delays._come,
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
    (Standing.ASLEEP, Seen.RETURNED): Delays._wake,
}

#: standing -> whether something seen moves it; the last place is that of -1.
_MATTERS = [
    [(standing, seen) in _TABLE for seen in (0, 1, 2, Seen.RETURNED)] for standing in Standing
]
