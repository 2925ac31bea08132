"""What waits to be written: bounded, oldest readings dropped first, events kept longest."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

from monitor.events import Event
from monitor.record.frame import Frame

#: Bytes of readings kept while nothing can be written: minutes, on a stand of usual size.
MOST_BYTES = 64 << 20
#: Events kept of frames whose readings were dropped.
MOST_EVENTS = 100_000
#: Bytes that go into one pack.
_PACK_BYTES = 4 << 20
#: What a frame takes in memory beside its arrays, roughly.
_FRAME_BYTES = 1000


@dataclass(frozen=True, slots=True)
class Batch:
    """What is written in one go.

    Attributes:
        frames: Steps that follow each other; only the last one made events.
        events: Events of the last step, and of dropped ones before it.
        state: The pipeline after the last step; empty when none was asked for.
    """

    frames: tuple[Frame, ...]
    events: tuple[Event, ...]
    state: bytes


@dataclass(frozen=True, slots=True)
class _Entry:
    frame: Frame
    events: tuple[Event, ...]
    state: bytes
    size: int


class Waiting:
    """A queue of frames and their events.

    Args:
        until_ns: W of the last step that was written.
        most_bytes: Bound of what is kept.
        most_events: Bound of the events kept of dropped frames.

    Attributes:
        lost_frames: Frames dropped since :meth:`forget_loss`.
        lost_events: Events dropped, ever.
        size: Bytes that wait.
    """

    def __init__(
        self, until_ns: int, most_bytes: int = MOST_BYTES, most_events: int = MOST_EVENTS
    ) -> None:
        """Start empty."""
        self._entries: deque[_Entry] = deque()
        self._orphans: deque[Event] = deque(maxlen=most_events)
        self._most_bytes = most_bytes
        self._given_until_ns = until_ns
        self._lost_from_ns = until_ns
        self._lost_until_ns = until_ns
        self._states = 0
        self.lost_frames = 0
        self.lost_events = 0
        self.size = 0

    def __len__(self) -> int:
        """Count the frames that wait."""
        return len(self._entries)

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to write."""
        return not self._entries and not self._orphans

    @property
    def has_state(self) -> bool:
        """Whether a state of the pipeline waits."""
        return self._states > 0

    @property
    def lost_ns(self) -> int:
        """Data time over which readings were dropped."""
        return self._lost_until_ns - self._lost_from_ns if self.lost_frames else 0

    def put(self, frame: Frame, events: Sequence[Event], state: bytes) -> None:
        """Take a frame; drop the oldest ones when there is too much."""
        size = len(state) + _FRAME_BYTES
        size += sum(
            part.block.values.nbytes + part.block.t_ns.nbytes for part in frame.admitted
        )
        self._entries.append(_Entry(frame, tuple(events), state, size))
        self.size += size
        self._states += bool(state)
        while self.size > self._most_bytes and len(self._entries) > 1:
            self._drop()

    def take(self) -> Batch:
        """Give what is to be written next; only while not :attr:`is_empty`."""
        frames: list[Frame] = []
        events = [*self._orphans]
        self._orphans.clear()
        state, size = b"", 0
        # What dropped frames made must stand in the journal before the next frame is written.
        while self._entries and not events and not state and size < _PACK_BYTES:
            entry = self._pop()
            frames.append(entry.frame)
            events += entry.events
            state = entry.state
            size += entry.size
            self._given_until_ns = entry.frame.until_ns
        return Batch(tuple(frames), tuple(events), state)

    def forget_loss(self) -> None:
        """Count losses from here on."""
        self.lost_frames = 0

    def _drop(self) -> None:
        """Drop the oldest frame; keep its events."""
        entry = self._pop()
        if not self.lost_frames:
            self._lost_from_ns = self._given_until_ns
        self.lost_frames += 1
        self._lost_until_ns = entry.frame.until_ns
        room = (self._orphans.maxlen or 0) - len(self._orphans)
        self.lost_events += max(len(entry.events) - room, 0)
        self._orphans.extend(entry.events)

    def _pop(self) -> _Entry:
        """Take the oldest entry out."""
        entry = self._entries.popleft()
        self.size -= entry.size
        self._states -= bool(entry.state)
        return entry
