"""What the parts of the alarm stage share: plan, status of each alarm, events of the step."""

from __future__ import annotations

from monitor.alarms.plan import AlarmsPlan
from monitor.alarms.status import AlarmStatus
from monitor.events import Action, Event, EventKind, Field


class Book:
    """The alarms of a stand as they stand, and what is to be told of them.

    Attributes:
        plan: What it was made from.
        status: One row for each alarm of the plan.
        position: Position of each alarm by its id.
        touched: Alarms that may stand differently since :attr:`touched` was last emptied.
    """

    def __init__(self, plan: AlarmsPlan) -> None:
        """Start with every alarm normal and nothing to tell."""
        self.plan = plan
        self.status = [AlarmStatus(alarm.id) for alarm in plan.alarms]
        self.position = {alarm.id: i for i, alarm in enumerate(plan.alarms)}
        self.touched: set[int] = set()
        self._changed: set[int] = set()
        self._events: list[Event] = []

    def say(self, t_ns: int, kind: EventKind, subject: str, fields: dict[str, Field]) -> None:
        """Add an event."""
        self._events.append(Event(t_ns, kind, subject, fields))

    def refuse(self, t_ns: int, action: Action, why: str, *, subject: str = "") -> None:
        """Write down that an action was not possible; *subject* is one of several."""
        fields: dict[str, Field] = {"verb": action.verb, "by": action.by, "why": why}
        self.say(t_ns, "action.refused", subject or action.subject, fields)

    def add(self, event: Event) -> None:
        """Add an event that is made already."""
        self._events.append(event)

    def touch(self, i: int) -> None:
        """Note that something about an alarm changed."""
        self._changed.add(i)
        self.touched.add(i)

    def take(self) -> tuple[tuple[Event, ...], tuple[int, ...]]:
        """Give the events and the changed alarms since this was last asked."""
        events, changed = tuple(self._events), tuple(sorted(self._changed))
        self._events, self._changed = [], set()
        return events, changed
