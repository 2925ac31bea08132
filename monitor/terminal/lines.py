"""A run as plain lines, for a pipe, a file or a log: each event, and now and then the state."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from monitor.display.state.alarm_rows import alarm_rows
from monitor.display.state.connection import Freshness
from monitor.display.state.model import Model
from monitor.display.state.sentences import event_line
from monitor.display.state.severity import Severity
from monitor.display.state.strip import Strip, strip
from monitor.display.state.text import NS
from monitor.events import Event

#: Real time between two lines that say how things stand, in ns.
STATUS_EVERY_NS = 10 * NS


class Lines:
    """Writes one line for each event and a line on the state every ten seconds.

    Args:
        write: Takes one line without its end.
    """

    def __init__(self, write: Callable[[str], None]) -> None:
        self._write = write
        self._next_ns = 0
        self._trouble = ""

    def news(self, model: Model, events: Sequence[Event]) -> None:
        """Write the new events."""
        for event in events:
            line = event_line(event, model.index)
            is_loud = line.severity not in (Severity.CALM, Severity.QUIET, Severity.DOUBT)
            mark = f" {line.severity.value.upper()}" if is_loud else ""
            self._write(f"{line.time}{mark} {line.text}")

    def tick(self, model: Model | None, mono_ns: int, trouble: str) -> None:
        """Write how things stand when it is time, and trouble when it begins or ends."""
        if trouble != self._trouble:
            self._write(
                f"NO WORD FROM THE WATCH: {trouble}" if trouble else "The watch is heard."
            )
            self._trouble = trouble
        if model is not None and not trouble and mono_ns >= self._next_ns:
            self._next_ns = mono_ns + STATUS_EVERY_NS
            now_ns = model.clock.at(mono_ns)
            rows = alarm_rows(model, now_ns)
            self._write(status(strip(model, rows, now_ns, Freshness())))


def status(facts: Strip) -> str:
    """Say in one line how things stand."""
    counts = [
        f"{row.standing} {row.priority} ({row.unacknowledged} not acknowledged)"
        for row in facts.alarms
        if row.standing
    ]
    parts = [
        f"{facts.clock} UTC {facts.speed}".strip(),
        f"run {facts.run}",
        f"{facts.phase.text} for {facts.phase_for}",
        *([f"mode {facts.mode.text}"] if facts.mode is not None else []),
        facts.recording.text,
        facts.link.text,
        f"alarms: {', '.join(counts) or 'none'}",
        *([f"{facts.inhibited.text} inhibited"] if facts.inhibited.text != "0" else []),
    ]
    return "-- " + " | ".join(parts)
