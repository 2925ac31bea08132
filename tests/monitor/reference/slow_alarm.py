"""One alarm and the journal, slow and plain: what the slow alarms are made of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.events import Action, Event


@dataclass
class SlowAlarm:
    """One alarm: needs acknowledging, is latched, and is set aside or not."""

    plan: Alarm
    is_active: bool = False
    needs_ack: bool = False
    is_latched: bool = False
    is_suppressed: bool = False
    #: The alarm whose consequence it is, when it is one.
    cause: str = ""
    is_out: bool = False
    shelf_ns: int = 0
    was_shown: bool = False
    #: People saw it, in this occurrence or an earlier one, and nobody has acknowledged since.
    is_owed: bool = False
    onset_ns: int = 0
    true_ns: int = 0
    acknowledged_ns: int = 0
    first_out: str = ""

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

    @property
    def realarm_ns(self) -> int:
        """When it is annunciated anew; 0 for not."""
        is_due = self.is_active and self.acknowledged_ns and self.plan.realarm_ns
        return self.acknowledged_ns + self.plan.realarm_ns if is_due else 0


class SlowBook:
    """Every alarm of a stand, and the journal."""

    def __init__(self, plan: AlarmsPlan) -> None:
        self.plan = plan
        self.alarms = [SlowAlarm(one) for one in plan.alarms]
        self.named = {alarm.plan.id: alarm for alarm in self.alarms}
        self.events: list[Event] = []

    def show(self, t_ns: int, alarm: SlowAlarm) -> None:
        """Show what was hidden until now."""
        if alarm.is_shown and not alarm.was_shown:
            alarm.was_shown = True
            alarm.is_owed = alarm.is_owed or alarm.needs_ack
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
