"""Ranges and ticks of chart axes: round numbers that seldom change."""

from __future__ import annotations

import math
from dataclasses import dataclass

from monitor.display.state.text import NO_NUMBER, span_text

#: Time spans to choose from, in seconds; the whole run comes behind them.
SPANS_S: tuple[int, ...] = (60, 300, 1200, 3600, 14400)
#: Lengths that a chart of the whole run may have, in seconds.
_MINUTES = (1, 2, 5, 10, 15, 20, 30, 45, 60, 90, 120, 180, 240, 360, 480, 600, 720, 960, 1440)
_RUN_SPANS_S = tuple(60 * minutes for minutes in _MINUTES)
_DAY_S = 86400
_STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
#: A range is kept while the data fills at least this share of it.
_FULL_ENOUGH = 0.35
_MARGIN = 0.08


@dataclass(frozen=True, slots=True)
class Range:
    """From *low* to *high* in a channel's unit."""

    low: float
    high: float

    @property
    def width(self) -> float:
        """Give high minus low."""
        return self.high - self.low


def run_span_s(run_s: float) -> int:
    """Give the length of a chart of the whole run, in s: the next round one above *run_s*."""
    for span in _RUN_SPANS_S:
        if run_s <= span:
            return span
    return math.ceil(run_s / _DAY_S) * _DAY_S


def round_step(width: float, pieces: int) -> float:
    """Give a round number that divides *width* into at most about *pieces* pieces."""
    if not (width > 0 and math.isfinite(width)):
        return 1.0
    rough = width / max(1, pieces)
    power = 10.0 ** math.floor(math.log10(rough))
    return power * next((step for step in _STEPS if step * power >= rough * 0.999), 10.0)


def time_ticks(span_s: int, pieces: int, edge: str = "now") -> tuple[tuple[float, str], ...]:
    """Give places (seconds, at most 0) and labels along a relative time axis.

    Args:
        span_s: Length of the axis in s.
        pieces: Most pieces to cut it into.
        edge: Label of its right end.
    """
    choices = (5, 10, 15, 20, 30, 60, 120, 300, 600, 900, 1200, 1800, 3600, 7200, 14400, 21600)
    step = next((s for s in choices if span_s / s <= pieces), _DAY_S)
    places = range(0, span_s + 1, step)
    minus = "\N{MINUS SIGN}"
    return tuple((-float(s), f"{minus}{span_text(s)}" if s else edge) for s in places)


def value_ticks(shown: Range, pieces: int) -> tuple[tuple[float, str], ...]:
    """Give places and labels up a value axis; as many decimals as the step needs."""
    step = round_step(shown.width, pieces)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    if decimals and abs(step * 10**decimals - round(step * 10**decimals)) > 1e-6:
        decimals += 1
    first = math.ceil(shown.low / step - 1e-9)
    last = math.floor(shown.high / step + 1e-9)
    return tuple((n * step, _tick_text(n * step, decimals)) for n in range(first, last + 1))


def _tick_text(value: float, decimals: int) -> str:
    """Write a tick's number."""
    text = f"{value:.{decimals}f}" if math.isfinite(value) else NO_NUMBER
    if float(text) == 0:
        return text.lstrip("-")
    return text.replace("-", "\N{MINUS SIGN}")


def close_range(low: float, high: float, now: Range | None, least: float) -> Range:
    """Choose the range of a close-up on data from *low* to *high*.

    Args:
        low: Lowest value drawn.
        high: Highest value drawn.
        now: Range shown at present; it is kept while it holds the data and is full enough.
        least: Smallest width worth showing, so that noise does not fill a chart.
    """
    width = max(high - low, least)
    holds = now is not None and now.low <= low and high <= now.high
    if now is not None and holds and width >= _FULL_ENOUGH * now.width:
        return now
    middle = (low + high) / 2
    step = round_step(width * (1 + 2 * _MARGIN), 4)
    half = width * (0.5 + _MARGIN)
    return Range(
        math.floor((middle - half) / step) * step, math.ceil((middle + half) / step) * step
    )
