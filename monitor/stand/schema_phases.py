"""What may stand in a stand file about phases, modes, combinations and abort criteria."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta

from monitor.alarms.plan import Priority
from monitor.stand.schema import AlarmTable, Line, Name, Seconds, Span, Table, Text


class WhenTable(Table, frozen=True):
    """One condition of an automatic entry: exactly one of *above* and *below*."""

    tag: Name
    above: float | None = None
    below: float | None = None
    for_s: Seconds = 0.0
    deadband: Annotated[float, Meta(ge=0)] = 0.0


class EnterTable(Table, frozen=True):
    """How a phase is entered by itself: from one of *after*, when all of *when* stand."""

    after: list[Name]
    when: list[WhenTable]


class OverlongTable(Table, frozen=True):
    """What the alarm of a phase that lasts too long is to be, where not as it is by itself."""

    priority: Priority | None = None
    message: Line = ""
    response: Text = ""
    latch: bool = False


class PhaseTable(Table, frozen=True):
    """``[[phases]]``."""

    name: Name
    title: Line = ""
    note: Text = ""
    sort: Literal["test", "hold", "abort"] = "test"
    planned_s: Span | None = None
    longest_s: Span | None = None
    quiet: bool = False
    enter: EnterTable | None = None
    alarm: OverlongTable | None = None


class ModeTable(Table, frozen=True):
    """``[[modes]]``."""

    name: Name
    title: Line = ""
    note: Text = ""


class CombinationTable(AlarmTable, frozen=True, kw_only=True):
    """``[combinations.TAG]``: limits that must stand together."""

    priority: Priority
    when: Text
    inputs: dict[str, Name]
    title: Line = ""


class AbortTable(CombinationTable, frozen=True, kw_only=True):
    """``[abort.TAG]``: a combination at which the test is broken off."""

    safe_state: Annotated[str, Meta(min_length=1, max_length=400)]
    priority: Priority = Priority.TOP
    latch: bool = True
