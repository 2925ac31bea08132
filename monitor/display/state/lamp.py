"""The lamp test: for a moment every mark, colour and tone, then back to what there is."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.alarm_rows import PriorityCount
from monitor.display.state.severity import PRIORITIES, rank_of
from monitor.display.state.text import NS

#: How long the test lasts, in ns of real time.
LAMP_TEST_NS = 3 * NS
#: Each tone sounds for so long, and marks change between filled and outlined twice in it.
_TONE_NS = LAMP_TEST_NS // len(PRIORITIES)
#: Every segment of a figure.
_EIGHT = 8


@dataclass(frozen=True, slots=True)
class Lamps:
    """What is shown at one moment of the test.

    Attributes:
        is_filled: Marks are filled, as for what nobody has acknowledged; else outlined.
        sounding: Priority whose tone sounds.
        headline: What to say meanwhile.
    """

    is_filled: bool
    sounding: str
    headline: str

    @property
    def counts(self) -> tuple[PriorityCount, ...]:
        """Give counts that light every mark."""
        unacknowledged = _EIGHT if self.is_filled else 0
        return tuple(PriorityCount(name, unacknowledged, _EIGHT) for name in PRIORITIES)


class LampTest:
    """Runs the test. An alarm that is more urgent than what sounded before ends it at once."""

    def __init__(self) -> None:
        self._begun_ns: int | None = None
        self._sounded = ""

    def begin(self, mono_ns: int, sounding: str) -> None:
        """Begin at *mono_ns* of the monotonic clock, while *sounding* sounds."""
        self._begun_ns, self._sounded = mono_ns, sounding

    def at(self, mono_ns: int, sounding: str) -> Lamps | None:
        """Give what to show and sound; None while there is no test."""
        if self._begun_ns is None:
            return None
        passed_ns = mono_ns - self._begun_ns
        if passed_ns >= LAMP_TEST_NS or rank_of(sounding) < rank_of(self._sounded):
            self._begun_ns = None
            return None
        tone = PRIORITIES[passed_ns // _TONE_NS]
        is_filled = passed_ns * 2 // _TONE_NS % 2 == 0
        left_s = -(-(LAMP_TEST_NS - passed_ns) // NS)
        return Lamps(is_filled, tone, f"LAMP TEST, {left_s} s left. Tone: {tone} priority.")
