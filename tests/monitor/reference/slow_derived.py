"""Votes, means, lines and what else looks at more than one sample: slow, one row at a time.

Windows are summed anew at each row by plain loops, in the order that windows.py states.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from monitor.channels.plan import (
    NO_TREND_S,
    NoStart,
    OffProfile,
    Slope,
    Take,
    TimeTo,
    Unchanged,
    Voted,
)
from monitor.samples import Quality

Q = Quality
NAN = math.nan
#: Value (NaN where bad), quality.
Result = tuple[float, int]
#: Value, quality, age in ns (0 where it does not matter).
Seen = tuple[float, int, int]


def slow_vote(plan: Voted, seen: Sequence[Seen]) -> Result:
    """Let inputs vote at one instant."""
    voters = [
        (value, quality)
        for value, quality, age_ns in seen
        if quality < 0x80 and quality != Q.FORCED and age_ns <= plan.largest_skew_ns
    ]
    if not voters:
        return NAN, Q.TOO_FEW
    if plan.take is Take.SPREAD:
        if len(voters) < 2:
            return NAN, Q.TOO_FEW
        spread = max(value for value, _ in voters) - min(value for value, _ in voters)
        if spread > 1e300:
            return NAN, Q.NOT_FINITE
        return spread, Q.INPUT_UNCERTAIN if any(q >= 0x40 for _, q in voters) else Q.GOOD
    ranked = sorted(voters, key=lambda one: (_place(one[1]), one[0]))
    needed = plan.needed if len(voters) == len(plan.inputs) else 1
    if plan.take is Take.UPPER:
        deciding = [ranked[-needed]]
    elif plan.take is Take.LOWER:
        deciding = [ranked[needed - 1]]
    elif len(ranked) == 2:
        deciding = ranked
    else:
        deciding = [ranked[len(ranked) // 2]]
    (first, quality), (last, other) = deciding[0], deciding[-1]
    value = first if first == last else 0.5 * first + 0.5 * last
    if quality == other and quality in (Q.SATURATED_HIGH, Q.SATURATED_LOW):
        return value, quality
    if len(voters) == 1:
        return value, Q.LONE_SENSOR
    return value, Q.INPUT_UNCERTAIN if any(q >= 0x40 for _, q in voters) else Q.GOOD


def _place(quality: int) -> int:
    """Say where a sensor stands among others before its value is looked at."""
    return {Q.SATURATED_LOW: -1, Q.SATURATED_HIGH: 1}.get(Quality(quality), 0)


@dataclass
class Window:
    """All samples since the last bad one, and the sums of a window over them."""

    window_ns: int
    samples: list[tuple[int, float]] = field(default_factory=list)
    origin_ns: int = 0
    last_slot: tuple[int, int] | None = None

    def clear(self) -> None:
        """Start afresh."""
        self.samples, self.last_slot = [], None

    def add(self, t_ns: int, value: float) -> Line:
        """Take a sample; sum over the window that ends with it."""
        self.put(t_ns, value)
        return self.line(t_ns)

    def put(self, t_ns: int, value: float) -> None:
        """Take a sample, unless it is not the first one in its slot."""
        w = self.window_ns
        if not self.samples:
            self.origin_ns = t_ns
        pane = (t_ns - self.origin_ns) // w
        edge_ns = self.origin_ns + pane * w
        slot = (pane, (t_ns - edge_ns) // math.ceil(w / 5_000))
        if slot != self.last_slot:
            self.samples.append((t_ns, value))
        self.last_slot = slot

    def line(self, t_ns: int) -> Line:
        """Sum over the window that ends at *t_ns*."""
        w = self.window_ns
        edge_ns = self.origin_ns + (t_ns - self.origin_ns) // w * w
        before = [one for one in self.samples if edge_ns - w <= one[0] < edge_ns]
        present = [one for one in self.samples if edge_ns <= one[0]]
        reference = before[-1][1] if before else present[0][1]
        inside = [one for one in before if one[0] > t_ns - w]
        backwards = self._summed(inside[::-1], edge_ns, reference)
        forwards = self._summed(present, edge_ns, reference)
        sums = [a + b for a, b in zip(backwards, forwards, strict=True)]
        first_ns = [*inside, *present][0][0]
        n = float(len(inside) + len(present))
        return Line(n, sums, (t_ns - edge_ns) / w, reference, t_ns - first_ns)

    def _summed(
        self, samples: Sequence[tuple[int, float]], edge_ns: int, reference: float
    ) -> list[float]:
        """Sum one sample after the other."""
        sums = [0.0] * 5
        for t_ns, value in samples:
            x = (t_ns - edge_ns) / self.window_ns
            y = value - reference
            for k, term in enumerate((x, y, x * x, x * y, y * y)):
                sums[k] = sums[k] + term
        return sums


@dataclass
class Line:
    """The sums of a window: of x, y, x * x, x * y, y * y."""

    n: float
    sums: list[float]
    at: float
    reference: float
    span_ns: int

    def mean(self) -> float:
        """Give the mean value."""
        return self.reference + self.sums[1] / self.n

    def slope(self, plan: Slope) -> float:
        """Give the slope in the plan's unit."""
        x, y, xx, xy, _ = self.sums
        slope = (self.n * xy - x * y) / (self.n * xx - x * x)
        return slope * (plan.per_ns / plan.window_ns)

    def time_s(self, plan: TimeTo) -> float:
        """Give the time to the plan's bound."""
        n, (x, y, xx, xy, yy) = self.n, self.sums
        square, product = n * xx - x * x, n * xy - x * y
        slope = product / square
        residual = n * yy - y * y - slope * product
        if math.isnan(residual):
            return NAN
        freedom = n - 2.0
        error = math.sqrt(max(residual, 0.0) / (freedom * square))
        sign = 1.0 if plan.is_upper else -1.0
        slowest = sign * slope - slow_t(plan.normal_quantile, freedom) * error
        if not math.isfinite(slowest):
            return NAN
        fitted = y / n + slope * (self.at - x / n)
        gap = sign * ((plan.bound - self.reference) - fitted)
        if not gap > 0.0:
            return 0.0
        if not slowest > 0.0:
            return NO_TREND_S
        return min(gap / slowest * (plan.window_ns / 1e9), NO_TREND_S)


