"""Valves that decide for themselves: relief with reseat, aneroid, regulator that hunts."""

from __future__ import annotations

from drivers.virtual import sizes


class Relief:
    """A relief valve: cracks at a difference of pressure, reseats lower.

    Attributes:
        opening: 0 to 1.
    """

    def __init__(self, crack_pa: float) -> None:
        """Start shut."""
        self._crack_pa = crack_pa
        self._reseat_pa = crack_pa * sizes.RESEAT
        self._is_open = False
        self.opening = 0.0

    def step(self, difference_pa: float) -> float:
        """Take the difference of pressure; give the opening."""
        if difference_pa > self._crack_pa:
            self._is_open = True
        elif difference_pa < self._reseat_pa:
            self._is_open = False
        span = 2.0 * (self._crack_pa - self._reseat_pa)
        lift = (difference_pa - self._reseat_pa) / span
        self.opening = min(1.0, max(0.0, lift)) if self._is_open else 0.0
        return self.opening


class Latch:
    """A contact or aneroid with two switching points.

    Attributes:
        is_on: Whether it is on.
    """

    def __init__(self, on_above: float, off_below: float, is_on: bool) -> None:
        """Switch on above the one, off below the other."""
        self._on_above = on_above
        self._off_below = off_below
        self.is_on = is_on

    def step(self, value: float) -> bool:
        """Take the value; give whether it is on."""
        if value > self._on_above:
            self.is_on = True
        elif value < self._off_below:
            self.is_on = False
        return self.is_on


class Needle:
    """The cabin regulator's needle: sticks until its diaphragm pulls hard enough, so it hunts.

    Attributes:
        opening: 0 to 1.
    """

    def __init__(self) -> None:
        """Start shut."""
        self._seat = 0.0
        self.opening = 0.0

    def step(self, pressure_pa: float, dt_s: float) -> float:
        """Take the cabin's pressure; give the opening."""
        wanted = (sizes.CABIN_SET_PA - pressure_pa) / sizes.CABIN_BAND_PA
        if abs(wanted - self._seat) > sizes.CABIN_STICK:
            self._seat = wanted
        target = min(1.0, max(sizes.CABIN_CREEP, self._seat))
        self.opening += (target - self.opening) * min(1.0, dt_s / sizes.CABIN_NEEDLE_S)
        return self.opening

    def shut(self) -> None:
        """Close: the low cut-off has come, or the cock is shut."""
        self._seat = 0.0
        self.opening = 0.0
