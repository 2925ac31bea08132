"""The channel stage once more, slow and plain: one channel, one sample after the other.

It shares the plan, the sensor curves and the formulas with the product, and nothing that
decides what a sample is. There are no steps here: everything is known from the start.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from drivers.reading import Block
from monitor.channels.draft import Since
from monitor.channels.plan import (
    ChannelsPlan,
    Computed,
    CurrentLoop,
    Derived,
    Filtered,
    Linear,
    Measured,
    PlatinumRtd,
    Polynomial,
    ThermocoupleK,
    Voted,
)
from monitor.events import Control, HostEvent, LinkChange
from monitor.physics.rtd import degc_from_platinum_ohm
from monitor.physics.thermocouple import degc_from_mv, mv_from_degc
from monitor.samples import Quality
from tests.monitor.reference.slow_derived import SlowDerived, SlowMean, slow_vote

Q = Quality
NAN = math.nan
BAD, UNCERTAIN = 0x80, 0x40

#: Time in ns, value (NaN where bad), quality.
Sample = tuple[int, float, int]
Rows = dict[str, list[Sample]]


def slow_rows(
    plan: ChannelsPlan,
    blocks: Sequence[Block],
    controls: Sequence[Control],
    span_ns: tuple[int, int],
    phases: Sequence[Since] = (),
) -> Rows:
    """Give every sample of every channel after the start and up to the end of *span_ns*."""
    start_ns, until_ns = span_ns
    rows: Rows = {}
    for one in plan.system:
        rows[one.tag] = system(one.tag, controls, until_ns)
    raws = {one.tag: raw_samples(one, blocks, controls, span_ns) for one in plan.measured}
    first = [one for one in plan.measured if not cold_tag(one)]
    for one in [*first, *(one for one in plan.measured if cold_tag(one))]:
        rows[one.tag] = [
            convert(one, t_ns, raw, quality, rows, start_ns)
            for t_ns, (raw, quality) in sorted(raws[one.tag].items())
        ]
    for each in plan.computed:
        if isinstance(each, Voted):
            rows[each.tag] = vote(each, rows, plan, start_ns)
        else:
            rows[each.tag] = compute(each, rows, plan, start_ns)
    for filtered in plan.filtered:
        rows[filtered.tag] = run_filter(filtered, rows[filtered.source])
    for derived in plan.derived:
        rows[derived.tag] = derive(derived, rows[derived.source], start_ns, phases)
    return rows


def system(tag: str, controls: Sequence[Control], until_ns: int) -> list[Sample]:
    """Give what controls write into a system channel."""
    rows: dict[int, float] = {}
    for control in sorted(controls, key=lambda one: (one.t_ns, one.seq)):
        what = control.what
        if isinstance(what, LinkChange) and tag == f"link:{what.instrument}":
            rows[control.t_ns] = 0.0 if what.is_up else 1.0
        if isinstance(what, HostEvent) and tag == "host:recording":
            if what.what == "recording_stopped":
                rows[control.t_ns] = 1.0
            if what.what == "recording_resumed":
                rows[control.t_ns] = 0.0
    return [(t_ns, value, Q.GOOD) for t_ns, value in sorted(rows.items()) if t_ns <= until_ns]


def raw_samples(
    one: Measured,
    blocks: Sequence[Block],
    controls: Sequence[Control],
    span_ns: tuple[int, int],
) -> dict[int, tuple[float, int]]:
    """Give instant -> (raw number, why there is none)."""
    fresh: dict[int, float] = {}
    old: dict[int, float] = {}
    for block in blocks:
        if block.instrument != one.instrument or one.signal not in block.signals:
            continue
        column = block.signals.index(one.signal)
        for t_ns, values in zip(block.t_ns.tolist(), block.values.tolist(), strict=True):
            if not math.isnan(values[column]) and t_ns <= span_ns[1]:
                (old if block.is_old else fresh).setdefault(t_ns, values[column])
    samples: dict[int, tuple[float, int]] = {}
    for control in controls:
        what = control.what
        if (
            isinstance(what, LinkChange)
            and what.instrument == one.instrument
            and not what.is_up
        ):
            samples[control.t_ns] = (NAN, Q.LINK_LOST)
    samples |= dict.fromkeys(old, (NAN, Q.OLD))
    before_ns = span_ns[0]
    for t_ns in [*sorted(fresh), span_ns[1] + one.stale_after_ns + 1]:
        stale_ns = before_ns + one.stale_after_ns
        if stale_ns < t_ns and stale_ns <= span_ns[1]:
            samples[stale_ns] = (NAN, Q.STALE)
        before_ns = t_ns
    return samples | {t_ns: (raw, Q.GOOD) for t_ns, raw in fresh.items()}


def cold_tag(one: Measured) -> str:
    """Give the tag of the cold junction's channel; empty where there is none."""
    return getattr(one.conversion, "cold_junction_tag", "")


