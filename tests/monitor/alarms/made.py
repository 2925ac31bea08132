"""Stages of a few alarms, and what happens to them, as the tests of alarms need them."""

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
SECOND = "B. Voss"


def alarm(id_: str = HIGH, priority: Priority = Priority.HIGH, **more: object) -> Alarm:
    """Make an alarm."""
    return Alarm(id_, id_.split(".")[0], priority, "too high", **more)  # type: ignore[arg-type]


def alarms(*, is_latching: bool = False, priority: Priority = Priority.HIGH) -> Alarms:
    """Make a stage of one alarm that the climb suppresses."""
    one = alarm(priority=priority, is_latching=is_latching, suppressed_in=frozenset({"climb"}))
    return Alarms(AlarmsPlan((one,), ("ground", "climb")), 0)


def stage_of(*rows: Alarm, modes: tuple[str, ...] = ()) -> Alarms:
    """Make a stage of several alarms, on a stand with a ground, a climb and a hold."""
    return Alarms(AlarmsPlan(rows, ("ground", "climb", "hold"), modes), 0)


def edge(t_s: float, turn: Turn, limit: int = 0, *, onset_s: float | None = None) -> Edge:
    """Make an edge of the alarm at a position; its onset is a moment before it."""
    t_ns = round(t_s * S)
    onset_ns = t_ns - 5 if onset_s is None else round(onset_s * S)
    return Edge(t_ns, limit, turn, onset_ns, 151.0, 0, 150.0)


def raised(t_s: float, limit: int = 0, *, onset_s: float | None = None) -> Edge:
    """Make an edge: the condition stands."""
    return edge(t_s, Turn.RAISED, limit, onset_s=onset_s)


def cleared(t_s: float, limit: int = 0) -> Edge:
    """Make an edge: the condition is gone."""
    return edge(t_s, Turn.CLEARED, limit)


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


def told(events: Sequence[Event]) -> list[tuple[str, str]]:
    """Give the kinds of events without what they are sorted by, and their subjects."""
    return [(event.kind.removeprefix("alarm."), event.subject) for event in events]
