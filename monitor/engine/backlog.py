"""The newest rows and events, kept for displays that are behind; bounded. Pure."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from typing import TypeVar

from monitor.engine.rows import Rows
from monitor.events import Event

#: Rows kept, over all channels.
MOST_ROWS = 500_000
#: Packets of rows kept: joining more than this costs more than a snapshot.
MOST_PACKETS = 2_000
#: Events kept.
MOST_EVENTS = 5_000

Kept = TypeVar("Kept")


class Backlog:
    """Keeps what was published under rising numbers, so that it can be given again."""

    def __init__(self) -> None:
        """Start empty."""
        self._rows: deque[tuple[int, Rows]] = deque()
        self._rows_kept = 0
        self._rows_gone_seq = 0
        self._events: deque[tuple[int, Event]] = deque()
        self._events_gone_seq = 0

    def add(self, seq: int, rows: Rows, events: Sequence[Event]) -> None:
        """Keep what was published under *seq*; let the oldest go."""
        if len(rows):
            self._rows.append((seq, rows))
            self._rows_kept += len(rows)
        while self._rows_kept > MOST_ROWS or len(self._rows) > MOST_PACKETS:
            self._rows_gone_seq, gone = self._rows.popleft()
            self._rows_kept -= len(gone)
        self._events.extend((seq, event) for event in events)
        while len(self._events) > MOST_EVENTS:
            self._events_gone_seq, _ = self._events.popleft()

    def reaches(self, seq: int) -> bool:
        """Whether everything after *seq* is still here."""
        return seq >= max(self._rows_gone_seq, self._events_gone_seq)

    def rows_since(self, seq: int) -> list[Rows]:
        """Give the rows published after *seq*, oldest first."""
        return _newer(self._rows, seq)

    def events_since(self, seq: int) -> list[Event]:
        """Give the events published after *seq*, oldest first."""
        return _newer(self._events, seq)

    def newest_events(self, most: int) -> list[Event]:
        """Give at most *most* of the newest events, oldest first."""
        skipped = max(0, len(self._events) - most)
        return [event for _, event in list(self._events)[skipped:]]


def _newer(kept: deque[tuple[int, Kept]], seq: int) -> list[Kept]:
    """Pick from the end, where what a display lacks usually is."""
    picked: list[Kept] = []
    for entry in reversed(kept):
        if entry[0] <= seq:
            break
        picked.append(entry[1])
    picked.reverse()
    return picked
