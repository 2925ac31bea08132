"""Tests for monitor.run_figures.

Source: hand-worked here.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from monitor.errors import RecordError
from monitor.events import Event
from monitor.figures import RunJournal
from monitor.record.frame import Frame
from monitor.record.journal import JournalWriter
from monitor.record.run_folder import JOURNAL_FILE, write_summary
from monitor.record.writer import RunStart, RunWriter
from monitor.run_figures import ReadRun, notes_of, read_run

EVENTS = (
    Event(10, "run.started", "", {"detail": ""}),
    Event(20, "alarm.raised", "PT-1.high", {"priority": "low", "is_annunciated": True}),
)


def folder_with(folder: Path, events: Sequence[Event], *, is_closed: bool = True) -> Path:
    """Write a journal."""
    writer = JournalWriter(folder / JOURNAL_FILE, is_new=True)
    writer.append(events)
    writer.close()
    if is_closed:
        write_summary(folder, {"closed": True})
    return folder


def test_a_journal_gives_its_events(tmp_path: Path) -> None:
    read = read_run(folder_with(tmp_path, EVENTS))

    assert read.journal == RunJournal(tmp_path.name, 10, 20, EVENTS)
    assert read.is_sound


def test_the_input_log_tells_from_when_until_when_the_run_was_watched(tmp_path: Path) -> None:
    writer = RunWriter.create(tmp_path, RunStart("bench", "[stand]\n", 5, b""))
    writer.write([Frame(1, 900, (), (), 0, "")], EVENTS)
    writer.close({"closed": True})
    read = read_run(writer.folder)

    assert read.journal == RunJournal(writer.folder.name, 5, 900, EVENTS)
    assert (read.stand, read.notes) == ("bench", ())


def test_a_journal_that_goes_further_than_the_log_counts(tmp_path: Path) -> None:
    writer = RunWriter.create(tmp_path, RunStart("bench", "[stand]\n", 5, b""))
    writer.write([Frame(1, 15, (), (), 0, "")], EVENTS)
    writer.close({"closed": True})

    assert read_run(writer.folder).journal.end_ns == 20


def test_without_an_input_log_it_is_said_where_the_figures_end(tmp_path: Path) -> None:
    notes = read_run(folder_with(tmp_path, EVENTS)).notes

    assert len(notes) == 1
    assert notes[0].startswith("has no input log to read (")
    assert notes[0].endswith("): figures up to the last event")


def test_a_run_that_was_not_closed_says_so(tmp_path: Path) -> None:
    notes = read_run(folder_with(tmp_path, EVENTS, is_closed=False)).notes

    assert "was never closed: figures as far as its record goes" in notes


def test_a_run_that_is_being_recorded_says_so(tmp_path: Path) -> None:
    writer = JournalWriter(tmp_path / JOURNAL_FILE, is_new=True)
    writer.append(EVENTS)
    notes = read_run(tmp_path).notes
    writer.close()

    assert "is being recorded: figures up to now" in notes


def test_time_that_was_not_watched_is_told(tmp_path: Path) -> None:
    gaps = [
        Event(30, "run.resumed", "", {"detail": "", "gap_ns": 90 * 10**9}),
        Event(40, "run.resumed", "", {"detail": "", "gap_ns": 30 * 10**9}),
    ]
    notes = read_run(folder_with(tmp_path, [*EVENTS, *gaps])).notes

    assert "was not watched for 2 min 00 s, which counts as time here" in notes


def test_a_line_that_was_changed_is_told(tmp_path: Path) -> None:
    path = folder_with(tmp_path, EVENTS) / JOURNAL_FILE
    path.write_bytes(path.read_bytes().replace(b'"run.started"', b'"run.resumed"'))
    read = read_run(tmp_path)

    assert not read.is_sound
    assert "HAS A CHANGED JOURNAL: line 2: does not follow the line before it" in read.notes


def test_a_torn_end_is_left_out(tmp_path: Path) -> None:
    path = folder_with(tmp_path, EVENTS) / JOURNAL_FILE
    path.write_bytes(path.read_bytes() + b'{"n":3,"ti')

    assert read_run(tmp_path).journal.events == EVENTS


def test_a_folder_without_a_journal_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="cannot be read"):
        read_run(tmp_path)


def test_an_empty_journal_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="is empty"):
        read_run(folder_with(tmp_path, []))


@pytest.mark.parametrize("line", [b"no line\n", b'{"t_ns":1,"kind":"other","subject":""}\n'])
def test_a_line_that_cannot_be_read_is_named(line: bytes, tmp_path: Path) -> None:
    path = folder_with(tmp_path, EVENTS) / JOURNAL_FILE
    path.write_bytes(path.read_bytes() + line)

    with pytest.raises(RecordError, match="line 3 cannot be read"):
        read_run(tmp_path)


def run_of(name: str, stand: str, *notes: str) -> ReadRun:
    """Give a run of a stand."""
    return ReadRun(stand, RunJournal(name, 0, 1, ()), notes, is_sound=True)


def test_notes_name_their_run() -> None:
    runs = [run_of("run-a", "bench"), run_of("run-b", "bench", "is short", "is open")]

    assert notes_of(runs) == ["run-b is short", "run-b is open"]


def test_runs_of_several_stands_are_told() -> None:
    runs = [run_of("run-a", "loop"), run_of("run-b", "bench"), run_of("run-c", "")]

    assert notes_of(runs) == [
        "runs of several stands (bench, loop): alarms of one id are counted as one"
    ]