def newest(rows: list[Sample], t_ns: int, at_start: Sample) -> Sample:
    """Give the last sample at or before *t_ns*."""
    return max((row for row in rows if row[0] <= t_ns), default=at_start)


def convert(
    one: Measured, t_ns: int, raw: float, quality: int, rows: Rows, start_ns: int
) -> Sample:
    """Convert one raw number."""
    kind = one.conversion
    low, high = one.low, one.high
    if quality >= BAD:
        return t_ns, NAN, quality
    verdict = 0
    none = Q.NOT_FINITE
    if isinstance(kind, Linear):
        value = raw * kind.gain + kind.offset
    elif isinstance(kind, Polynomial):
        value = 0.0
        for coefficient in reversed(kind.coefficients):
            value = value * raw + coefficient
    elif isinstance(kind, CurrentLoop):
        value = (raw - 4.0) * ((kind.at_20ma - kind.at_4ma) / 16) + kind.at_4ma
        ends = sorted((kind.at_4ma, kind.at_20ma))
        low = -math.inf if low <= ends[0] else low
        high = math.inf if high >= ends[1] else high
        verdict = loop_verdict(kind, raw)
    elif isinstance(kind, PlatinumRtd):
        value, none = (
            float(degc_from_platinum_ohm(np.array([raw]), kind.r0_ohm)[0]),
            Q.OUT_OF_RANGE,
        )
    else:
        value, quality = thermocouple(kind, t_ns, raw, rows, start_ns)
        none = Q.OUT_OF_RANGE
    if quality < BAD:
        if verdict:
            quality = max(quality, verdict)
        elif not abs(value) <= 1e300:
            quality = none
        elif not low <= value <= high:
            quality = Q.OUT_OF_RANGE
    if quality == Q.GOOD and one.is_calibration_overdue:
        quality = Q.CALIBRATION_OVERDUE
    return t_ns, (NAN if quality >= BAD else value + 0.0), int(quality)


def loop_verdict(kind: CurrentLoop, ma: float) -> int:
    """Say what a loop current says of its own."""
    is_rising = kind.at_20ma > kind.at_4ma
    if ma <= 3.6 or ma >= 21.0:
        return Q.CURRENT_FAULT
    if ma < 3.8:
        return Q.SATURATED_LOW if is_rising else Q.SATURATED_HIGH
    if ma > 20.5:
        return Q.SATURATED_HIGH if is_rising else Q.SATURATED_LOW
    return 0


def thermocouple(
    kind: ThermocoupleK, t_ns: int, mv: float, rows: Rows, start_ns: int
) -> tuple[float, int]:
    """Convert with the cold junction at its newest temperature."""
    cold, quality = kind.cold_junction_degc, int(Q.GOOD)
    if kind.cold_junction_tag:
        at_ns, cold, cold_quality = newest(
            rows[kind.cold_junction_tag], t_ns, (start_ns, NAN, Q.WAITING)
        )
        if cold_quality >= BAD:
            quality = Q.INPUT_BAD
        elif t_ns - at_ns > kind.largest_skew_ns:
            quality = Q.SKEWED
        elif cold_quality >= UNCERTAIN:
            quality = Q.INPUT_UNCERTAIN
    return float(degc_from_mv(mv + mv_from_degc(np.array([cold])))[0]), quality


