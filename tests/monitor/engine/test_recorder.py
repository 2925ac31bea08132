"""Tests for monitor.engine.recorder.

Source: hand-worked here. The full disk is a real one, a small tmpfs, where the tests may mount
one; elsewhere writes are refused as a full disk refuses them.
"""

from __future__ import annotations

import contextlib
import dataclasses
import errno
import json
import os
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from drivers.reading import Block
from monitor.engine.recorder import Pace, Recorder
from monitor.events import Event
from monitor.record.frame import Frame
from monitor.record.input_log import FileHead
from monitor.record.journal import verify
from monitor.record.log_reader import MissingSteps, read_log
from monitor.record.run_folder import run_state
from monitor.record.writer import RunStart, RunWriter
from monitor.samples import Admitted

START_NS = 1_795_000_000_000_000_000
STEP_NS = 100_000_000
#: Fast, so that the tests are; a full disk of 1 MB has room again from 64 kB on.
PACE = Pace(pack_s=0.01, sync_s=0.05, retry_s=0.05, room_bytes=64 << 10, close_s=20.0)


def frame_of(seq: int, rows: int = 10) -> Frame:
    """Give a step whose readings follow from its number, and do not compress."""
    t_ns = START_NS + (seq - 1) * STEP_NS + np.arange(1, rows + 1) * 1000
    values = np.random.default_rng(seq).normal(size=(rows, 4))
    block = Block("panel", ("a", "b", "c", "d"), t_ns, values)
    return Frame(seq, START_NS + seq * STEP_NS, (Admitted(block),), (), 0, "")


def event_of(seq: int) -> Event:
    """Give the event of a step."""
    return Event(START_NS + seq * STEP_NS, "action.note", str(seq))


class Told:
    """What the recorder called back."""

    def __init__(self) -> None:
        self.stopped: list[str] = []
        self.resumed: list[tuple[int, int]] = []

    def on_stopped(self, why: str) -> None:
        self.stopped.append(why)

    def on_resumed(self, gap_ns: int, lost_frames: int) -> None:
        self.resumed.append((gap_ns, lost_frames))


class SmallDisk:
    """A disk of 1 MB that a test can fill."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._ballast = folder / "ballast"

    def fill(self) -> None:
        with self._ballast.open("ab", buffering=0) as file:
            for size in (4096, 1):
                with contextlib.suppress(OSError):
                    while True:
                        file.write(bytes(size))

    def make_little_room(self) -> None:
        os.truncate(self._ballast, self._ballast.stat().st_size - (32 << 10))

    def make_room(self) -> None:
        self._ballast.unlink()


class PretendedDisk(SmallDisk):
    """The same where nothing can be mounted: every write is refused while it is full."""

    def __init__(self, folder: Path, patch: pytest.MonkeyPatch) -> None:
        super().__init__(folder)
        self._patch = patch

    def fill(self) -> None:
        def refuse(handle: int, data: bytes) -> int:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        self._patch.setattr("os.write", refuse)
        self._patch.setattr("monitor.engine.recorder.free_bytes", lambda _: 0)

    def make_little_room(self) -> None:
        self._patch.undo()
        self._patch.setattr("monitor.engine.recorder.free_bytes", lambda _: 32 << 10)

    def make_room(self) -> None:
        self._patch.undo()


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[SmallDisk]:
    """Give a small disk."""
    mount = ["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(tmp_path)]
    try:
        is_mounted = subprocess.run(mount, capture_output=True, check=False).returncode == 0
    except FileNotFoundError:
        is_mounted = False
    if not is_mounted:
        with pytest.MonkeyPatch.context() as patch:
            yield PretendedDisk(tmp_path, patch)
        return
    try:
        yield SmallDisk(tmp_path)
    finally:
        subprocess.run(["umount", str(tmp_path)], check=True)


@pytest.fixture
def told() -> Told:
    """Give what is called back."""
    return Told()


Begin = Callable[..., tuple[Recorder, Path]]


@pytest.fixture
def begin(told: Told) -> Iterator[Begin]:
    """Give what begins a run: its recorder and its folder."""
    begun = []

    def make(run_dir: Path, pace: Pace = PACE) -> tuple[Recorder, Path]:
        writer = RunWriter.create(run_dir, RunStart("gondola", "", START_NS, b"start"))
        begun.append(Recorder(writer, told.on_stopped, told.on_resumed, pace))
        return begun[-1], writer.folder

    yield make
    for recorder in begun:
        recorder.close(None)


def until(condition: Callable[[], object], within_s: float = 10.0) -> None:
    """Wait until something is so."""
    end_s = time.monotonic() + within_s
    while not condition():
        assert time.monotonic() < end_s, "it did not come"
        time.sleep(0.005)


def steps_in(folder: Path) -> list[int]:
    """Give the numbers of the steps that can be read."""
    return [item.seq for item in read_log(folder) if isinstance(item, Frame)]


def subjects_in(folder: Path) -> list[str]:
    """Give the subjects of the journal's lines, whose chain must hold."""
    check = verify(folder / "journal.jsonl")
    assert (check.broken_line, check.torn_bytes) == (0, 0)
    lines = (folder / "journal.jsonl").read_bytes().splitlines()
    return [json.loads(line)["subject"] for line in lines]