def slow_t(x: float, v: float) -> float:
    """Give Student's t, nested as trend.py nests it: the last bit counts."""
    x2 = x * x
    g1 = x * (x2 + 1.0) / 4.0
    g2 = x * ((5.0 * x2 + 16.0) * x2 + 3.0) / 96.0
    g3 = x * (((3.0 * x2 + 19.0) * x2 + 17.0) * x2 - 15.0) / 384.0
    g4 = x * ((((79.0 * x2 + 776.0) * x2 + 1482.0) * x2 - 1920.0) * x2 - 945.0) / 92160.0
    return x + (g1 + (g2 + (g3 + g4 / v) / v) / v) / v


@dataclass
class SlowMean:
    """A moving average."""

    window_ns: int

    def __post_init__(self) -> None:
        self.window = Window(self.window_ns)

    def take(self, t_ns: int, value: float, quality: int) -> Result:
        """Take one sample."""
        if quality >= 0x80:
            self.window.clear()
            return NAN, quality
        return self.window.add(t_ns, value).mean(), quality


@dataclass
class SlowDerived:
    """One derived column."""

    plan: Slope | TimeTo | Unchanged | NoStart | OffProfile
    run_start_ns: int

    def __post_init__(self) -> None:
        if isinstance(self.plan, Slope | TimeTo):
            self.window = Window(self.plan.window_ns)
        self.changed_at: float | None = None
        self.was_on = False

    def take(self, t_ns: int, value: float, quality: int, phase_start_ns: int) -> Result:
        """Take one sample of the source."""
        plan = self.plan
        if isinstance(plan, Slope | TimeTo):
            return self._trend(plan, t_ns, value, quality)
        if isinstance(plan, OffProfile):
            start_ns = self.run_start_ns if plan.is_over_run else phase_start_ns
            return _off_profile(plan, t_ns - start_ns, value, quality)
        if quality >= 0x80:
            return NAN, quality
        quality = Q.INPUT_UNCERTAIN if quality >= 0x60 else quality
        if isinstance(plan, NoStart):
            is_start = value >= 0.5 and not self.was_on
            self.was_on = value >= 0.5
            return (0.0 if is_start else 1.0), quality
        if self.changed_at is None or abs(value - self.changed_at) > plan.band:
            self.changed_at = value
            return 0.0, quality
        return 1.0, quality

    def _trend(self, plan: Slope | TimeTo, t_ns: int, value: float, quality: int) -> Result:
        if quality >= 0x60:
            self.window.clear()
            return NAN, quality if quality >= 0x80 else Q.INPUT_BAD
        line = self.window.add(t_ns, value)
        least = 3 if isinstance(plan, Slope) else 8
        if line.n < least or line.span_ns / plan.window_ns < 0.8:
            return NAN, Q.FILLING
        found = line.slope(plan) if isinstance(plan, Slope) else line.time_s(plan)
        return (found, quality) if abs(found) <= 1e300 else (NAN, Q.NOT_FINITE)


def _off_profile(plan: OffProfile, elapsed_ns: int, value: float, quality: int) -> Result:
    if quality >= 0x80:
        return NAN, quality
    off = value - slow_profile(plan.points, elapsed_ns)
    if plan.is_absolute and quality >= 0x60:
        is_beyond = off >= 0.0 if quality == Q.SATURATED_HIGH else off <= 0.0
        quality = Q.SATURATED_HIGH if is_beyond else Q.INPUT_UNCERTAIN
    off = abs(off) if plan.is_absolute else off
    return (off, quality) if abs(off) <= 1e300 else (NAN, Q.NOT_FINITE)


def slow_profile(points: Sequence[tuple[int, float]], at_ns: int) -> float:
    """Give a profile at a time."""
    if at_ns <= points[0][0]:
        return points[0][1]
    for (t0, v0), (t1, v1) in itertools.pairwise(points):
        if at_ns < t1:
            return v0 + (at_ns - t0) / (t1 - t0) * (v1 - v0)
    return points[-1][1]
