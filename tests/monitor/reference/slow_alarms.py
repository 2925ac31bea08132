"""Alarms once more, slow and plain: what people are told, one thing after the other."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.events import Action, Event
from monitor.limits.plan import Place
from monitor.samples import QUALITY_TEXT
from tests.monitor.reference.slow_channels import Sample

Onset = tuple[int, float, int, float]
#: Gives the newest sample of the channel behind an alarm, by its position.
HeldOf = Callable[[int], Sample]


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


class SlowAlarms:
    """Every alarm of a stand, and the journal."""

    def __init__(self, plan: AlarmsPlan, place: Place, held_of: HeldOf) -> None:
        self.plan = plan
        self.held_of = held_of
        self.place = place
        self.alarms = [SlowAlarm(one) for one in plan.alarms]
        for alarm in self.alarms:
            alarm.is_suppressed = place.is_in(alarm.plan.suppressed_in)
        self.events: list[Event] = []

    def dues(self) -> list[int]:
        """Give every instant at which something falls due by itself."""
        return [one.shelf_ns for one in self.alarms if one.shelf_ns]

    def fall_due(self, t_ns: int) -> None:
        """Do what is due."""
        for alarm in self.alarms:
            if 0 < alarm.shelf_ns <= t_ns:
                self.unshelve(t_ns, alarm, "end of its time")

    def act(self, t_ns: int, action: Action) -> None:
        """A person acts on alarms."""
        if action.subject == "*":
            if action.verb not in ("acknowledge", "reset"):
                self.refuse(t_ns, action, f"no alarm {action.subject!r} on this stand")
                return
            chosen = [alarm for alarm in self.alarms if alarm.is_shown]
        else:
            chosen = [alarm for alarm in self.alarms if alarm.plan.id == action.subject]
        for alarm in chosen:
            getattr(self, action.verb)(t_ns, alarm, action)

    def go(self, t_ns: int, place: Place) -> None:
        """Be in another phase or mode: show and hide."""
        self.place = place
        for alarm in self.alarms:
            now = place.is_in(alarm.plan.suppressed_in)
            if now == alarm.is_suppressed:
                continue
            alarm.is_suppressed = now
            if alarm.plan.priority is Priority.JOURNAL or alarm.state == "normal":
                continue
            kind = "alarm.suppressed" if now else "alarm.unsuppressed"
            self.say(t_ns, kind, alarm.plan.id, phase=place.phase, state=alarm.state)
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
        held = self.held_of(self.alarms.index(alarm))
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

    def edge(self, t_ns: int, position: int, turn: str, onset: Onset) -> None:
        """A limit turned."""
        alarm = self.alarms[position]
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
