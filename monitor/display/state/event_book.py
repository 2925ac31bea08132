"""The event list's lines, written once each."""

from __future__ import annotations

from collections import deque

from monitor.display.state.model import KEPT_EVENTS, Model
from monitor.display.state.sentences import EventLine, event_line


class EventBook:
    """Writes the lines of events as they come, and starts anew with each Snapshot."""

    def __init__(self) -> None:
        self._model: Model | None = None
        self._written = 0
        self._lines: deque[EventLine] = deque(maxlen=KEPT_EVENTS)

    def lines(self, model: Model) -> tuple[int, tuple[EventLine, ...]] | None:
        """Give all lines, oldest first, and the number of the oldest; None if none is new."""
        if model is not self._model:
            self._model, self._written = model, 0
            self._lines.clear()
        elif model.event_total == self._written:
            return None
        new = min(model.event_total - self._written, len(model.events))
        events = list(model.events)[len(model.events) - new :]
        self._lines.extend(event_line(event, model.index) for event in events)
        self._written = model.event_total
        return self._written - len(self._lines), tuple(self._lines)
