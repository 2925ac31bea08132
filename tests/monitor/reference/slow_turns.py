"""What edges and places do to alarms, slow and plain: raised, hidden, and who came first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from monitor.alarms.plan import AlarmsPlan, Priority
from monitor.limits.plan import Place
from monitor.samples import QUALITY_TEXT
from tests.monitor.reference.slow_alarm import SlowAlarm, SlowBook

Onset = tuple[int, float, int, float]
#: Position, turn (raised, cleared, lost, armed), onset.
SlowEdge = tuple[int, str, Onset]


class SlowTurns(SlowBook):
    """Every alarm of a stand, and the journal."""

    def __init__(self, plan: AlarmsPlan, place: Place) -> None:
        super().__init__(plan)
        self.place = place
        self.has_lapsed = False
        for alarm in self.alarms:
            alarm.is_suppressed = place.is_in(alarm.plan.suppressed_in)
        #: For each first-out group: when its members of this episode came, and what was said.
        self.came: dict[str, dict[str, int]] = {one.group: {} for one in plan.alarms}
        self.said: dict[str, list[str]] = {one.group: [] for one in plan.alarms}
        self.waiting: list[SlowEdge] = []
        self.waiting_ns = 0

    def edges(self, t_ns: int, edges: Sequence[SlowEdge]) -> None:
        """Limits turned. Those of one instant are told together, once anything else is said."""
        if self.waiting and t_ns != self.waiting_ns:
            self.tell_edges()
        self.waiting += edges
        self.waiting_ns = t_ns

    def tell_edges(self) -> None:
        """Limits turned at one instant: causes first, and only then is anything let go."""
        t_ns, edges, self.waiting = self.waiting_ns, self.waiting, []
        if not edges:
            return
        for position, turn, onset in sorted(edges, key=lambda edge: self.depth(edge[0])):
            self.edge_of(t_ns, position, turn, onset)
            self.hide_and_show(t_ns, hides_only=True)
            if turn == "raised" and (position, self.place.phase) in self.plan.lapses:
                if not self.has_lapsed:
                    self.say(t_ns, "phase.lapsed", self.place.phase)
                self.has_lapsed = True
        self.hide_and_show(t_ns)
        self.see_who_was_first(t_ns)

    def say(self, t_ns: int, kind: str, subject: str, **fields: Any) -> None:
        """Write an event, after what has turned before it."""
        self.tell_edges()
        super().say(t_ns, kind, subject, **fields)

    def edge(self, t_ns: int, position: int, turn: str, onset: Onset) -> None:
        """One limit turned, and no other at that instant."""
        self.edges(t_ns, [(position, turn, onset)])

    def depth(self, position: int) -> int:
        """Give how many causes lie behind each other under an alarm."""
        causes = [self.named[name] for name in self.alarms[position].plan.suppressed_by]
        return max((1 + self.depth(self.alarms.index(cause)) for cause in causes), default=0)

    def edge_of(self, t_ns: int, position: int, turn: str, onset: Onset) -> None:
        """A limit turned."""
        alarm = self.alarms[position]
        plan = alarm.plan
        value = None if math.isnan(onset[1]) else onset[1]
        setpoint = None if math.isnan(onset[3]) else onset[3]
        quality = QUALITY_TEXT[onset[2]]
        if turn == "armed":
            armed = {"value": value, "setpoint": setpoint, "quality": quality}
            self.say(t_ns, "limit.armed", plan.id, **armed)
            return
        if turn == "lost":
            lost = {"onset_ns": onset[0], "priority": plan.priority.value}
            self.say(t_ns, "alarm.pending_lost", plan.id, **lost)
            return
        fields = {
            "onset_ns": onset[0],
            "value": value,
            "setpoint": setpoint,
            "quality": quality,
            "priority": plan.priority.value,
            "message": plan.message,
        }
        alarm.is_active = turn == "raised"
        alarm.acknowledged_ns = 0
        if alarm.is_active:
            alarm.was_shown, alarm.onset_ns, alarm.true_ns = False, onset[0], t_ns
        if plan.priority is Priority.JOURNAL:
            kind = "condition.on" if alarm.is_active else "condition.off"
            self.say(t_ns, kind, plan.id, **fields)
        elif alarm.is_active:
            self.raised(t_ns, alarm, fields)
        else:
            self.cleared(t_ns, alarm, fields)

    def raised(self, t_ns: int, alarm: SlowAlarm, fields: dict[str, Any]) -> None:
        """It is there."""
        plan = alarm.plan
        alarm.needs_ack, alarm.is_latched = True, False
        alarm.was_shown = not alarm.is_hidden
        alarm.is_owed = alarm.is_owed or alarm.was_shown
        self.say(t_ns, "alarm.raised", plan.id, **fields, is_annunciated=alarm.was_shown)
        if plan.group and alarm.was_shown:
            came = self.came[plan.group]
            came.setdefault(plan.id, alarm.onset_ns - plan.lag_ns)
            came[plan.id] = min(came[plan.id], alarm.onset_ns - plan.lag_ns)

    def cleared(self, t_ns: int, alarm: SlowAlarm, fields: dict[str, Any]) -> None:
        """It is gone."""
        plan = alarm.plan
        alarm.is_latched = plan.is_latching
        if not plan.is_latching and (plan.clears_by_itself or not alarm.is_owed):
            alarm.needs_ack = alarm.is_owed = False
        self.say(t_ns, "alarm.cleared", plan.id, **fields, state=alarm.state)

    # Suppressed by design.

    def is_hidden_here(self, alarm: SlowAlarm) -> bool:
        """Whether phase or mode suppress an alarm."""
        names = alarm.plan.suppressed_in
        return self.place.mode in names or (self.place.phase in names and not self.has_lapsed)

    def cause_of(self, alarm: SlowAlarm) -> str:
        """Give the first alarm of the plan that stands and causes this one."""
        for one in self.alarms:
            if one.is_active and one.plan.id in alarm.plan.suppressed_by:
                return one.plan.id
        return ""

    def hide_and_show(self, t_ns: int, *, hides_only: bool = False) -> None:
        """Bring what is suppressed by design up to date."""
        for alarm in self.alarms:
            cause = self.cause_of(alarm)
            now = cause != "" or self.is_hidden_here(alarm)
            if hides_only and (alarm.is_suppressed or not now):
                continue
            old_cause, alarm.cause = alarm.cause, cause
            if now != alarm.is_suppressed:
                alarm.is_suppressed = now
                self.tell_of_hiding(t_ns, alarm, old_cause)

    def tell_of_hiding(self, t_ns: int, alarm: SlowAlarm, old_cause: str) -> None:
        """Write down what an alarm's suppression hides or shows, and what suppresses it."""
        if alarm.plan.priority is Priority.JOURNAL or alarm.state == "normal":
            return
        why = {"phase": self.place.phase}
        if self.place.mode:
            why["mode"] = self.place.mode
        if alarm.cause != old_cause:
            why = {"cause": alarm.cause or old_cause}
        kind = "alarm.suppressed" if alarm.is_suppressed else "alarm.unsuppressed"
        self.say(t_ns, kind, alarm.plan.id, **why, state=alarm.state)
        self.show(t_ns, alarm)

    # First-out.

    def see_who_was_first(self, t_ns: int) -> None:
        """Tell which of each group came first, when that is news."""
        for group, came in self.came.items():
            members = [self.named[name] for name in came]
            if not any((x.is_active or x.needs_ack) and not x.is_hidden for x in members):
                came.clear()
            self.tell_first(t_ns, group, came)

    def tell_first(self, t_ns: int, group: str, came: dict[str, int]) -> None:
        """Find the earliest, and those too near to it to be put in order."""
        first_ns = min(came.values(), default=0)
        order = [alarm.plan for alarm in self.alarms if alarm.plan.id in came]
        firsts = [plan for plan in order if came[plan.id] == first_ns]
        among = [
            plan.id
            for plan in order
            if any(
                came[plan.id] - first_ns <= max(plan.period_ns, first.period_ns)
                for first in firsts
            )
        ]
        if among and among != self.said[group]:
            subject = group if len(among) > 1 else among[0]
            others = ", ".join(among) if len(among) > 1 else ""
            fields = {"group": group, "onset_ns": first_ns, "with": others}
            self.say(t_ns, "alarm.first_out", subject, **fields)
        self.said[group] = among
        for alarm in self.alarms:
            if group and alarm.plan.group == group:
                mark = "first" if len(among) == 1 else "undetermined"
                alarm.first_out = mark if alarm.plan.id in among else ""
