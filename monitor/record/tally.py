"""What a run comes to: counted as its samples and events go by. Pure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from monitor.events import Event
from monitor.samples import FIRST_BAD, Bytes, Floats, Ints

_S_PER_NS = 1e-9


class ChannelTally:
    """Counts the samples of one channel.

    Args:
        start_ns: Start of the run: until its first value a channel is bad.
    """

    def __init__(self, start_ns: int) -> None:
        """Nothing has come yet."""
        self._last_ns = start_ns
        self._is_bad = True
        self._bad_ns = 0
        self._count = 0
        self._good = 0
        self._sum = 0.0
        self._min = float("inf")
        self._max = float("-inf")

    def add(self, t_ns: Ints, value: Floats, quality: Bytes) -> None:
        """Take the next samples, rising in time."""
        if not len(t_ns):
            return
        is_bad = quality >= FIRST_BAD
        times = np.concatenate(([self._last_ns], t_ns))
        flags = np.concatenate(([self._is_bad], is_bad))
        self._bad_ns += int(np.diff(times)[flags[:-1]].sum())
        self._last_ns, self._is_bad = int(t_ns[-1]), bool(is_bad[-1])
        self._count += len(t_ns)
        good = value[~is_bad]
        if good.size:
            self._good += good.size
            self._sum += float(good.sum())
            self._min = min(self._min, float(good.min()))
            self._max = max(self._max, float(good.max()))

    def result(self, end_ns: int) -> dict[str, object]:
        """Give count, minimum, maximum and mean of good values, and how long it was bad."""
        bad_ns = self._bad_ns + (max(end_ns - self._last_ns, 0) if self._is_bad else 0)
        has_good = self._good > 0
        return {
            "samples": self._count,
            "good": self._good,
            "min": self._min if has_good else None,
            "max": self._max if has_good else None,
            "mean": self._sum / self._good if has_good else None,
            "bad_s": bad_ns * _S_PER_NS,
        }


class EventTally:
    """Counts alarms, phases, drops and the beginnings and ends of a run.

    Attributes:
        is_closed: Whether the newest word of the run's own is that it was closed.
        dropped_rows: Readings that the engine had to drop.
        stops: How often nothing could be written.
        resumes: How often the run was gone on with.
    """

    def __init__(self) -> None:
        """Nothing has happened yet."""
        self.is_closed = False
        self.dropped_rows = 0
        self.stops = 0
        self.resumes = 0
        self._phases: list[tuple[str, int]] = []
        self._raised: dict[str, int] = {}
        self._active_ns: dict[str, int] = {}
        self._active_since_ns: dict[str, int] = {}

    def add(self, events: Sequence[Event]) -> None:
        """Take the next events."""
        for event in events:
            if event.kind in ("alarm.raised", "condition.on"):
                self._raised[event.subject] = self._raised.get(event.subject, 0) + 1
                self._active_since_ns[event.subject] = event.t_ns
            elif event.kind in ("alarm.cleared", "condition.off"):
                self._clear(event)
            elif event.kind == "phase.entered":
                self._phases.append((event.subject, event.t_ns))
            else:
                self._note(event)

    def alarms(self, end_ns: int) -> dict[str, dict[str, object]]:
        """Give for each alarm that came how often and how long its condition stood."""
        return {
            name: {
                "raised": count,
                "active_s": _S_PER_NS
                * (
                    self._active_ns.get(name, 0)
                    + end_ns
                    - self._active_since_ns.get(name, end_ns)
                ),
            }
            for name, count in sorted(self._raised.items())
        }

    def phases(self, end_ns: int) -> list[dict[str, object]]:
        """Give the phases in their order, with how long each lasted."""
        ends = [t_ns for _, t_ns in [*self._phases, ("", end_ns)][1:]]
        return [
            {"name": name, "since_ns": t_ns, "lasted_s": (until_ns - t_ns) * _S_PER_NS}
            for (name, t_ns), until_ns in zip(self._phases, ends, strict=True)
        ]

    def _clear(self, event: Event) -> None:
        """The condition of an alarm is gone."""
        since_ns = self._active_since_ns.pop(event.subject, event.t_ns)
        before_ns = self._active_ns.get(event.subject, 0)
        self._active_ns[event.subject] = before_ns + event.t_ns - since_ns

    def _note(self, event: Event) -> None:
        """Something happened to the run itself."""
        if event.kind in ("run.started", "run.resumed", "run.closed"):
            self.is_closed = event.kind == "run.closed"
            self.resumes += event.kind == "run.resumed"
        elif event.kind == "recording.stopped":
            self.stops += 1
        elif event.kind == "readings.dropped":
            rows = event.fields.get("rows")
            self.dropped_rows += rows if isinstance(rows, int) else 0