def compute(one: Computed, rows: Rows, plan: ChannelsPlan, start_ns: int) -> list[Sample]:
    """Compute a channel at each row of its clock."""
    system_tags = {row.tag for row in plan.system}
    found = []
    for t_ns, _, _ in rows[one.clock]:
        inputs, worst, is_skewed = {}, 0, False
        for name, tag in one.inputs:
            at_start = (start_ns, 0.0, 0) if tag in system_tags else (start_ns, NAN, Q.WAITING)
            at_ns, value, quality = newest(rows[tag], t_ns, at_start)
            inputs[name] = np.array([value])
            worst = max(worst, quality)
            is_skewed |= tag not in system_tags and t_ns - at_ns > one.largest_skew_ns
        value = float(one.formula.evaluate(inputs)[0]) + 0.0
        if worst >= BAD:
            quality = Q.INPUT_BAD
        elif is_skewed:
            quality = Q.SKEWED
        elif not abs(value) <= 1e300:
            quality = Q.NOT_FINITE
        else:
            quality = Q.INPUT_UNCERTAIN if worst >= UNCERTAIN else Q.GOOD
        found.append((t_ns, NAN if quality >= BAD else value, int(quality)))
    return found


def vote(one: Voted, rows: Rows, plan: ChannelsPlan, start_ns: int) -> list[Sample]:
    """Let channels vote whenever one of them has a row."""
    system_tags = {row.tag for row in plan.system}
    found = []
    for t_ns in sorted({row[0] for tag in one.inputs for row in rows[tag]}):
        seen = []
        for tag in one.inputs:
            at_start = (start_ns, 0.0, 0) if tag in system_tags else (start_ns, NAN, Q.WAITING)
            at_ns, value, quality = newest(rows[tag], t_ns, at_start)
            seen.append((value, quality, 0 if tag in system_tags else t_ns - at_ns))
        value, quality = slow_vote(one, seen)
        found.append((t_ns, value, int(quality)))
    return found


def derive(
    one: Derived, source: list[Sample], start_ns: int, phases: Sequence[Since]
) -> list[Sample]:
    """Derive a channel; a phase counts for the rows from its first on."""
    derived = SlowDerived(one, start_ns)
    found = []
    for t_ns, value, quality in source:
        begun = [phase.start_ns for phase in phases if phase.first_ns <= t_ns]
        value, quality = derived.take(t_ns, value, quality, [start_ns, *begun][-1])
        found.append((t_ns, value, int(quality)))
    return found


def run_filter(one: Filtered, source: list[Sample]) -> list[Sample]:
    """Filter a channel."""
    window: list[float] = []
    mean = SlowMean(one.mean_ns)
    y, y_ns = NAN, 0
    found = []
    for t_ns, value, quality in source:
        if one.mean_ns:
            found.append((t_ns, *mean.take(t_ns, value, quality)))
            continue
        if quality >= BAD:
            window, y = [], NAN
            found.append((t_ns, NAN, quality))
            continue
        if one.median_of:
            window = [*window, value][-one.median_of :]
            ordered, n = sorted(window), len(window)
            y = ordered[n // 2] if n % 2 else 0.5 * ordered[n // 2 - 1] + 0.5 * ordered[n // 2]
        elif math.isnan(y):
            y = value
        else:
            dt_ns = float(t_ns - y_ns)
            y = y + dt_ns / (one.lag_ns + dt_ns) * (value - y)
        y_ns = t_ns
        found.append((t_ns, y, quality))
    return found
