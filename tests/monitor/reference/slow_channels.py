"""Channels once more, slow and plain: one sample at a time, raw numbers to every column."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from monitor.alarms.plan import AlarmsPlan, Priority
from monitor.channels.plan import (
    ChannelsPlan,
    Computed,
    CurrentLoop,
    Filtered,
    Linear,
    Measured,
    Voted,
)
from monitor.events import Action, LinkChange
from monitor.physics.thermocouple import degc_from_mv, mv_from_degc
from monitor.pipeline import Plan
from monitor.samples import Quality
from tests.monitor.reference.inputs import Arrival
from tests.monitor.reference.slow_derived import Seen, SlowDerived, SlowMean, slow_vote

Q = Quality
NAN = math.nan


@dataclass
class Sample:
    """One value at one instant."""

    t_ns: int
    value: float
    quality: int

    @property
    def is_bad(self) -> bool:
        return self.quality >= 0x80


@dataclass
class Raw:
    """One raw number at one instant, or a reason why there is none."""

    raw: float
    quality: int = 0


def raw_samples(
    plan: Plan, rows: Sequence[Arrival], start_ns: int, until_ns: int
) -> dict[str, dict[int, Raw]]:
    """Give tag -> instant -> raw sample, staleness and lost links included."""
    kept = [row for row in rows if not _is_refused(plan.alarms, row)]
    return {one.tag: _raw_of(one, kept, start_ns, until_ns) for one in plan.channels.measured}


def _is_refused(plan: AlarmsPlan, row: Arrival) -> bool:
    what = row.control.what if row.control else None
    is_force = isinstance(what, Action) and what.verb == "force"
    return is_force and bool(refusal_of_force(plan, what))


def _raw_of(
    one: Measured, rows: Sequence[Arrival], start_ns: int, until_ns: int
) -> dict[int, Raw]:
    readings: dict[int, float] = {}
    others: dict[int, int] = {}
    for row in rows:
        block = row.block
        if block is None or block.instrument != one.instrument:
            continue
        if one.signal not in block.signals:
            continue
        column = block.signals.index(one.signal)
        for t_ns, values in zip(block.t_ns.tolist(), block.values.tolist(), strict=True):
            if block.is_old:
                others.setdefault(t_ns, Q.OLD)
            elif not math.isnan(values[column]):
                readings.setdefault(t_ns, values[column])
    for row in rows:
        if row.control and isinstance(row.control.what, LinkChange):
            change = row.control.what
            if change.instrument == one.instrument and not change.is_up:
                others.setdefault(row.control.t_ns, Q.LINK_LOST)
    windows = forced_windows(one, rows)
    ends = {end for _, end, _ in windows if end <= until_ns and not forced_at(windows, end)}
    samples = {since: Raw(NAN, Q.RELEASED) for since, _, _ in windows}
    samples |= {t_ns: Raw(NAN, Q.RELEASED) for t_ns in ends}
    samples |= {t_ns: Raw(NAN, quality) for t_ns, quality in others.items()}
    last_ns = start_ns
    for t_ns in [*sorted({*readings, *ends}), math.inf]:
        stale_ns = last_ns + one.stale_after_ns
        if stale_ns < t_ns and stale_ns <= until_ns:
            samples[stale_ns] = Raw(NAN, Q.STALE)
        if t_ns != math.inf:
            last_ns = int(t_ns)
    samples |= {t_ns: Raw(raw) for t_ns, raw in readings.items()}
    for t_ns in samples:
        value = forced_at(windows, t_ns)
        if value is not None:
            samples[t_ns] = Raw(value, Q.FORCED)
    return samples


def refusal_of_force(plan: AlarmsPlan, action: Action) -> str:
    """Say why a value cannot be forced."""
    value, (low, high) = action.changes["value"], plan.forcible[action.subject]
    if not low <= value <= high:
        return f"{value:g} is outside what the sensor can give, {low:g} to {high:g}"
    tops = {alarm.tag for alarm in plan.alarms if alarm.priority is Priority.TOP}
    if action.subject not in tops:
        return ""
    if not action.second.strip():
        return "it is of top priority: a second person must agree, by name"
    first, second = action.by.replace(" ", ""), action.second.replace(" ", "")
    is_same = first.lower() == second.lower()
    return "the second person must not be the first" if is_same else ""


def forced_windows(one: Measured, rows: Sequence[Arrival]) -> list[tuple[int, int, float]]:
    """Give (from, until, value) for each time a hand forced a channel to what it can be."""
    found: list[tuple[int, int, float]] = []
    controls = [row.control for row in rows if row.control]
    for control in sorted(controls, key=lambda control: (control.t_ns, control.seq)):
        action, t_ns = control.what, control.t_ns
        if not isinstance(action, Action) or action.subject != one.tag:
            continue
        if action.verb in ("force", "unforce") and found and found[-1][1] > t_ns:
            found[-1] = (found[-1][0], t_ns, found[-1][2])
        if action.verb == "force":
            until = t_ns + round(action.seconds * 1e9)
            found.append((t_ns, until, action.changes["value"]))
    return found


def forced_at(windows: Sequence[tuple[int, int, float]], t_ns: int) -> float | None:
    """Give what is forced at an instant."""
    inside = [value for since, until, value in windows if since <= t_ns < until]
    return inside[-1] if inside else None


def converted(one: Measured, raw: Raw, cold: Sample | None, t_ns: int) -> tuple[float, int]:
    """Convert one raw number; what is forced is the value already."""
    if raw.quality == Q.FORCED:
        return raw.raw, raw.quality
    conversion = one.conversion
    quality = raw.quality
    value = NAN
    if quality == 0:
        if isinstance(conversion, Linear):
            value = raw.raw * conversion.gain + conversion.offset
        elif isinstance(conversion, CurrentLoop):
            value, quality = _loop(conversion, raw.raw)
        else:
            assert cold is not None
            if cold.is_bad:
                quality = Q.INPUT_BAD
            elif t_ns - cold.t_ns > conversion.largest_skew_ns:  # type: ignore[union-attr]
                quality = Q.SKEWED
            else:
                quality = Q.INPUT_UNCERTAIN if cold.quality >= 0x40 else 0
                mv = np.array([raw.raw]) + mv_from_degc(np.array([cold.value]))
                value = float(degc_from_mv(mv)[0])
        is_loop = isinstance(conversion, CurrentLoop)
        if quality < 0x80 and not is_loop and not one.low <= value <= one.high:
            quality = Q.OUT_OF_RANGE
    return (NAN if quality >= 0x80 else value), int(quality)


def _loop(conversion: CurrentLoop, ma: float) -> tuple[float, int]:
    value = conversion.at_4ma + (ma - 4.0) * ((conversion.at_20ma - conversion.at_4ma) / 16)
    rising = conversion.at_20ma > conversion.at_4ma
    if ma <= 3.6 or ma >= 21.0:
        return NAN, Q.CURRENT_FAULT
    if ma > 20.5:
        return value, Q.SATURATED_HIGH if rising else Q.SATURATED_LOW
    if ma < 3.8:
        return value, Q.SATURATED_LOW if rising else Q.SATURATED_HIGH
    return value, 0


@dataclass
class Filter:
    """A median, a lag or a mean."""

    plan: Filtered
    window: list[float] = field(default_factory=list)
    last: float = NAN
    last_ns: int = 0

    def __post_init__(self) -> None:
        self.mean = SlowMean(self.plan.mean_ns)

    def take(self, sample: Sample) -> Sample:
        """Filter one sample."""
        if self.plan.mean_ns:
            t_ns = sample.t_ns
            return Sample(t_ns, *self.mean.take(t_ns, sample.value, sample.quality))
        if sample.is_bad:
            self.window, self.last = [], NAN
            return Sample(sample.t_ns, NAN, sample.quality)
        if self.plan.median_of:
            self.window = [*self.window, sample.value][-self.plan.median_of :]
            ordered = sorted(self.window)
            n = len(ordered)
            value = (ordered[(n - 1) // 2] + ordered[n // 2]) * 0.5
        elif math.isnan(self.last):
            value = sample.value
        else:
            dt = float(sample.t_ns - self.last_ns)
            value = self.last + (sample.value - self.last) * (dt / (self.plan.lag_ns + dt))
        self.last, self.last_ns = value, sample.t_ns
        return Sample(sample.t_ns, value, sample.quality)


class SlowChannels:
    """Every column at one instant after the other.

    Attributes:
        held: Newest sample by tag.
        tags: Tags in column order.
        phase_start_ns: When the phase of the next instant began; set from outside.
    """

    def __init__(self, plan: ChannelsPlan, start_ns: int) -> None:
        self.plan = plan
        self.held = {tag: Sample(start_ns, NAN, Q.WAITING) for tag in plan.column}
        for system in plan.system:
            self.held[system.tag] = Sample(start_ns, 0.0, 0)
        self.tags = list(plan.column)
        self.system_tags = {system.tag for system in plan.system}
        self.filters = [Filter(one) for one in plan.filtered]
        self.derived = [SlowDerived(one, start_ns) for one in plan.derived]
        self.phase_start_ns = start_ns

    def sample(
        self, t_ns: int, raws: dict[str, Raw | None], written: dict[str, float]
    ) -> set[str]:
        """Bring every channel up to date; give the tags that got a sample."""
        fresh: set[str] = set()

        def put(tag: str, value: float, quality: int) -> None:
            self.held[tag] = Sample(t_ns, value, quality)
            fresh.add(tag)

        later = []
        for one in self.plan.measured:
            raw = raws[one.tag]
            if raw is None:
                continue
            if hasattr(one.conversion, "cold_junction_tag"):
                later.append((one, raw))
            else:
                put(one.tag, *converted(one, raw, None, t_ns))
        for one, raw in later:
            cold = self.held[one.conversion.cold_junction_tag]  # type: ignore[union-attr]
            put(one.tag, *converted(one, raw, cold, t_ns))
        for tag, value in written.items():
            if tag in self.held:
                put(tag, value, 0)
        for computed in self.plan.computed:
            if isinstance(computed, Voted):
                if fresh.intersection(computed.inputs):
                    put(computed.tag, *slow_vote(computed, self.seen(t_ns, computed)))
            elif computed.clock in fresh:
                put(computed.tag, *self.compute(t_ns, computed))
        for filtered in self.filters:
            if filtered.plan.source in fresh:
                out = filtered.take(self.held[filtered.plan.source])
                put(filtered.plan.tag, out.value, out.quality)
        for derived in self.derived:
            if derived.plan.source in fresh:
                source = self.held[derived.plan.source]
                result = derived.take(t_ns, source.value, source.quality, self.phase_start_ns)
                put(derived.plan.tag, *result)
        return fresh

    def seen(self, t_ns: int, plan: Voted) -> list[Seen]:
        """Give the inputs of a vote with their ages; what the system writes has none."""
        return [
            (one.value, one.quality, 0 if tag in self.system_tags else t_ns - one.t_ns)
            for tag in plan.inputs
            for one in (self.held[tag],)
        ]

    def compute(self, t_ns: int, plan: Computed) -> tuple[float, int]:
        """Compute one value."""
        inputs = {name: self.held[tag] for name, tag in plan.inputs}
        if any(one.is_bad for one in inputs.values()):
            return NAN, Q.INPUT_BAD
        if any(t_ns - one.t_ns > plan.largest_skew_ns for one in inputs.values()):
            return NAN, Q.SKEWED
        arrays = {name: np.array([one.value]) for name, one in inputs.items()}
        value = float(plan.formula.evaluate(arrays)[0])
        if not math.isfinite(value):
            return NAN, Q.NOT_FINITE
        worst = max(one.quality for one in inputs.values())
        return value, Q.INPUT_UNCERTAIN if worst >= 0x40 else 0
