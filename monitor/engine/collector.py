"""Several steps to one frame of the record. Pure.

A frame holds everything that the pipeline was given since the frame before, in order, and the
W of the last step. How input is cut into steps changes nothing of what comes out, so a replay
that takes a frame as one step gives the same events.
"""

from __future__ import annotations

from collections.abc import Sequence

from monitor.events import Control, Event
from monitor.record.frame import Frame
from monitor.samples import Admitted


class Collector:
    """Collects steps until a frame is taken.

    Args:
        next_seq: Number of the next frame.

    Attributes:
        is_empty: Whether nothing was added since the last frame.
    """

    def __init__(self, next_seq: int = 1) -> None:
        """Start empty."""
        self._next_seq = next_seq
        self._admitted: list[Admitted] = []
        self._controls: list[Control] = []
        self._events: list[Event] = []
        self._until_ns = 0
        self.is_empty = True

    @property
    def has_events(self) -> bool:
        """Whether an event or a control waits."""
        return bool(self._events or self._controls)

    @property
    def frames(self) -> int:
        """Number of the newest frame given."""
        return self._next_seq - 1

    def add(
        self,
        admitted: Sequence[Admitted],
        controls: Sequence[Control],
        events: Sequence[Event],
        until_ns: int,
    ) -> None:
        """Add one step: what went in, what came out, and its W."""
        self._admitted += admitted
        self._controls += controls
        self._events += events
        self._until_ns = until_ns
        self.is_empty = False

    def take(self) -> tuple[Frame, tuple[Event, ...]]:
        """Give the frame and its events, and start the next one.

        Its place in the journal is filled in by who writes it.
        """
        events = tuple(self._events)
        frame = Frame(
            seq=self._next_seq,
            until_ns=self._until_ns,
            admitted=tuple(self._admitted),
            controls=tuple(self._controls),
            journal_count=0,
            journal_head="",
        )
        self._next_seq += 1
        self._admitted, self._controls, self._events = [], [], []
        self.is_empty = True
        return frame, events
