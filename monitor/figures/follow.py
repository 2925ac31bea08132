"""From the journal of a run to what its alarms did.

An activation is the moment at which an alarm is shown to people: ``alarm.raised`` of one that
nothing inhibits, or ``alarm.annunciated`` of one that was inhibited before. An alarm shown anew
because it went on standing (``alarm.realarmed``) is counted apart, and what is only written
down (``condition.on``) never.
"""

from __future__ import annotations

from collections.abc import Sequence
from operator import attrgetter

from monitor.events import Event
from monitor.figures.one_alarm import OneAlarm
from monitor.figures.stretch import Stretch

_TIME = attrgetter("t_ns")


def follow(name: str, events: Sequence[Event], start_ns: int, end_ns: int) -> Stretch:
    """Give what the alarms of a run did.

    Args:
        name: Of the run.
        events: Its journal, by time; those of one time in the journal's order.
        start_ns: Data time of the run's start.
        end_ns: Data time up to which it is known.
    """
    found: dict[str, OneAlarm] = {}
    for event in events:
        if event.kind.startswith("alarm."):
            alarm = found.get(event.subject)
            if alarm is None:
                alarm = found[event.subject] = OneAlarm(event.subject)
            alarm.take(event)
    alarms = [found[subject] for subject in sorted(found)]
    for alarm in alarms:
        alarm.end(end_ns)
    return Stretch(
        run=name,
        start_ns=start_ns,
        end_ns=end_ns,
        activations=tuple(sorted((x for a in alarms for x in a.activations), key=_TIME)),
        answers=tuple(sorted((x for a in alarms for x in a.answers), key=_TIME)),
        marks=tuple(sorted((x for a in alarms for x in a.marks), key=_TIME)),
        shown=tuple(x for a in alarms for x in a.shown.done),
        standing=tuple(x for a in alarms for x in a.standing.done),
        waiting=tuple(x for a in alarms for x in a.waiting.done),
    )
