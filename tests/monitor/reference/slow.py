"""The pipeline once more, slow and plain: one instant after the other, one sample at a time.

It shares the plan, the sensor curves and the event structure with the product, and no code
that decides anything. There are no steps here: everything is known from the start, and time
goes from one instant at which something happens to the next.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from typing import Any

from monitor.alarms.plan import AutomaticEntry
from monitor.channels.plan import OffProfile
from monitor.events import Action, Control, Event, HostEvent, LinkChange
from monitor.limits.plan import NO_COLUMN, Limit, Place
from monitor.pipeline import Plan
from monitor.samples import Quality
from tests.monitor.reference.inputs import Arrival
from tests.monitor.reference.slow_alarms import SlowAlarms
from tests.monitor.reference.slow_channels import Raw, Sample, SlowChannels, raw_samples
from tests.monitor.reference.slow_limits import Onset, SlowCombination, SlowLimit

NAN = math.nan


class Slow:
    """The whole of it."""

    def __init__(self, plan: Plan, start_ns: int) -> None:
        self.plan = plan
        alarms = plan.alarms
        self.place = Place(alarms.phases[0], alarms.modes[0] if alarms.modes else "")
        self.channels = SlowChannels(plan.channels, start_ns)
        self.limits = [
            SlowCombination(one, self.place, start_ns + 1)
            if one.condition
            else SlowLimit(one, self.place, start_ns)
            for one in plan.limits
        ]
        self.conditions = [SlowLimit(one, Place(""), start_ns) for one in alarms.conditions]
        self.overruled: set[str] = set()
        self.has_moved = False
        #: Columns that count from a phase's beginning, and have had no row in it yet.
        self.forgotten: set[str] = set()
        self.alarms = SlowAlarms(alarms, self.place, self.held_of)

    def held_of(self, position: int) -> Sample:
        """Give the newest sample behind a limit; of a combination its worst input's."""
        limit = self.plan.limits[position]
        held = [self.held_of(of) for _, of in limit.inputs]
        return max([self.held_in(limit.column), *held], key=lambda one: one.quality)

    def held_in(self, column: int) -> Sample:
        """Give the newest sample of a column."""
        if column == NO_COLUMN:
            return Sample(0, NAN, 0)
        return self.channels.held[self.channels.tags[column]]

    def run(self, rows: Sequence[Arrival], start_ns: int, until_ns: int) -> list[Event]:
        """Go from instant to instant up to *until_ns*."""
        raws = raw_samples(self.plan, rows, start_ns, until_ns)
        controls: dict[int, list[Control]] = {}
        for row in rows:
            if row.control:
                controls.setdefault(row.control.t_ns, []).append(row.control)
        known = {t for samples in raws.values() for t in samples} | set(controls)
        known |= set(self.dues())
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
        limits = [*self.limits, *self.conditions]
        return [one.due_ns for one in limits if one.due_ns is not None] + self.alarms.dues()

    def instant(self, t_ns: int, controls: list[Control], raws: dict[str, Raw | None]) -> None:
        """Everything that happens at one instant, in its order."""
        written: dict[str, float] = {}
        self.has_moved = False
        for control in controls:
            self.control(t_ns, control, written)
        fresh = self.channels.sample(t_ns, raws, written)
        self.forgotten -= fresh
        turned = self.tell(t_ns, self.judge(t_ns, self.limits, fresh))
        conditions = self.judge(t_ns, self.conditions, fresh)
        for number, _, _ in conditions:
            for entry in self.plan.alarms.automatic:
                if number in entry.conditions and not self.stand(entry):
                    self.overruled.discard(entry.phase)
        if self.has_moved or conditions:
            turned |= self.enter_by_conditions(t_ns)
        self.combine(t_ns, turned)
        self.alarms.fall_due(t_ns)

    def judge(
        self, t_ns: int, limits: Sequence[SlowLimit], fresh: set[str]
    ) -> list[tuple[int, str, Onset]]:
        """Show limits what is fresh, let fall due what is due; give what turned."""
        for limit in limits:
            column = limit.plan.column
            if column != NO_COLUMN and self.channels.tags[column] in fresh:
                limit.take(self.held_in(column))
        for limit in limits:
            if not isinstance(limit, SlowCombination):
                limit.fall_due(t_ns)
        return self.take_told(limits)

    def take_told(self, limits: Sequence[SlowLimit]) -> list[tuple[int, str, Onset]]:
        """Give what has turned, in the order of the plan."""
        told: list[tuple[int, str, Onset]] = []
        for number, limit in enumerate(limits):
            told += [(number, turn, onset) for turn, _, onset in limit.told]
            limit.told = []
        return told

    def tell(self, t_ns: int, turned: list[tuple[int, str, Onset]]) -> set[int]:
        """Let alarms hear of what turned at one instant."""
        self.alarms.edges(t_ns, turned)
        return {number for number, turn, _ in turned if turn in ("raised", "cleared")}

    def combine(self, t_ns: int, turned: set[int]) -> None:
        """Judge what stands together, once everything else of the instant is known."""
        told: list[tuple[int, str, Onset]] = []
        for number, limit in enumerate(self.limits):
            if not isinstance(limit, SlowCombination):
                continue
            limit.worst = 0
            for name, position in limit.plan.inputs:
                other = self.limits[position]
                limit.flags[name] = other.is_active
                limit.worst = max(limit.worst, other.raised_with if other.is_active else 0)
            if limit.place != self.place:
                limit.enter(self.place, Sample(t_ns, NAN, 0), is_phase=False)
            if turned & {position for _, position in limit.plan.inputs}:
                limit.look(t_ns)
            limit.fall_due(t_ns)
            told += [(number, turn, onset) for turn, _, onset in limit.told]
            turned |= {number} if limit.told else set()
            limit.told = []
        self.alarms.edges(t_ns, told)

    def stand(self, entry: AutomaticEntry) -> bool:
        """Whether all conditions of an entry stand."""
        return all(self.conditions[i].is_active for i in entry.conditions)

    def enter_by_conditions(self, t_ns: int) -> set[int]:
        """Enter phases by themselves, none twice in one instant."""
        entered: set[str] = set()
        turned: set[int] = set()
        while True:
            for entry in self.plan.alarms.automatic:
                if entry.phase in entered | self.overruled or not self.stand(entry):
                    continue
                if self.place.phase in entry.after:
                    break
            else:
                break
            entered.add(entry.phase)
            reason = ", ".join(self.plan.alarms.conditions[i].id for i in entry.conditions)
            place = Place(entry.phase, self.place.mode)
            turned |= self.tell(t_ns, self.take_told(self.limits))
            self.go(t_ns, place, "phase", ("conditions", reason))
        # Only the last phase of an instant lets delays end that are over at once.
        return turned | self.tell(t_ns, self.judge(t_ns, self.limits, set()))

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
                why = {"by": "start of run", "reason": ""}
                self.alarms.say(t_ns, "phase.entered", self.place.phase, **why)
                if self.place.mode:
                    self.alarms.say(t_ns, "mode.entered", self.place.mode, **why)
        else:
            self.act(t_ns, what)

    def act(self, t_ns: int, action: Action) -> None:
        """A person acts."""
        plan = self.plan.alarms
        if action.verb == "enter_phase":
            if action.subject not in plan.phases:
                self.alarms.refuse(t_ns, action, f"no phase {action.subject!r} on this stand")
                return
            self.overruled |= {one.phase for one in plan.automatic if self.stand(one)}
            place = Place(action.subject, self.place.mode)
            self.go(t_ns, place, "phase", (action.by, action.reason))
        elif action.verb == "enter_mode":
            if action.subject not in plan.modes:
                self.alarms.refuse(t_ns, action, f"no mode {action.subject!r} on this stand")
                return
            place = Place(self.place.phase, action.subject)
            self.go(t_ns, place, "mode", (action.by, action.reason))
        elif action.verb == "edit_limit":
            self.edit(t_ns, action)
        else:
            self.alarms.act(t_ns, action)

    def go(self, t_ns: int, place: Place, what: str, why: tuple[str, str]) -> None:
        """Be in another phase or mode: judge held values anew, then show and hide."""
        self.place, self.has_moved = place, True
        if what == "phase":
            self.channels.phase_start_ns = t_ns
            for one in self.plan.channels.derived:
                if not isinstance(one, OffProfile) or len(one.points) == 1:
                    continue
                if not one.is_over_run:
                    self.forgotten.add(one.tag)
        for position, limit in enumerate(self.limits):
            if not isinstance(limit, SlowCombination):
                limit.enter(place, self.at(t_ns, position), is_phase=what == "phase")
        name = place.phase if what == "phase" else place.mode
        self.alarms.say(t_ns, f"{what}.entered", name, by=why[0], reason=why[1])
        self.alarms.go(t_ns, place, is_phase=what == "phase")

    def at(self, t_ns: int, position: int) -> Sample:
        """Give the newest sample behind a limit, as of an instant."""
        held = self.held_of(position)
        column = self.plan.limits[position].column
        if column != NO_COLUMN and self.channels.tags[column] in self.forgotten:
            return Sample(t_ns, NAN, Quality.WAITING)
        return Sample(t_ns, held.value, held.quality)

    def edit(self, t_ns: int, action: Action) -> None:
        """Edit a limit, if its setpoint stays on its side of its siblings."""
        ids = [limit.id for limit in self.plan.limits]
        position = ids.index(action.subject)
        limit = self.limits[position]
        fields: dict[str, Any] = {}
        for key, value in action.changes.items():
            old = vars_of(limit.plan).get(key)
            fields |= {f"{key}_from": old, f"{key}_to": value}
        limit.edit(action.changes, self.at(t_ns, position))
        self.alarms.say(
            t_ns, "limit.edited", action.subject,
            by=action.by, second=action.second, reason=action.reason, **fields,
        )  # fmt: skip


def vars_of(plan: Limit) -> dict[str, float]:
    """Give what can be edited, by the keys of an edit."""
    own = {
        "setpoint": plan.setpoint,
        "deadband": plan.deadband,
        "on_delay_s": plan.on_delay_ns / 1e9,
        "off_delay_s": plan.off_delay_ns / 1e9,
    }
    return own | {f"setpoint_in.{name}": x for name, x in plan.setpoint_in.items()}


def slow_events(
    plan: Plan, rows: Sequence[Arrival], start_ns: int, until_ns: int
) -> list[Event]:
    """Give the events of a run, by the slow way."""
    return Slow(plan, start_ns).run(rows, start_ns, until_ns)
