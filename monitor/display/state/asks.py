"""Asking the engine for the past: newest first, one question at a time."""

from __future__ import annotations

from monitor.display.state.axis import SPANS_S
from monitor.display.state.text import NS
from monitor.link.messages import Ask

#: Intervals asked for in each stretch: enough for a chart as wide as a large screen.
_POINTS = 1600


class Asks:
    """The questions that bring a fresh display the whole run, so that every span is sharp."""

    def __init__(self, channels: int, started_ns: int, until_ns: int) -> None:
        """Cut the run, from *until_ns* back to *started_ns*, at the spans one can choose."""
        edges = [until_ns]
        for span_s in SPANS_S:
            edges.append(max(started_ns, until_ns - span_s * NS))
        edges.append(started_ns)
        numbers = list(range(channels))
        pairs = list(zip(edges[1:], edges[:-1], strict=True))
        self._left = [
            Ask(number, numbers, start, end, _POINTS)
            for number, (start, end) in enumerate(pairs, start=1)
            if start < end and channels
        ]
        self._open = 0

    def next(self) -> Ask | None:
        """Give the next question; None while one is open or when all are answered."""
        if self._open or not self._left:
            return None
        ask = self._left.pop(0)
        self._open = ask.id
        return ask

    def done(self, ask_id: int) -> None:
        """Note that a question was answered in full."""
        if ask_id == self._open:
            self._open = 0

    def is_finished(self) -> bool:
        """Tell whether all questions are answered."""
        return not self._open and not self._left