def test_what_is_put_is_written_and_the_run_closed(
    tmp_path: Path, begin: Begin, told: Told
) -> None:
    recorder, folder = begin(tmp_path)
    for seq in range(1, 101):
        recorder.put(frame_of(seq), [event_of(seq)] if seq % 10 == 0 else [])

    assert recorder.close({"rows": 1000})

    assert steps_in(folder) == list(range(1, 101))
    assert subjects_in(folder) == [str(seq) for seq in range(10, 101, 10)]
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    assert summary == {"rows": 1000, "closed": True}
    state = recorder.state()
    assert (state.state, state.why, state.folder) == ("closed", "", str(folder))
    assert state.synced_until_ns == frame_of(100).until_ns
    assert state.bytes_written > 100 * 10 * 4 * 8
    assert (told.stopped, told.resumed) == ([], [])


def test_steps_are_synced_by_themselves(tmp_path: Path, begin: Begin, told: Told) -> None:
    recorder, folder = begin(tmp_path)
    recorder.put(frame_of(1), [])

    until(lambda: recorder.state().synced_until_ns == frame_of(1).until_ns)

    assert recorder.state().state == "recording"
    assert steps_in(folder) == [1]
    recorder.close(None)


def test_an_event_is_written_at_once_and_readings_are_packed(
    tmp_path: Path, begin: Begin, told: Told
) -> None:
    slow = Pace(pack_s=3600, sync_s=3600)
    recorder, folder = begin(tmp_path, slow)
    recorder.put(frame_of(1), [])
    recorder.put(frame_of(2), [])
    time.sleep(0.05)
    assert steps_in(folder) == []

    recorder.put(frame_of(3), [event_of(3)])

    until(lambda: subjects_in(folder) == ["3"])
    assert steps_in(folder) == [1, 2, 3]
    recorder.close(None)


def test_a_run_can_be_left_open(tmp_path: Path, begin: Begin, told: Told) -> None:
    recorder, folder = begin(tmp_path)
    recorder.put(frame_of(1), [event_of(1)])

    assert recorder.close(None)

    assert run_state(folder) == "open"
    assert not (folder / "summary.json").exists()
    assert (steps_in(folder), subjects_in(folder)) == ([1], ["1"])


