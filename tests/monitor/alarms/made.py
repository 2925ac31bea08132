"""A stage of one alarm, and what happens to it, as the tests of alarms need them."""

from __future__ import annotations

from collections.abc import Sequence

from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.alarms.stage import Alarms
from monitor.events import Action, Control, Event, Verb
from monitor.limits.edges import Edge, Turn

S = 1_000_000_000
HIGH = "PT-1.high"
BY = "A. Marl"


def alarms(*, is_latching: bool = False, priority: Priority = Priority.HIGH) -> Alarms:
    """Make a stage of one alarm that the climb suppresses."""
    alarm = Alarm(HIGH, "PT-1", priority, "too high", "vent", is_latching, frozenset({"climb"}))
    return Alarms(AlarmsPlan((alarm,), ("ground", "climb")), 0)


def edge(t_s: float, turn: Turn) -> Edge:
    """Make an edge of that alarm."""
    return Edge(round(t_s * S), 0, turn, round(t_s * S) - 5, 151.0, 0, 150.0)


def act(t_s: float, verb: Verb, subject: str = HIGH, **more: object) -> Control:
    """Make an action of a person."""
    return Control(round(t_s * S), 0, Action(verb, subject, BY, **more))  # type: ignore[arg-type]


def run(
    stage: Alarms, items: Sequence[Edge | Control], until_s: float = 100, quality: int = 0
) -> list[Event]:
    """Run one step."""
    edges = [item for item in items if isinstance(item, Edge)]
    controls = [item for item in items if isinstance(item, Control)]
    events, _ = stage.step(edges, controls, round(until_s * S), lambda _i, _t: quality)
    return list(events)


def kinds(events: Sequence[Event]) -> list[str]:
    """Give the kinds of events."""
    return [event.kind for event in events]
