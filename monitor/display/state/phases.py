"""Phases and modes for people: how long, how long yet, and what enters them."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.fact import Fact
from monitor.display.state.model import Model
from monitor.display.state.severity import Severity
from monitor.display.state.text import NS, duration_text, span_text
from monitor.link.messages import PhaseInfo

_SORT_TEXT = {"hold": "hold", "abort": "abort"}


@dataclass(frozen=True, slots=True)
class PhaseRow:
    """A phase or a mode to choose.

    Attributes:
        name: Word of the stand file.
        title: For people.
        planned: How long it is meant to last and how long it may; empty where nobody said.
        left: For the present one: how long it has lasted, and how long yet.
        sort: ``hold``, ``abort``, ``only safety alarms speak``; empty for a plain phase.
        entry: What enters it by itself; empty where only a person does.
        note: What is normal in it.
        is_now: The test is in it.
    """

    name: str
    title: str
    planned: str
    left: str
    sort: str
    entry: str
    note: str
    is_now: bool


def phase_rows(model: Model, now_ns: int) -> tuple[PhaseRow, ...]:
    """List the phases in the order of the stand."""
    return tuple(_phase_row(model, info, now_ns) for info in model.index.stand.phases)


def _phase_row(model: Model, info: PhaseInfo, now_ns: int) -> PhaseRow:
    """Build the row of one phase."""
    is_now = info.name == model.phase.name
    sort = [_SORT_TEXT.get(info.sort, "")]
    sort += ["only safety alarms speak"] if info.is_quiet else []
    planned = [span_text(round(info.planned_s))] if info.planned_s else []
    planned += [f"at most {span_text(round(info.longest_s))}"] if info.longest_s else []
    return PhaseRow(
        name=info.name,
        title=info.title or info.name,
        planned=", ".join(planned),
        left=_left_text(model, info, now_ns) if is_now else "",
        sort=", ".join(word for word in sort if word),
        entry=info.entry,
        note=info.note,
        is_now=is_now,
    )


def _left_text(model: Model, info: PhaseInfo, now_ns: int) -> str:
    """Say how long the present phase has lasted, and how long it has yet."""
    lasting_ns = now_ns - model.phase.since_ns
    told = f"now, for {duration_text(lasting_ns)}"
    if model.phase.is_lapsed:
        return f"{told}, too long"
    if not info.planned_s:
        return told
    left_ns = round(info.planned_s * NS) - lasting_ns
    if left_ns < 0:
        return f"{told}, {duration_text(-left_ns)} over the plan"
    return f"{told}, {duration_text(left_ns)} left"


def mode_rows(model: Model, now_ns: int) -> tuple[PhaseRow, ...]:
    """List the modes in the order of the stand."""
    since_ns = model.phase.mode_since_ns
    return tuple(
        PhaseRow(
            name=info.name,
            title=info.title or info.name,
            planned="",
            left=f"now, for {duration_text(now_ns - since_ns)}" if is_now else "",
            sort="",
            entry="",
            note=info.note,
            is_now=is_now,
        )
        for info in model.index.stand.modes
        for is_now in (info.name == model.phase.mode,)
    )


def phase_fact(model: Model) -> Fact:
    """Name the phase for the title strip; one that has lapsed says so."""
    info = model.index.phase.get(model.phase.name)
    title, note = model.index.phase_title(model.phase.name), info.note if info else ""
    if model.phase.is_lapsed:
        more = f"{title} lasts longer than it may: what it suppresses speaks again.\n{note}"
        return Fact(f"{title}, TOO LONG", Severity.BAD, more)
    if info is not None and info.is_quiet:
        more = f"Only alarms that concern safety speak.\n{note}".rstrip()
        return Fact(f"{title} (quiet)", Severity.DOUBT, more)
    return Fact(title, Severity.CALM, note)


def phase_time(model: Model, now_ns: int) -> str:
    """Say how long the phase has lasted, of how long it is meant to."""
    lasting_ns = now_ns - model.phase.since_ns
    info = model.index.phase.get(model.phase.name)
    if info is None or not info.planned_s:
        return duration_text(lasting_ns)
    planned = span_text(round(info.planned_s))
    minutes = lasting_ns // (60 * NS)
    if planned.endswith(" min"):
        return f"{minutes} of {planned}"
    return f"{duration_text(lasting_ns)} of {planned}"


def mode_fact(model: Model) -> Fact | None:
    """Name the mode; None where the stand has none."""
    if not model.index.stand.modes:
        return None
    info = model.index.mode.get(model.phase.mode)
    return Fact(
        model.index.mode_title(model.phase.mode), Severity.CALM, info.note if info else ""
    )
