"""The title strip: which stand, what time, how long, which phase, and whether all is well."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.alarm_rows import AlarmRow, PriorityCount, alarm_summary
from monitor.display.state.connection import Freshness
from monitor.display.state.fact import Fact
from monitor.display.state.model import Model
from monitor.display.state.phases import mode_fact, phase_fact, phase_time
from monitor.display.state.register import inhibited_count
from monitor.display.state.severity import Severity
from monitor.display.state.text import (
    age_text,
    bytes_text,
    clock_text,
    date_text,
    duration_text,
    plain_number,
)


@dataclass(frozen=True, slots=True)
class Strip:
    """What the strip says.

    Attributes:
        stand: Title of the stand.
        clock: Data time of day, UTC.
        date: Its date, UTC.
        run: How long the run has lasted.
        speed: ``x20`` when data time does not run at its natural speed, else empty.
        phase: The phase, and what is normal in it.
        phase_for: How long it has lasted, and of how long where that is planned.
        mode: The mode beside it; None where the stand has none.
        mode_for: How long it has lasted.
        recording: Whether readings are written down.
        link: Whether the engine and all instruments are heard.
        alarms: Counts by priority.
        inhibited: How many things stand in the register.
    """

    stand: str
    clock: str
    date: str
    run: str
    speed: str
    phase: Fact
    phase_for: str
    mode: Fact | None
    mode_for: str
    recording: Fact
    link: Fact
    alarms: tuple[PriorityCount, ...]
    inhibited: Fact
    is_frozen: bool


def strip(model: Model, rows: tuple[AlarmRow, ...], now_ns: int, fresh: Freshness) -> Strip:
    """Build the strip at data time *now_ns*; the clocks stand while the engine is not heard."""
    info = model.index
    speed = model.clock.speed
    return Strip(
        stand=info.stand.title or info.stand.name,
        clock=clock_text(now_ns),
        date=date_text(now_ns),
        run=duration_text(now_ns - model.started_ns),
        speed="" if speed == 1 else f"\N{MULTIPLICATION SIGN}{plain_number(speed)}",
        phase=phase_fact(model),
        phase_for=phase_time(model, now_ns),
        mode=mode_fact(model),
        mode_for=age_text(now_ns - model.phase.mode_since_ns),
        recording=recording_fact(model, fresh),
        link=link_fact(model, fresh),
        alarms=alarm_summary(rows),
        inhibited=inhibited_fact(model),
        is_frozen=fresh.is_frozen,
    )


def inhibited_fact(model: Model) -> Fact:
    """Say how much is inhibited now."""
    count = inhibited_count(model)
    more = "What is shelved, suppressed, out of service, edited, forced, overdue or asleep."
    return Fact(f"{count}", Severity.DOUBT if count else Severity.CALM, more)


def recording_fact(model: Model, fresh: Freshness) -> Fact:
    """Say whether readings are written down."""
    state = model.recording
    more = f"{state.folder}: {bytes_text(state.bytes_written)}"
    if state.state == "recording" and fresh.is_frozen:
        return Fact("not known", Severity.DOUBT, f"Last heard: recording. {more}")
    if state.state == "recording":
        return Fact("recording", Severity.CALM, more)
    if state.state == "closed":
        return Fact("run closed", Severity.DOUBT, more)
    return Fact("NOT RECORDING", Severity.BAD, f"{state.why} ({more})")


def link_fact(model: Model, fresh: Freshness) -> Fact:
    """Say whether the engine and all instruments are heard."""
    if fresh.is_frozen:
        return Fact("no watch", Severity.BAD, fresh.headline)
    down = [link for link in model.links.values() if not link.is_up]
    many = len(model.links)
    if not down:
        fine = f"all {many} links up" if many > 1 else "link up"
        return Fact(fine if many else "no instruments", Severity.CALM)
    more = "\n".join(f"{link.instrument}: {link.why}" for link in down)
    text = f"{len(down)} of {many} links down" if many > 1 else "link down"
    return Fact(text, Severity.BAD, more)


def tone_fact(sounding: str, trouble: str, *, is_silenced: bool) -> Fact:
    """Say what the tone does. *trouble* tells why there is no sound device; empty when fine."""
    quiet = "tone silenced" if is_silenced else "tone ready"
    text = f"sounding: {sounding} priority" if sounding else quiet
    if trouble:
        return Fact(f"{text}, beeps only", Severity.DOUBT, trouble)
    return Fact(text, Severity.DOUBT if is_silenced and not sounding else Severity.CALM)
