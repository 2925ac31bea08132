"""How fast the rig runs: which ticks are due at a moment. Pure; *now* is an argument."""

from __future__ import annotations

#: What may pile up before the rest is given up: real time in s, and ticks, whichever is less.
_LONGEST_BACKLOG_S = 2.0
_MOST_TICKS = 200


class Pace:
    """Turns real time into ticks of rig time at a chosen speed.

    A backlog is worked off, but a long one is given up: the rig's time is then late against
    real time for ever, and *lost_s* says by how much.

    Attributes:
        lost_s: Rig time given up so far because the machine was too slow, in s.
    """

    def __init__(self, speed: float, tick_s: float, now_s: float) -> None:
        """Begin at *now_s* of any monotonic clock; *tick_s* is rig time."""
        self._per_tick_s = tick_s / speed
        self._tick_s = tick_s
        self._next_s = now_s + self._per_tick_s
        self.lost_s = 0.0

    def due(self, now_s: float) -> int:
        """Give how many ticks must be done now, bounded."""
        if now_s < self._next_s:
            return 0
        count = 1 + int((now_s - self._next_s) / self._per_tick_s)
        most = min(_MOST_TICKS, max(1, int(_LONGEST_BACKLOG_S / self._per_tick_s)))
        if count > most:
            self._next_s += (count - most) * self._per_tick_s
            self.lost_s += (count - most) * self._tick_s
            count = most
        self._next_s += count * self._per_tick_s
        return count

    def wait_s(self, now_s: float) -> float:
        """Give how long there is nothing to do, in s."""
        return max(0.0, self._next_s - now_s)
