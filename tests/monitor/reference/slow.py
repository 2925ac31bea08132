"""The pipeline once more, slow and plain: one instant after the other, one sample at a time.

It shares the plan, the sensor curves and the event structure with the product, and no code
that decides anything. There are no steps here: everything is known from the start, and time
goes from one instant at which something happens to the next.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from monitor.alarms.plan import Alarm, Priority
from monitor.channels.plan import Computed, CurrentLoop, Filtered, Linear, Measured
from monitor.events import Action, Control, Event, HostEvent, LinkChange
from monitor.limits.plan import Kind, Limit
from monitor.physics.thermocouple import degc_from_mv, mv_from_degc
from monitor.pipeline import Plan
from monitor.samples import QUALITY_TEXT, Quality
from tests.monitor.reference.inputs import Arrival

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
    return {one.tag: _raw_of(one, rows, start_ns, until_ns) for one in plan.channels.measured}


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
    samples = {t_ns: Raw(NAN, quality) for t_ns, quality in others.items()}
    last_ns = start_ns
    for t_ns in [*sorted(readings), math.inf]:
        stale_ns = last_ns + one.stale_after_ns
        if stale_ns < t_ns and stale_ns <= until_ns:
            samples[stale_ns] = Raw(NAN, Q.STALE)
        if t_ns != math.inf:
            last_ns = int(t_ns)
    samples |= {t_ns: Raw(raw) for t_ns, raw in readings.items()}
    return samples


def converted(one: Measured, raw: Raw, cold: Sample | None, t_ns: int) -> tuple[float, int]:
    """Convert one raw number."""
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
    """A median or a lag."""

    plan: Filtered
    window: list[float] = field(default_factory=list)
    last: float = NAN
    last_ns: int = 0

    def take(self, sample: Sample) -> Sample:
        """Filter one sample."""
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


class SlowLimit:
    """One limit: what it waits for, since when, and what has been told."""

    def __init__(self, plan: Limit) -> None:
        self.plan = plan
        self.is_active = False
        self.waits_for = ""  # "", "raise", "clear", "bridge"
        self.due_ns: int | None = None
        self.resume_ns: int | None = None  # what was left of the on-delay, while bridging
        self.onset: tuple[int, float, int, float] = (0, NAN, 0, NAN)

    def sees(self, sample: Sample, setpoint: float) -> str:
        """Say "true", "returned", "between" or "bad"."""
        plan, q = self.plan, sample.quality
        if plan.kind is Kind.STALE:
            if q == Q.STALE:
                return "true"
            alive = q < 0x80 or q in (Q.OUT_OF_RANGE, Q.CURRENT_FAULT, Q.NOT_FINITE)
            return "returned" if alive else "between"
        if plan.kind is Kind.FAULT:
            if q in (Q.OUT_OF_RANGE, Q.CURRENT_FAULT, Q.NOT_FINITE):
                return "true"
            return "returned" if q < 0x80 else "between"
        is_high = plan.kind in (Kind.HIGH, Kind.HIGH_HIGH)
        if sample.is_bad:
            return "bad"
        if q in (Q.SATURATED_HIGH, Q.SATURATED_LOW):
            return "true" if is_high == (q == Q.SATURATED_HIGH) else "between"
        if is_high:
            if sample.value > setpoint:
                return "true"
            return "returned" if sample.value < setpoint - plan.deadband else "between"
        if sample.value < setpoint:
            return "true"
        return "returned" if sample.value > setpoint + plan.deadband else "between"

    def take(self, sample: Sample, setpoint: float) -> None:
        """Take one sample."""
        seen = self.sees(sample, setpoint)
        onset = (sample.t_ns, sample.value, sample.quality, setpoint)
        if self.is_active:
            self._take_active(seen, onset)
        elif seen == "true":
            if self.waits_for == "bridge" and self.resume_ns is not None:
                self._wait("raise", sample.t_ns + self.resume_ns)
            elif self.waits_for != "raise":
                self.onset = onset
                self._wait("raise", sample.t_ns + self.plan.on_delay_ns)
        elif seen == "bad":
            self._take_bad(sample.t_ns, onset)
        else:
            self._wait("", None)

    def _take_active(self, seen: str, onset: tuple[int, float, int, float]) -> None:
        if seen != "returned":
            self._wait("", None)
        elif self.waits_for != "clear":
            self.onset = onset
            self._wait("clear", onset[0] + self.plan.off_delay_ns)

    def _take_bad(self, t_ns: int, onset: tuple[int, float, int, float]) -> None:
        if self.waits_for == "raise":
            assert self.due_ns is not None
            left = self.due_ns - t_ns
            self._wait("bridge", t_ns + self.plan.bridge_ns)
            self.resume_ns = left
        elif self.waits_for == "" and self.plan.raises_on_bad:
            self.onset = onset
            self._wait("bridge", t_ns + self.plan.bridge_ns)

    def _wait(self, what: str, due_ns: int | None) -> None:
        self.waits_for, self.due_ns, self.resume_ns = what, due_ns, None

    def fall_due(self) -> str:
        """Do what is due; say "raised", "cleared" or "lost"."""
        was, resumes = self.waits_for, self.resume_ns is not None
        self._wait("", None)
        if was == "clear":
            self.is_active = False
            return "cleared"
        if was == "bridge" and resumes and not self.plan.raises_on_bad:
            return "lost"
        self.is_active = True
        return "raised"


@dataclass
class SlowAlarm:
    """One alarm: needs acknowledging, is latched, and is set aside or not."""

    plan: Alarm
    is_active: bool = False
    needs_ack: bool = False
    is_latched: bool = False
    is_suppressed: bool = False
    is_out: bool = False
    shelf_ns: int = 0
    was_shown: bool = False
    #: People saw it, in this occurrence or an earlier one, and nobody has acknowledged since.
    is_owed: bool = False
    onset_ns: int = 0
    true_ns: int = 0

    @property
    def is_hidden(self) -> bool:
        return self.is_suppressed or self.is_out or self.shelf_ns > 0

    @property
    def state(self) -> str:
        if self.is_active:
            return "unacknowledged" if self.needs_ack else "acknowledged"
        if self.is_latched:
            return "latched, " + ("unacknowledged" if self.needs_ack else "acknowledged")
        return "returned, unacknowledged" if self.needs_ack else "normal"

    @property
    def is_shown(self) -> bool:
        is_something = self.plan.priority is not Priority.JOURNAL and self.state != "normal"
        return is_something and not self.is_hidden


class Slow:
    """The whole of it."""

    def __init__(self, plan: Plan, start_ns: int) -> None:
        self.plan = plan
        self.phase = plan.alarms.phases[0]
        self.held = {tag: Sample(start_ns, NAN, Q.WAITING) for tag in plan.channels.column}
        for system in plan.channels.system:
            self.held[system.tag] = Sample(start_ns, 0.0, 0)
        self.tags = list(plan.channels.column)
        self.filters = [Filter(one) for one in plan.channels.filtered]
        self.limits = [SlowLimit(one) for one in plan.limits]
        self.alarms = [SlowAlarm(one) for one in plan.alarms.alarms]
        for alarm in self.alarms:
            alarm.is_suppressed = self.phase in alarm.plan.suppressed_in
        self.events: list[Event] = []

    def run(self, rows: Sequence[Arrival], start_ns: int, until_ns: int) -> list[Event]:
        """Go from instant to instant up to *until_ns*."""
        raws = raw_samples(self.plan, rows, start_ns, until_ns)
        controls: dict[int, list[Control]] = {}
        for row in rows:
            if row.control:
                controls.setdefault(row.control.t_ns, []).append(row.control)
        known = {t for samples in raws.values() for t in samples} | set(controls)
        instants = sorted(t for t in known if t <= until_ns)
        heapq.heapify(instants)
        last_ns = -1
        while instants:
            t_ns = heapq.heappop(instants)
            if t_ns > until_ns or t_ns == last_ns:
                continue
            last_ns = t_ns
            here = sorted(controls.get(t_ns, []), key=lambda one: one.seq)
            self.instant(t_ns, here, {tag: raws[tag].get(t_ns) for tag in raws})
            for due_ns in self.dues():
                if due_ns > t_ns:
                    heapq.heappush(instants, due_ns)
        return self.events

    def dues(self) -> list[int]:
        """Give every instant at which something falls due by itself."""
        limits = [one.due_ns for one in self.limits if one.due_ns is not None]
        return limits + [one.shelf_ns for one in self.alarms if one.shelf_ns]

    def instant(self, t_ns: int, controls: list[Control], raws: dict[str, Raw | None]) -> None:
        """Everything that happens at one instant, in its order."""
        written: dict[str, float] = {}
        for control in controls:
            self.control(t_ns, control, written)
        fresh = self.sample(t_ns, raws, written)
        for limit in self.limits:
            tag = self.tags[limit.plan.column]
            if tag in fresh:
                limit.take(self.held[tag], self.setpoint(limit.plan))
        for position, limit in enumerate(self.limits):
            if limit.due_ns is not None and limit.due_ns <= t_ns:
                self.edge(t_ns, position, limit.fall_due())
        for alarm in self.alarms:
            if 0 < alarm.shelf_ns <= t_ns:
                self.unshelve(t_ns, alarm, "end of its time")

    # Samples.

    def sample(
        self, t_ns: int, raws: dict[str, Raw | None], written: dict[str, float]
    ) -> set[str]:
        """Bring every channel up to date; give the tags that got a sample."""
        fresh: set[str] = set()

        def put(tag: str, value: float, quality: int) -> None:
            self.held[tag] = Sample(t_ns, value, quality)
            fresh.add(tag)

        later = []
        for one in self.plan.channels.measured:
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
        for computed in self.plan.channels.computed:
            if computed.clock in fresh:
                put(computed.tag, *self.compute(t_ns, computed))
        for filtered in self.filters:
            if filtered.plan.source in fresh:
                out = filtered.take(self.held[filtered.plan.source])
                put(filtered.plan.tag, out.value, out.quality)
        return fresh

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

    # Controls.

    def setpoint(self, limit: Limit) -> float:
        """Give the setpoint in this phase."""
        if limit.kind in (Kind.STALE, Kind.FAULT):
            return NAN
        return limit.setpoint_in.get(self.phase, limit.setpoint)

    def control(self, t_ns: int, control: Control, written: dict[str, float]) -> None:
        """One control takes effect."""
        what = control.what
        if isinstance(what, LinkChange):
            written[f"link:{what.instrument}"] = 0.0 if what.is_up else 1.0
            kind = "link.up" if what.is_up else "link.down"
            self.say(t_ns, kind, what.instrument, why=what.why, cure=what.cure)
        elif isinstance(what, HostEvent):
            if what.what.startswith("recording"):
                written["host:recording"] = float(what.what == "recording_stopped")
            kind = what.what.replace("_", ".", 1)
            self.say(t_ns, kind, "", detail=what.detail)
            if what.what == "run_started":
                self.say(t_ns, "phase.entered", self.phase, by="start of run", reason="")
        else:
            self.act(t_ns, what)

    def act(self, t_ns: int, action: Action) -> None:
        """A person acts."""
        if action.verb == "enter_phase":
            self.enter(t_ns, action)
            return
        if action.subject == "*":
            if action.verb not in ("acknowledge", "reset"):
                self.refuse(t_ns, action, f"no alarm {action.subject!r} on this stand")
                return
            chosen = [alarm for alarm in self.alarms if alarm.is_shown]
        else:
            chosen = [alarm for alarm in self.alarms if alarm.plan.id == action.subject]
        for alarm in chosen:
            getattr(self, action.verb)(t_ns, alarm, action)

    def enter(self, t_ns: int, action: Action) -> None:
        """Enter a phase: re-present held values, then show and hide."""
        if action.subject not in self.plan.alarms.phases:
            self.refuse(t_ns, action, f"no phase {action.subject!r} on this stand")
            return
        before = [self.setpoint(limit.plan) for limit in self.limits]
        self.phase = action.subject
        for limit, old in zip(self.limits, before, strict=True):
            new, held = self.setpoint(limit.plan), self.held[self.tags[limit.plan.column]]
            if new != old and not math.isnan(new) and not held.is_bad:
                limit.take(Sample(t_ns, held.value, held.quality), new)
        self.say(t_ns, "phase.entered", self.phase, by=action.by, reason=action.reason)
        for alarm in self.alarms:
            now = self.phase in alarm.plan.suppressed_in
            if now == alarm.is_suppressed:
                continue
            alarm.is_suppressed = now
            if alarm.plan.priority is Priority.JOURNAL or alarm.state == "normal":
                continue
            kind = "alarm.suppressed" if now else "alarm.unsuppressed"
            self.say(t_ns, kind, alarm.plan.id, phase=self.phase, state=alarm.state)
            self.show(t_ns, alarm)

    def acknowledge(self, t_ns: int, alarm: SlowAlarm, action: Action) -> None:
        """Acknowledge."""
        if not alarm.needs_ack:
            if action.subject != "*":
                self.refuse(t_ns, action, "there is nothing to acknowledge")
            return
        alarm.needs_ack = alarm.is_owed = False
        self.say(t_ns, "alarm.acknowledged", alarm.plan.id, by=action.by, state=alarm.state)

    def reset(self, t_ns: int, alarm: SlowAlarm, action: Action) -> None:
        """Reset a latch."""
        limit = self.plan.limits[self.alarms.index(alarm)]
        held = self.held[self.tags[limit.column]]
        is_latched = alarm.is_latched and not alarm.is_active
        why = ""
        if not is_latched:
            if action.subject == "*":
                return
            why = "the condition still stands" if alarm.is_active else "nothing is latched"
        elif alarm.needs_ack:
            why = "acknowledge it first"
        elif held.is_bad:
            why = f"the value is bad ({QUALITY_TEXT[held.quality]})"
        if why:
            self.say(t_ns, "action.refused", alarm.plan.id, verb="reset", by=action.by, why=why)
            return
        alarm.is_latched = False
        self.say(t_ns, "alarm.reset", alarm.plan.id, by=action.by)

    def shelve(self, t_ns: int, alarm: SlowAlarm, action: Action) -> None:
        """Shelve."""
        alarm.shelf_ns = t_ns + round(action.seconds * 1e9)
        fields = {"by": action.by, "reason": action.reason, "until_ns": alarm.shelf_ns}
        self.say(t_ns, "alarm.shelved", alarm.plan.id, **fields)

    def unshelve(self, t_ns: int, alarm: SlowAlarm, action: Action | str) -> None:
        """Unshelve."""
        if isinstance(action, Action) and not alarm.shelf_ns:
            self.refuse(t_ns, action, "it is not shelved")
            return
        alarm.shelf_ns = 0
        by = action.by if isinstance(action, Action) else action
        self.say(t_ns, "alarm.unshelved", alarm.plan.id, by=by)
        self.show(t_ns, alarm)

    def out_of_service(self, t_ns: int, alarm: SlowAlarm, action: Action) -> None:
        """Take out of service."""
        self.serve(t_ns, alarm, action, is_out=True)

    def return_to_service(self, t_ns: int, alarm: SlowAlarm, action: Action) -> None:
        """Return to service."""
        self.serve(t_ns, alarm, action, is_out=False)

    def serve(self, t_ns: int, alarm: SlowAlarm, action: Action, *, is_out: bool) -> None:
        """Either of the two."""
        if alarm.is_out == is_out:
            self.refuse(t_ns, action, "it is so already")
            return
        alarm.is_out = is_out
        kind = "alarm.out_of_service" if is_out else "alarm.returned_to_service"
        self.say(t_ns, kind, alarm.plan.id, by=action.by, reason=action.reason)
        self.show(t_ns, alarm)

    # Edges.

    def edge(self, t_ns: int, position: int, turn: str) -> None:
        """A limit turned."""
        alarm, onset = self.alarms[position], self.limits[position].onset
        plan = alarm.plan
        if turn == "lost":
            fields: dict[str, Any] = {"onset_ns": onset[0], "priority": plan.priority.value}
            self.say(t_ns, "alarm.pending_lost", plan.id, **fields)
            return
        fields = {
            "onset_ns": onset[0],
            "value": None if math.isnan(onset[1]) else onset[1],
            "setpoint": None if math.isnan(onset[3]) else onset[3],
            "quality": QUALITY_TEXT[onset[2]],
            "priority": plan.priority.value,
            "message": plan.message,
        }
        alarm.is_active = turn == "raised"
        if alarm.is_active:
            alarm.was_shown, alarm.onset_ns, alarm.true_ns = False, onset[0], t_ns
        if plan.priority is Priority.JOURNAL:
            self.say(
                t_ns, "condition.on" if alarm.is_active else "condition.off", plan.id, **fields
            )
        elif alarm.is_active:
            alarm.needs_ack, alarm.is_latched = True, False
            alarm.was_shown = not alarm.is_hidden
            alarm.is_owed = alarm.is_owed or alarm.was_shown
            self.say(t_ns, "alarm.raised", plan.id, **fields, is_annunciated=alarm.was_shown)
        else:
            alarm.is_latched = plan.is_latching
            if not plan.is_latching and not alarm.is_owed:
                alarm.needs_ack = False
            self.say(t_ns, "alarm.cleared", plan.id, **fields, state=alarm.state)

    def show(self, t_ns: int, alarm: SlowAlarm) -> None:
        """Show what was hidden until now."""
        if alarm.is_shown and not alarm.was_shown:
            alarm.was_shown = alarm.is_owed = True
            self.say(
                t_ns,
                "alarm.annunciated",
                alarm.plan.id,
                onset_ns=alarm.onset_ns,
                true_ns=alarm.true_ns,
                priority=alarm.plan.priority.value,
                message=alarm.plan.message,
            )

    def refuse(self, t_ns: int, action: Action, why: str) -> None:
        """Refuse."""
        self.say(
            t_ns, "action.refused", action.subject, verb=action.verb, by=action.by, why=why
        )

    def say(self, t_ns: int, kind: str, subject: str, **fields: Any) -> None:
        """Write an event."""
        self.events.append(Event(t_ns, kind, subject, fields))  # type: ignore[arg-type]


def slow_events(
    plan: Plan, rows: Sequence[Arrival], start_ns: int, until_ns: int
) -> list[Event]:
    """Give the events of a run, by the slow way."""
    return Slow(plan, start_ns).run(rows, start_ns, until_ns)
