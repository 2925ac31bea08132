"""A stage of one alarm, and what happens to it, as the tests of alarms need them."""

from __future__ import annotations

from collections.abc import Sequence

from monitor.alarms.items import Item, Moved
from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.alarms.stage import Alarms
from monitor.events import Action, Control, Event, Verb
from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import Place

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


def enter(t_s: float, phase: str, mode: str = "", *, reason: str = "") -> Moved:
    """Enter a phase, or with a mode that mode in it."""
    place = Place(phase, mode)
    return Moved(round(t_s * S), "mode" if mode else "phase", place, BY, reason)


def in_order(items: Sequence[Item]) -> list[Item]:
    """Put items in the order in which the pipeline hands them over."""
    return sorted(items, key=lambda item: (item.t_ns, isinstance(item, Edge)))


def run(
    stage: Alarms, items: Sequence[Item], until_s: float = 100, quality: int = 0
) -> list[Event]:
    """Run one step."""
    until_ns = round(until_s * S)
    events, _ = stage.step(in_order(items), until_ns, lambda _i, _t: quality)
    return list(events)


def kinds(events: Sequence[Event]) -> list[str]:
    """Give the kinds of events."""
    return [event.kind for event in events]