def test_a_new_file_begins_with_the_state_that_was_asked_for(
    tmp_path: Path, begin: Begin, told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("monitor.record.writer.FILE_BYTES", 5000)
    recorder, folder = begin(tmp_path)
    assert not recorder.wants_state
    seq = 0
    while not recorder.wants_state:
        seq += 1
        recorder.put(frame_of(seq), [])
        time.sleep(0.002)

    recorder.put(frame_of(seq + 1), [], b"asked for")
    recorder.put(frame_of(seq + 2), [])

    assert recorder.close({})
    heads = [item for item in read_log(folder) if isinstance(item, FileHead)]
    assert [(head.seq, head.state) for head in heads] == [
        (1, b"start"),
        (seq + 2, b"asked for"),
    ]
    assert steps_in(folder) == list(range(1, seq + 3))
    assert not recorder.wants_state


def test_a_full_disk_stops_the_recording_and_room_resumes_it_without_a_loss(
    disk: SmallDisk, begin: Begin, told: Told
) -> None:
    recorder, folder = begin(disk.folder)
    recorder.put(frame_of(1), [event_of(1)])
    until(lambda: recorder.state().synced_until_ns == frame_of(1).until_ns)
    disk.fill()
    for seq in range(2, 40):
        recorder.put(frame_of(seq, rows=100), [event_of(seq)] if seq % 3 == 0 else [])
    until(lambda: told.stopped)
    stopped = recorder.state()
    time.sleep(4 * PACE.retry_s)
    assert told.resumed == []
    disk.make_room()

    until(lambda: told.resumed)
    recorder.put(frame_of(40), [])

    assert recorder.close({})
    assert (stopped.state, "No space left" in stopped.why) == ("stopped", True)
    assert told.stopped == [stopped.why]
    assert told.resumed == [(0, 0)]
    assert steps_in(folder) == list(range(1, 41))
    assert subjects_in(folder) == ["1", *(str(seq) for seq in range(3, 40, 3))]
    assert run_state(folder) == "closed"


def test_a_little_room_is_not_enough_to_go_on_with(
    disk: SmallDisk, begin: Begin, told: Told
) -> None:
    recorder, _ = begin(disk.folder)
    disk.fill()
    recorder.put(frame_of(1, rows=500), [])
    until(lambda: told.stopped)
    disk.make_little_room()
    # It would stop again at once, and ring the alarm each time.
    time.sleep(4 * PACE.retry_s)
    before = list(told.resumed)
    disk.make_room()

    until(lambda: told.resumed)

    assert before == []
    assert len(told.stopped) == 1


def test_events_do_not_make_it_try_more_often(
    tmp_path: Path, begin: Begin, told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    recorder, folder = begin(tmp_path, dataclasses.replace(PACE, retry_s=3600))
    attempts: list[int] = []
    with monkeypatch.context() as patch:

        def refuse(handle: int, data: bytes) -> int:
            attempts.append(handle)
            raise OSError(errno.EIO, "Input/output error")

        patch.setattr("os.write", refuse)
        recorder.put(frame_of(1), [])
        until(lambda: told.stopped)
        for seq in range(2, 20):
            recorder.put(frame_of(seq), [event_of(seq)])
        time.sleep(0.1)
    assert len(attempts) == 1

    # Closing tries once more, and loses nothing.
    assert recorder.close({})
    assert steps_in(folder) == list(range(1, 20))


def test_it_is_told_to_have_resumed_when_everything_is_on_the_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[int] = []
    stopped: list[str] = []
    writer = RunWriter.create(tmp_path, RunStart("gondola", "", START_NS, b""))
    pace = dataclasses.replace(PACE, sync_s=3600)

    def on_resumed(gap_ns: int, lost_frames: int) -> None:
        told.append(recorder.state().synced_until_ns)

    recorder = Recorder(writer, stopped.append, on_resumed, pace)
    with monkeypatch.context() as patch:

        def refuse(handle: int, data: bytes) -> int:
            raise OSError(errno.EIO, "Input/output error")

        patch.setattr("os.write", refuse)
        recorder.put(frame_of(1), [])
        until(lambda: stopped)
        recorder.put(frame_of(2), [])
    until(lambda: told)

    recorder.close(None)
    assert told == [frame_of(2).until_ns]


def test_what_does_not_fit_into_memory_while_the_disk_is_full_is_a_gap_that_is_stated(
    disk: SmallDisk, begin: Begin, told: Told
) -> None:
    size = 1000 + 10 * 5 * 8
    pace = dataclasses.replace(PACE, most_bytes=8 * size)
    recorder, folder = begin(disk.folder, pace)
    recorder.put(frame_of(1), [])
    until(lambda: recorder.state().synced_until_ns == frame_of(1).until_ns)
    disk.fill()
    recorder.put(frame_of(2, rows=200), [event_of(2)])
    until(lambda: told.stopped)
    for seq in range(3, 30):
        recorder.put(frame_of(seq), [event_of(seq)] if seq in (5, 28) else [])
    assert recorder.wants_state
    recorder.put(frame_of(30), [], b"state")
    assert not recorder.wants_state
    lost = recorder.gauges()["frames lost"]
    disk.make_room()
    until(lambda: told.resumed)
    recorder.put(frame_of(31), [])

    assert recorder.close({})

    # Step 2 was in the writer's hands; of the others the newest seven and the state fit.
    assert lost == 21
    assert told.resumed == [(21 * STEP_NS, 21)]
    items = list(read_log(folder))
    assert steps_in(folder) == [1, 2, *range(24, 32)]
    assert [item for item in items if isinstance(item, MissingSteps)] == [MissingSteps(3, 24)]
    heads = [item for item in items if isinstance(item, FileHead)]
    assert (heads[-1].seq, heads[-1].state, heads[-1].journal_count) == (31, b"state", 3)
    assert subjects_in(folder) == ["2", "5", "28"]
    assert recorder.gauges()["frames lost"] == 21
    assert recorder.gauges()["recording stops"] == 1


def test_a_run_that_ends_on_a_full_disk_says_so(
    disk: SmallDisk, begin: Begin, told: Told
) -> None:
    recorder, folder = begin(disk.folder)
    disk.fill()
    recorder.put(frame_of(1, rows=500), [])
    until(lambda: told.stopped)

    is_closed = recorder.close({})
    disk.make_room()

    assert not is_closed
    assert recorder.state().state == "stopped"
    assert run_state(folder) == "open"


def test_a_disk_that_does_not_answer_counts_as_stopped_until_it_does(
    tmp_path: Path, begin: Begin, told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer, is_asked = threading.Event(), threading.Event()
    sync = os.fdatasync

    def hang(handle: int) -> None:
        is_asked.set()
        answer.wait(20)
        sync(handle)

    recorder, folder = begin(tmp_path, dataclasses.replace(PACE, hung_s=0.1))
    monkeypatch.setattr("os.fdatasync", hang)
    recorder.put(frame_of(1), [])
    assert is_asked.wait(10)
    time.sleep(0.15)
    began_s = time.monotonic()
    recorder.put(frame_of(2), [])
    took_s = time.monotonic() - began_s
    recorder.put(frame_of(3), [])
    hung = recorder.state()
    answer.set()

    until(lambda: told.resumed)

    assert recorder.close({})
    assert took_s < 0.05
    assert hung.state == "stopped"
    assert told.stopped == ["the disk has not answered for 0 s"]
    assert told.resumed == [(0, 0)]
    assert steps_in(folder) == [1, 2, 3]


def test_a_disk_that_is_too_slow_loses_readings_and_says_so(
    tmp_path: Path, begin: Begin, told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer, is_asked = threading.Event(), threading.Event()
    sync = os.fdatasync

    def hang(handle: int) -> None:
        is_asked.set()
        answer.wait(20)
        sync(handle)

    recorder, folder = begin(tmp_path, dataclasses.replace(PACE, most_bytes=3000))
    monkeypatch.setattr("os.fdatasync", hang)
    recorder.put(frame_of(1), [])
    assert is_asked.wait(10)
    for seq in range(2, 10):
        recorder.put(frame_of(seq), [])
    answer.set()
    until(lambda: told.resumed)

    assert recorder.close({})
    assert told.stopped == ["the disk takes readings more slowly than they come"]
    assert told.resumed == [(6 * STEP_NS, 6)]
    assert steps_in(folder) == [1, 8, 9]


def test_closing_does_not_wait_for_ever_for_a_disk_that_does_not_answer(
    tmp_path: Path, begin: Begin, told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer = threading.Event()
    sync = os.fdatasync

    def hang(handle: int) -> None:
        answer.wait(20)
        sync(handle)

    recorder, _ = begin(tmp_path, dataclasses.replace(PACE, close_s=0.1))
    monkeypatch.setattr("os.fdatasync", hang)
    recorder.put(frame_of(1), [])

    is_closed = recorder.close({})
    answer.set()

    assert not is_closed
    until(lambda: recorder.state().state == "closed")


@pytest.mark.expects_warnings
def test_a_fault_of_the_recorder_itself_is_seen_and_harms_nobody_else(
    tmp_path: Path, begin: Begin, told: Told
) -> None:
    recorder, folder = begin(tmp_path)
    recorder.put(frame_of(2), [])
    recorder.put(frame_of(2), [])
    until(lambda: told.stopped)
    recorder.put(frame_of(3), [])

    assert not recorder.close({})
    assert "please report this" in told.stopped[0]
    assert recorder.state().state == "stopped"
    assert run_state(folder) == "open"
