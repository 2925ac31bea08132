"""Reports what a framer threw away since the last time."""

from __future__ import annotations

from drivers.framing.lines import LineFramer
from drivers.reading import Sink


class Tally:
    """Turns a framer's running totals into counts for the instrument's row.

    Args:
        framer: The framer to watch.
    """

    def __init__(self, framer: LineFramer) -> None:
        """Nothing is reported yet."""
        self._framer = framer
        self._dropped = self._long = self._cut = 0

    def report(self, sink: Sink) -> None:
        """Count what is new since the last report."""
        framer = self._framer
        if framer.dropped_bytes != self._dropped:
            sink.count("bytes dropped, no whole line", framer.dropped_bytes - self._dropped)
            self._dropped = framer.dropped_bytes
        if framer.long_lines != self._long:
            sink.count("line too long", framer.long_lines - self._long)
            self._long = framer.long_lines
        if framer.cut_lines != self._cut:
            sink.count("half a line", framer.cut_lines - self._cut)
            self._cut = framer.cut_lines
