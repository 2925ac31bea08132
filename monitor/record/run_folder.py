"""Run folders: their names, what is in them, and which runs there are."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

import msgspec

from monitor.errors import RecordError
from monitor.record.disk import sync_folder, take_lock, write_whole
from monitor.record.frame import Frame
from monitor.record.input_log import FileHead, log_files
from monitor.record.log_reader import read_head, read_log

STAND_FILE = "stand.toml"
JOURNAL_FILE = "journal.jsonl"
SUMMARY_FILE = "summary.json"
_NS_PER_S = 1_000_000_000
_UNSAFE = re.compile(r"[^A-Za-z0-9_.-]+")

#: ``recording``: a process writes it now. ``open``: it was never closed; the engine goes on
#: with it. ``closed``: it is complete.
RunState = Literal["recording", "open", "closed"]


@dataclass(frozen=True, slots=True)
class RunRow:
    """A run, for people.

    Attributes:
        folder: Where it is.
        stand: Name of the stand.
        started_ns: Data time of its start.
        duration_ns: From there to the newest W that is recorded.
        state: See :data:`RunState`.
        size_bytes: Everything in the folder.
        problem: Why it cannot be read; empty when it can.
    """

    folder: Path
    stand: str
    started_ns: int
    duration_ns: int
    state: RunState
    size_bytes: int
    problem: str = ""


@dataclass(frozen=True, slots=True)
class LogEnd:
    """How far an input log goes: what a writer that goes on with it must know.

    Attributes:
        head: Newest intact head.
        next_seq: Number of the step that would follow.
        until_ns: Newest W.
        control_seq: Highest number of a control; -1 when there was none.
    """

    head: FileHead
    next_seq: int
    until_ns: int
    control_seq: int


class _Summary(msgspec.Struct):
    """The part of a summary that this module reads."""

    closed: bool = False


def create_run_folder(run_dir: Path, stand: str, stand_text: str, started_ns: int) -> Path:
    """Make the folder of a new run, with the copy of its stand file.

    Raises:
        OSError: As the system says.
    """
    run_dir.mkdir(parents=True, exist_ok=True)
    name = run_folder_name(stand, started_ns)
    number = 1
    while True:
        folder = run_dir / (name if number == 1 else f"{name}-{number}")
        try:
            folder.mkdir()
            break
        except FileExistsError:
            number += 1
    write_whole(folder / STAND_FILE, stand_text.encode())
    sync_folder(run_dir)
    return folder


def run_folder_name(stand: str, started_ns: int) -> str:
    """Give a run its name, for example ``run-2026-11-24T210000Z-gondola``."""
    started = datetime.fromtimestamp(started_ns // _NS_PER_S, UTC)
    return f"run-{started:%Y-%m-%dT%H%M%SZ}-{_UNSAFE.sub('_', stand)}"


def list_runs(run_dir: Path) -> list[RunRow]:
    """Give every run in a folder, oldest first. A run that cannot be read is a row too."""
    if not run_dir.is_dir():
        return []
    rows = [_row(folder) for folder in run_dir.glob("run-*") if log_files(folder)]
    return sorted(rows, key=lambda row: (row.started_ns, row.folder.name))


def find_open(run_dir: Path, stand: str) -> Path | None:
    """Give the newest run of a stand that was never closed and that nobody writes."""
    rows = [row for row in list_runs(run_dir) if row.stand == stand and not row.problem]
    return rows[-1].folder if rows and rows[-1].state == "open" else None


def run_state(folder: Path) -> RunState:
    """Say whether a run is being written, was never closed, or is complete."""
    if is_locked(folder):
        return "recording"
    return "closed" if _is_closed(folder) else "open"


def log_end(folder: Path) -> LogEnd:
    """Find how far an input log goes, from its last files.

    Raises:
        RecordError: No head of the log is intact.
    """
    paths = log_files(folder)
    # What was written again may lie in the last two files; any head before them will do.
    head = next((found for path in reversed(paths) if (found := read_head(path))), None)
    if head is None:
        raise RecordError(str(folder), "no file of its input log has an intact head")
    end = LogEnd(head, head.seq, head.until_ns, head.control_seq)
    for item in read_log(folder, paths[-2:]):
        if isinstance(item, Frame):
            controls = [control.seq for control in item.controls]
            end = LogEnd(
                head=head,
                next_seq=max(end.next_seq, item.seq + 1),
                until_ns=max(end.until_ns, item.until_ns),
                control_seq=max([end.control_seq, *controls]),
            )
    return end


def write_summary(folder: Path, summary: Mapping[str, object]) -> None:
    """Write the summary, whole or not at all."""
    write_whole(
        folder / SUMMARY_FILE, msgspec.json.format(msgspec.json.encode(summary)) + b"\n"
    )


def is_locked(folder: Path) -> bool:
    """Whether some process writes this run: it holds a lock on the journal while it lives."""
    try:
        handle = os.open(folder / JOURNAL_FILE, os.O_RDONLY)
    except OSError:
        return False
    try:
        return not take_lock(handle, is_shared=True)
    finally:
        os.close(handle)


def _row(folder: Path) -> RunRow:
    """Look at one run."""
    size_bytes = sum(path.stat().st_size for path in folder.iterdir() if path.is_file())
    state = run_state(folder)
    try:
        end = log_end(folder)
    except RecordError as error:
        return RunRow(folder, "", 0, 0, state, size_bytes, error.why)
    head = end.head
    duration_ns = max(end.until_ns - head.started_ns, 0)
    return RunRow(folder, head.stand, head.started_ns, duration_ns, state, size_bytes)


def _is_closed(folder: Path) -> bool:
    """Whether the summary says that the run was closed."""
    try:
        data = (folder / SUMMARY_FILE).read_bytes()
        return msgspec.json.decode(data, type=_Summary).closed
    except (OSError, msgspec.DecodeError):
        return False
