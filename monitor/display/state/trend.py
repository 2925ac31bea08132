"""Which way a value is going, with a dead zone so that noise does not point anywhere."""

from __future__ import annotations

import math

from monitor.display.state.series import Series
from monitor.display.state.text import NS
from monitor.samples import Floats

WINDOW_NS = 60 * NS
#: Share of the channel's span in the window that counts as a change, and as a steep one.
DEAD_ZONE = 0.01
STEEP = 0.06
#: A change must be this many times its own standard error.
_SURE = 3.0
_FEWEST = 6
_MOST = 4096


def _mean(values: Floats) -> tuple[float, float]:
    """Give the mean and the square of its standard error."""
    mean = float(values.mean())
    spread = float(((values - mean) ** 2).mean())
    return mean, spread / max(1, values.size - 1)


def trend(series: Series, until_ns: int, span: float) -> int | None:
    """Compare the last third of the window with the first.

    Args:
        series: Past of the channel.
        until_ns: End of the window, in data time.
        span: Width of the channel's span, in its unit.

    Returns:
        -2 falls steeply, -1 falls, 0 steady, 1 rises, 2 rises steeply; None while there are
        too few rows, a gap, or no span to measure by.
    """
    rows = series.window(until_ns - WINDOW_NS, until_ns, _MOST)
    if rows.t_ns.size < _FEWEST or rows.has_gap.any() or not span > 0:
        return None
    t_s = (rows.t_ns - rows.t_ns[0]) / NS
    if t_s[-1] < WINDOW_NS / NS / 2:
        return None
    middle = (rows.low + rows.high) / 2
    early, late = middle[t_s <= t_s[-1] / 3], middle[t_s >= t_s[-1] * 2 / 3]
    if early.size < 2 or late.size < 2:
        return None
    (start, start_error), (end, end_error) = _mean(early), _mean(late)
    # The thirds' middles are two thirds of the window apart.
    change = (end - start) * 1.5
    if abs(end - start) <= _SURE * math.sqrt(start_error + end_error):
        return 0
    return _step(change / span)


def _step(share: float) -> int:
    """Grade a change given as a share of the span."""
    size = abs(share)
    grade = 0 if size < DEAD_ZONE else 1 if size < STEEP else 2
    return grade if share > 0 else -grade
