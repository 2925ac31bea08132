"""Reads what the alarm figures of a run are made from: its journal, and how far it goes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import msgspec

from monitor.display.state.text import duration_text
from monitor.errors import RecordError
from monitor.events import Event
from monitor.figures import RunJournal
from monitor.record.journal import read_lines, verify
from monitor.record.run_folder import JOURNAL_FILE, log_end, run_state

_STATE_TEXT = {
    "recording": "is being recorded: figures up to now",
    "open": "was never closed: figures as far as its record goes",
}


@dataclass(frozen=True, slots=True)
class ReadRun:
    """A run's journal as read.

    Attributes:
        stand: Name of the stand; empty where only the journal is left.
        journal: For the figures.
        notes: What must be known beside them, for a person.
        is_sound: Whether the journal's chain holds.
    """

    stand: str
    journal: RunJournal
    notes: tuple[str, ...]
    is_sound: bool


def read_run(folder: Path) -> ReadRun:
    """Read the journal of a run.

    Raises:
        RecordError: There is no journal, or a line of it cannot be read.
    """
    path = folder / JOURNAL_FILE
    events = [_event(path, n, line) for n, line in enumerate(read_lines(path)[0], 1)]
    if not events:
        raise RecordError(str(path), "is empty")
    start_ns, end_ns, stand, notes = events[0].t_ns, events[-1].t_ns, "", []
    try:
        end = log_end(folder)
        start_ns, end_ns = end.head.started_ns, max(end.until_ns, end_ns)
        stand = end.head.stand
    except RecordError as error:
        notes.append(f"has no input log to read ({error.why}): figures up to the last event")
    state = run_state(folder)
    notes += [_STATE_TEXT[state]] if state in _STATE_TEXT else []
    notes += _gaps(events)
    check = verify(path)
    if check.broken_line:
        notes.append(f"HAS A CHANGED JOURNAL: line {check.broken_line}: {check.why}")
    journal = RunJournal(folder.name, start_ns, end_ns, tuple(events))
    return ReadRun(stand, journal, tuple(notes), is_sound=not check.broken_line)


def notes_of(runs: Sequence[ReadRun]) -> list[str]:
    """Give what must be known beside the figures of some runs together."""
    notes = [f"{run.journal.name} {note}" for run in runs for note in run.notes]
    stands = sorted({run.stand for run in runs if run.stand})
    if len(stands) > 1:
        names = ", ".join(stands)
        notes.append(f"runs of several stands ({names}): alarms of one id are counted as one")
    return notes


def _event(path: Path, number: int, line: bytes) -> Event:
    """Read a line."""
    try:
        return msgspec.json.decode(line, type=Event)
    except msgspec.DecodeError as error:
        raise RecordError(str(path), f"line {number} cannot be read ({error})") from error


def _gaps(events: Sequence[Event]) -> list[str]:
    """Tell how long nobody watched, between a death of the watch and going on."""
    gaps = [event.fields.get("gap_ns") for event in events if event.kind == "run.resumed"]
    gap_ns = sum(gap for gap in gaps if isinstance(gap, int))
    if not gap_ns:
        return []
    return [f"was not watched for {duration_text(gap_ns)}, which counts as time here"]
