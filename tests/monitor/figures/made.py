"""Journals for the tests of alarm figures: times in s from the start of a run at 0."""

from __future__ import annotations

from collections.abc import Iterable

from monitor.events import Event, EventKind, Field
from monitor.figures import RunJournal

S = 1_000_000_000
HOUR_S = 3600
DAY_S = 24 * HOUR_S


def at(t_s: float, kind: EventKind, subject: str, **fields: Field) -> Event:
    """Give an event."""
    return Event(round(t_s * S), kind, subject, fields)


def raised(
    t_s: float, subject: str = "a", priority: str = "low", *, is_annunciated: bool = True
) -> Event:
    """An alarm is raised."""
    return at(
        t_s, "alarm.raised", subject, priority=priority, is_annunciated=is_annunciated
    )  # fmt: skip


def cleared(t_s: float, subject: str = "a", state: str = "returned, unacknowledged") -> Event:
    """Its condition is gone."""
    return at(t_s, "alarm.cleared", subject, state=state)


def acknowledged(t_s: float, subject: str = "a", state: str = "acknowledged") -> Event:
    """Somebody acknowledged it."""
    return at(t_s, "alarm.acknowledged", subject, by="Vega", state=state)


def entered(t_s: float, phase: str) -> Event:
    """A phase is entered."""
    return at(t_s, "phase.entered", phase, by="Vega", reason="")


def journal(events: Iterable[Event], end_s: float, name: str = "run-a") -> RunJournal:
    """A run from 0 to *end_s*."""
    return RunJournal(name, 0, round(end_s * S), tuple(events))
