"""The title strip: which stand, what time, how long, which phase, and whether all is well."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.alarm_rows import AlarmRow, PriorityCount, alarm_summary
from monitor.display.state.connection import Freshness
from monitor.display.state.model import Model
from monitor.display.state.severity import Severity
from monitor.display.state.text import (
    bytes_text,
    clock_text,
    date_text,
    duration_text,
    plain_number,
)


@dataclass(frozen=True, slots=True)
class Fact:
    """A short text with how far from normal it is. *more* is for who looks closer."""

    text: str
    severity: Severity = Severity.CALM
    more: str = ""


@dataclass(frozen=True, slots=True)
class Strip:
    """What the strip says.

    Attributes:
        stand: Title of the stand.
        clock: Data time of day, UTC.
        date: Its date, UTC.
        run: How long the run has lasted.
        speed: ``x20`` when data time does not run at its natural speed, else empty.
        phase: Title of the phase.
        phase_for: How long it has lasted.
        phase_note: What is normal in it.
        recording: Whether readings are written down.
        link: Whether the engine and all instruments are heard.
        alarms: Counts by priority.
        inhibited: How many alarms are kept quiet by people or the phase.
    """

    stand: str
    clock: str
    date: str
    run: str
    speed: str
    phase: str
    phase_for: str
    phase_note: str
    recording: Fact
    link: Fact
    alarms: tuple[PriorityCount, ...]
    inhibited: int
    is_frozen: bool


def strip(model: Model, rows: tuple[AlarmRow, ...], now_ns: int, fresh: Freshness) -> Strip:
    """Build the strip at data time *now_ns*; the clocks stand while the engine is not heard."""
    info = model.index
    phase = info.phase.get(model.phase.name)
    speed = model.clock.speed
    return Strip(
        stand=info.stand.title or info.stand.name,
        clock=clock_text(now_ns),
        date=date_text(now_ns),
        run=duration_text(now_ns - model.started_ns),
        speed="" if speed == 1 else f"\N{MULTIPLICATION SIGN}{plain_number(speed)}",
        phase=info.phase_title(model.phase.name),
        phase_for=duration_text(now_ns - model.phase.since_ns),
        phase_note=phase.note if phase is not None else "",
        recording=recording_fact(model),
        link=link_fact(model, fresh),
        alarms=alarm_summary(rows),
        inhibited=sum(row.is_inhibited for row in rows),
        is_frozen=fresh.is_frozen,
    )


def recording_fact(model: Model) -> Fact:
    """Say whether readings are written down."""
    state = model.recording
    more = f"{state.folder}: {bytes_text(state.bytes_written)}"
    if state.state == "recording":
        return Fact("recording", Severity.CALM, more)
    if state.state == "closed":
        return Fact("run closed", Severity.DOUBT, more)
    return Fact("NOT RECORDING", Severity.BAD, f"{state.why} ({more})")


def link_fact(model: Model, fresh: Freshness) -> Fact:
    """Say whether the engine and all instruments are heard."""
    if fresh.is_frozen:
        return Fact("no engine", Severity.BAD, fresh.headline)
    down = [link for link in model.links.values() if not link.is_up]
    many = len(model.links)
    if not down:
        return Fact(f"all {many} links up" if many else "no instruments", Severity.CALM)
    more = "\n".join(f"{link.instrument}: {link.why}" for link in down)
    return Fact(f"{len(down)} of {many} links down", Severity.BAD, more)


def tone_fact(sounding: str, trouble: str, *, is_silenced: bool) -> Fact:
    """Say what the tone does. *trouble* tells why there is no sound device; empty when fine."""
    quiet = "tone silenced" if is_silenced else "tone ready"
    text = f"sounding: {sounding} priority" if sounding else quiet
    if trouble:
        return Fact(f"{text}, beeps only", Severity.DOUBT, trouble)
    return Fact(text, Severity.DOUBT if is_silenced and not sounding else Severity.CALM)
