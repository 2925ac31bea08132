"""How the engine itself is doing: counters and gauges for the health page."""

from __future__ import annotations

import resource
import sys
from pathlib import Path

import numpy as np

#: Steps over which times are judged.
_STEPS = 1_024
_PAGE_BYTES = resource.getpagesize()


class StepTimes:
    """Durations of the newest steps, in ms."""

    def __init__(self) -> None:
        """Start with none."""
        self._ms = np.zeros(_STEPS)
        self._count = 0

    def add(self, seconds: float) -> None:
        """Note the duration of one step."""
        self._ms[self._count % _STEPS] = 1e3 * seconds
        self._count += 1

    def gauges(self) -> dict[str, float]:
        """Give median and 99th percentile over the newest steps, and how many there were."""
        if not self._count:
            return {"steps": 0.0, "step, half within (ms)": 0.0, "step, 99 % within (ms)": 0.0}
        half, nearly_all = np.percentile(self._ms[: min(self._count, _STEPS)], (50, 99))
        return {
            "steps": float(self._count),
            "step, half within (ms)": round(float(half), 3),
            "step, 99 % within (ms)": round(float(nearly_all), 3),
        }


def memory_mb() -> float:
    """Give the memory that this process holds, in MB; its greatest so far where unknown."""
    status = Path("/proc/self/statm")
    if status.exists():
        return int(status.read_text().split()[1]) * _PAGE_BYTES / 1e6
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 1e6 if sys.platform == "darwin" else peak / 1e3
