"""The gate to the pipeline: which rows come too late, and from when a control counts. Pure."""

from __future__ import annotations

from collections import deque
from itertools import islice

from drivers.reading import Block
from monitor.events import Action, Control, HostEvent, LinkChange
from monitor.samples import Admitted

#: How long a row may take from the thread that read it to the gate, in ns of real time. On a
#: machine with more to do than it has processors that is many times what it takes at rest.
HANDOVER_NS = 100_000_000


class Gate:
    """Keeps the promise W: every row at or before W has been handed over, or is marked late.

    With a *lag_ns* below the hand-over time W follows the newest row as soon as it comes: the
    quickest alarm there is. Rows of a second instrument may then be late by a hair; so stands
    with more than one instrument state a lag.

    Args:
        until_ns: W to start from.
        lag_ns: Longest span of a pack or a poll, in ns of data time.
        handover_ns: Longest way from a reading thread to this gate, in ns of data time.
        next_seq: Number of the next control.

    Attributes:
        until_ns: The present W.
        late_rows: Rows that came at or before W, since the start.
        newest_ns: Newest row time seen; may lie after W.
    """

    def __init__(
        self, until_ns: int, lag_ns: int, handover_ns: int = HANDOVER_NS, next_seq: int = 1
    ) -> None:
        """Start with nothing seen."""
        self.until_ns = until_ns
        self.late_rows = 0
        self.newest_ns = until_ns
        self._lag_ns = lag_ns
        self._quiet_lag_ns = max(lag_ns, handover_ns)
        self._next_seq = next_seq
        self._control_ns = until_ns
        self._waiting: deque[int] = deque()
        self._waiting_controls: deque[int] = deque()

    def admit(self, block: Block) -> Admitted:
        """Mark the rows that come after their time."""
        if not len(block.t_ns):
            return Admitted(block)
        last_ns = int(block.t_ns[-1])
        if last_ns > self.until_ns:
            self._waiting.append(last_ns)
        self.newest_ns = max(self.newest_ns, last_ns)
        if int(block.t_ns[0]) > self.until_ns:
            return Admitted(block)
        late = block.t_ns <= self.until_ns
        self.late_rows += int(late.sum())
        return Admitted(block, late)

    def control(self, what: Action | LinkChange | HostEvent, now_ns: int) -> Control:
        """Give *what* its number and the time from which it counts: now, but after W."""
        self._control_ns = max(now_ns, self.until_ns + 1, self._control_ns)
        control = Control(self._control_ns, self._next_seq, what)
        self._next_seq += 1
        self._waiting_controls.append(self._control_ns)
        return control

    def advance(self, now_ns: int) -> int:
        """Move W as far as *now_ns* allows; give the new W."""
        handed_over_ns = min(self.newest_ns, now_ns - self._lag_ns)
        self.until_ns = max(self.until_ns, now_ns - self._quiet_lag_ns, handed_over_ns)
        for waiting in (self._waiting, self._waiting_controls):
            while waiting and waiting[0] <= self.until_ns:
                waiting.popleft()
        return self.until_ns

    def finish(self) -> int:
        """Move W to the newest control, the one that closes the run, and so over every row."""
        self.until_ns = max(self.until_ns, self._control_ns)
        self._waiting.clear()
        self._waiting_controls.clear()
        return self.until_ns

    def due_ns(self) -> int | None:
        """Give the data time at which :meth:`advance` reaches what waits; None for nothing."""
        due = [waiting + self._lag_ns for waiting in islice(self._waiting, 1)]
        due += [waiting + self._quiet_lag_ns for waiting in islice(self._waiting_controls, 1)]
        return min(due, default=None)
