"""The span of good values that leaves a limit where it stands."""

from __future__ import annotations

from math import inf, nextafter

from monitor.limits.delays import Standing
from monitor.limits.plan import Limit

EVERYTHING = (-inf, inf)
NOTHING = (inf, -inf)
_UNMOVED = (Standing.IDLE, Standing.DONE)


def quiet_span(
    limit: Limit, standing: int, setpoint: float, *, is_counting: bool
) -> tuple[float, float]:
    """Give the lowest and highest good value that change nothing.

    Args:
        limit: The limit.
        standing: Where it stands.
        setpoint: In force now; NaN for quality kinds.
        is_counting: Whether it goes by n of m, and one of the last samples was beyond.
    """
    if standing in _UNMOVED:
        return EVERYTHING
    if setpoint != setpoint:
        return EVERYTHING if standing == Standing.CLEAR else NOTHING
    if is_counting or (limit.n_of_m[1] and standing != Standing.CLEAR):
        return NOTHING
    rise = setpoint if limit.is_high else -setpoint
    lowest, highest = _upward(limit, standing, rise)
    return (lowest, highest) if limit.is_high else (-highest, -lowest)


def _upward(limit: Limit, standing: int, rise: float) -> tuple[float, float]:
    """Give the span of a high limit, or of the negated value of a low one."""
    fall = rise - limit.deadband
    match standing:
        case Standing.CLEAR if not limit.is_once:
            return -inf, rise
        case Standing.PENDING:
            # What has to come has not come until the value is beyond the deadband.
            return (fall if limit.is_once else nextafter(rise, inf)), inf
        case Standing.ACTIVE | Standing.ASLEEP:
            return fall, inf
        case Standing.CLEARING:
            return -inf, nextafter(fall, -inf)
        case _:
            return NOTHING
