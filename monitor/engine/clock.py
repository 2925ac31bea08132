"""Data time: starts at the wall clock, then follows a clock that nobody can set."""

from __future__ import annotations

import time
from collections.abc import Callable

# Counts the time in which the machine slept, too; macOS and Windows have only the other one.
_BOOT_CLOCK = getattr(time, "CLOCK_BOOTTIME", None)


def steady_ns() -> int:
    """Give ns since some moment in the past; runs on through clock steps and sleep."""
    if _BOOT_CLOCK is None:
        return time.monotonic_ns()
    return time.clock_gettime_ns(_BOOT_CLOCK)


class RunClock:
    """The clock of a run, see ``drivers.reading.Clock``. May be asked from any thread.

    Args:
        last_recorded_ns: Newest data time in the record; 0 for a fresh run. The clock starts
            after it, so that neither a clock step nor a restart turns data time back.
        speed: Seconds of data time in a real second.
        wall_ns: Gives UTC in ns; asked once.
        steady: Gives ns that never turn back.
    """

    def __init__(
        self,
        last_recorded_ns: int = 0,
        speed: float = 1.0,
        *,
        wall_ns: Callable[[], int] = time.time_ns,
        steady: Callable[[], int] = steady_ns,
    ) -> None:
        """Anchor data time to the wall clock, now and never again."""
        self._speed = speed
        self._steady = steady
        self._steady0_ns = steady()
        self._anchor_ns = max(wall_ns(), last_recorded_ns + 1)

    @property
    def speed(self) -> float:
        """Seconds of data time in a real second."""
        return self._speed

    @property
    def anchor_ns(self) -> int:
        """Data time at which this clock started."""
        return self._anchor_ns

    def now_ns(self) -> int:
        """Give the present data time in ns since the Unix epoch."""
        passed_ns = self._steady() - self._steady0_ns
        # A product with 1.0 would lose whole ns after 104 days of floats.
        return self._anchor_ns + (
            passed_ns if self._speed == 1.0 else int(passed_ns * self._speed)
        )
