"""What time it is in the engine's data time, between two messages from it."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.text import NS

#: Behind by more than this, in ns of real time, the clock follows the engine back.
_LARGEST_LEAD_NS = NS // 2


@dataclass(frozen=True, slots=True)
class DataClock:
    """Runs on from the newest word of the engine; never jitters with the messages.

    Attributes:
        data_ns: Data time at *mono_ns*.
        mono_ns: Reading of the display's monotonic clock.
        speed: Seconds of data time in a real second.
    """

    data_ns: int
    mono_ns: int
    speed: float

    def at(self, mono_ns: int) -> int:
        """Give the data time at a reading of the monotonic clock, in ns."""
        return self.data_ns + int((mono_ns - self.mono_ns) * self.speed)

    def heard(self, data_ns: int, mono_ns: int) -> DataClock:
        """Take the engine's word that it was *data_ns* when the message came.

        A message that was under way for a moment does not turn the clock back; one that is
        far behind does, because then it is the engine that has slowed.
        """
        lead_ns = self.at(mono_ns) - data_ns
        if 0 <= lead_ns <= _LARGEST_LEAD_NS * self.speed:
            return self
        return DataClock(data_ns, mono_ns, self.speed)
