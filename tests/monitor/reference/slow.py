"""The pipeline once more, slow and plain: one instant after the other, one sample at a time.

It shares the plan, the sensor curves and the event structure with the product, and no code
that decides anything. There are no steps here: everything is known from the start, and time
goes from one instant at which something happens to the next.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence

from monitor.events import Action, Control, Event, HostEvent, LinkChange
from monitor.limits.plan import Kind, Limit, Place
from monitor.pipeline import Plan
from tests.monitor.reference.inputs import Arrival
from tests.monitor.reference.slow_alarms import SlowAlarms
from tests.monitor.reference.slow_channels import Raw, Sample, SlowChannels, raw_samples
from tests.monitor.reference.slow_limits import SlowLimit

NAN = math.nan


class Slow:
    """The whole of it."""

    def __init__(self, plan: Plan, start_ns: int) -> None:
        self.plan = plan
        self.place = Place(plan.alarms.phases[0])
        self.channels = SlowChannels(plan.channels, start_ns)
        self.limits = [SlowLimit(one) for one in plan.limits]
        self.alarms = SlowAlarms(plan.alarms, self.place, self.held_of)

    def held_of(self, position: int) -> Sample:
        """Give the newest sample behind a limit."""
        return self.channels.held[self.channels.tags[self.plan.limits[position].column]]

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
        return self.alarms.events

    def dues(self) -> list[int]:
        """Give every instant at which something falls due by itself."""
        limits = [one.due_ns for one in self.limits if one.due_ns is not None]
        return limits + self.alarms.dues()

    def instant(self, t_ns: int, controls: list[Control], raws: dict[str, Raw | None]) -> None:
        """Everything that happens at one instant, in its order."""
        written: dict[str, float] = {}
        for control in controls:
            self.control(t_ns, control, written)
        fresh = self.channels.sample(t_ns, raws, written)
        for position, limit in enumerate(self.limits):
            if self.channels.tags[limit.plan.column] in fresh:
                limit.take(self.held_of(position), self.setpoint(limit.plan))
        for position, limit in enumerate(self.limits):
            if limit.due_ns is not None and limit.due_ns <= t_ns:
                turn = limit.fall_due()
                self.alarms.edge(t_ns, position, turn, limit.onset)
        self.alarms.fall_due(t_ns)

    def setpoint(self, limit: Limit) -> float:
        """Give the setpoint here."""
        if limit.kind in (Kind.STALE, Kind.FAULT):
            return NAN
        return limit.setpoint_in.get(self.place.phase, limit.setpoint)

    def control(self, t_ns: int, control: Control, written: dict[str, float]) -> None:
        """One control takes effect."""
        what = control.what
        if isinstance(what, LinkChange):
            written[f"link:{what.instrument}"] = 0.0 if what.is_up else 1.0
            kind = "link.up" if what.is_up else "link.down"
            self.alarms.say(t_ns, kind, what.instrument, why=what.why, cure=what.cure)
        elif isinstance(what, HostEvent):
            if what.what.startswith("recording"):
                written["host:recording"] = float(what.what == "recording_stopped")
            kind = what.what.replace("_", ".", 1)
            self.alarms.say(t_ns, kind, "", detail=what.detail)
            if what.what == "run_started":
                self.alarms.say(
                    t_ns, "phase.entered", self.place.phase, by="start of run", reason=""
                )
        else:
            self.act(t_ns, what)

    def act(self, t_ns: int, action: Action) -> None:
        """A person acts."""
        if action.verb != "enter_phase":
            self.alarms.act(t_ns, action)
        elif action.subject not in self.plan.alarms.phases:
            self.alarms.refuse(t_ns, action, f"no phase {action.subject!r} on this stand")
        else:
            self.go(t_ns, Place(action.subject, self.place.mode))
            self.alarms.say(
                t_ns, "phase.entered", action.subject, by=action.by, reason=action.reason
            )
            self.alarms.go(t_ns, self.place)

    def go(self, t_ns: int, place: Place) -> None:
        """Be in another phase or mode: re-present held values."""
        before = [self.setpoint(limit.plan) for limit in self.limits]
        self.place = place
        for position, (limit, old) in enumerate(zip(self.limits, before, strict=True)):
            new, held = self.setpoint(limit.plan), self.held_of(position)
            if new != old and not math.isnan(new) and not held.is_bad:
                limit.take(Sample(t_ns, held.value, held.quality), new)


def slow_events(
    plan: Plan, rows: Sequence[Arrival], start_ns: int, until_ns: int
) -> list[Event]:
    """Give the events of a run, by the slow way."""
    return Slow(plan, start_ns).run(rows, start_ns, until_ns)
