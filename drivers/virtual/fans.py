"""Two circulation fans in parallel, and the box that starts the standby."""

from __future__ import annotations

from drivers.virtual import sizes
from drivers.virtual.faults import Faults


class Fans:
    """One runs; in the automatic position the other starts when it fails.

    Attributes:
        speed: Part of full speed of each fan.
        flow_m3_s: Through the loop, in m3/s.
    """

    def __init__(self) -> None:
        """Start with the first one at full speed."""
        self.speed = [1.0, 0.0]
        self.flow_m3_s = sizes.FAN_M3_S
        self._slow_s = 0.0
        self._standby_called = False

    def step(self, dt_s: float, selector: int, faults: Faults) -> None:
        """Switch and spin, by the selector's position."""
        wanted = self._wanted(dt_s, selector)
        for number in (0, 1):
            runs = wanted[number] and not faults.has("fan_failed", str(number + 1))
            lag = sizes.FAN_SPIN_UP_S if runs else sizes.FAN_COAST_S
            self.speed[number] += (float(runs) - self.speed[number]) * min(1.0, dt_s / lag)
        self.flow_m3_s = sizes.FAN_M3_S * max(self.speed)

    def is_running(self, number: int) -> bool:
        """Give the contact of a fan (0 or 1): whether it turns at working speed."""
        return self.speed[number] > sizes.FAN_FAILED_BELOW

    def _wanted(self, dt_s: float, selector: int) -> tuple[bool, bool]:
        """Decide which motors have current."""
        if selector in (1, 2):
            self._standby_called = False
            self._slow_s = 0.0
            return selector == 1, selector == 2
        slow = self.speed[0] < sizes.FAN_FAILED_BELOW
        self._slow_s = self._slow_s + dt_s if slow else 0.0
        if self._slow_s > sizes.FAN_FAILED_S:
            self._standby_called = True
        return True, self._standby_called
