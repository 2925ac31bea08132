"""Tests for monitor.record.writer.

Source: hand-worked here.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from monitor.errors import RecordError
from monitor.events import Event
from monitor.record.disk import AppendFile
from monitor.record.frame import Frame
from monitor.record.input_log import FileHead, log_files
from monitor.record.journal import verify
from monitor.record.log_reader import LogDamage, MissingSteps, read_log
from monitor.record.run_folder import run_state
from monitor.record.writer import RunStart, RunWriter

Make = Callable[..., Frame]
MakeEvent = Callable[[int], Event]
Flat = Callable[[Frame], object]

START_NS = 1_795_000_000_000_000_000


def started(run_dir: Path) -> RunWriter:
    """Begin a run."""
    return RunWriter.create(run_dir, RunStart("gondola", "[stand]\n", START_NS, b"at start"))


def frames_of(folder: Path) -> list[Frame]:
    """Give the steps of a log, which must have no gap."""
    items = list(read_log(folder))
    assert not any(isinstance(item, LogDamage | MissingSteps) for item in items)
    return [item for item in items if isinstance(item, Frame)]


def heads_of(folder: Path) -> list[FileHead]:
    """Give the heads of a log."""
    return [item for item in read_log(folder) if isinstance(item, FileHead)]


def failing(patch: pytest.MonkeyPatch, what: str, names: Sequence[str]) -> None:
    """Let a method of files fail for files whose name begins so."""
    original = getattr(AppendFile, what)

    def fail(self: AppendFile, *args: bytes) -> None:
        if self.path.name.startswith(tuple(names)):
            if args:
                original(self, args[0][: len(args[0]) // 2])
            raise OSError(28, "No space left on device")
        original(self, *args)

    patch.setattr(AppendFile, what, fail)


def test_a_run_begins_with_its_stand_and_a_head(tmp_path: Path) -> None:
    writer = started(tmp_path)
    writer.abandon()

    names = sorted(path.name for path in writer.folder.iterdir())
    assert names == ["input-001.log", "journal.jsonl", "stand.toml"]
    (head,) = heads_of(writer.folder)
    assert (head.run, head.stand) == (writer.folder.name, "gondola")
    assert (head.started_ns, head.seq, head.until_ns) == (START_NS, 1, START_NS)
    assert (head.control_seq, head.state) == (-1, b"at start")


def test_each_step_says_where_the_journal_stood_before_it(
    tmp_path: Path, make_frame: Make, make_event: MakeEvent, flat: Flat
) -> None:
    writer = started(tmp_path)
    writer.write([make_frame(1), make_frame(2)], [make_event(1), make_event(2)])
    head = verify(writer.folder / "journal.jsonl").head
    writer.write([make_frame(3)])
    writer.write([], [make_event(3)])
    writer.write([make_frame(4)])
    writer.close({"closed": True})

    frames = frames_of(writer.folder)
    assert [flat(frame) for frame in frames] == [flat(make_frame(seq)) for seq in (1, 2, 3, 4)]
    assert [frame.journal_count for frame in frames] == [0, 0, 2, 3]
    assert [frame.journal_head for frame in frames[:3]] == ["", "", head]


def test_the_summary_comes_last(tmp_path: Path, make_frame: Make) -> None:
    writer = started(tmp_path)
    writer.write([make_frame(1)])
    assert not (writer.folder / "summary.json").exists()

    writer.close({"closed": True, "rows": 5})

    text = (writer.folder / "summary.json").read_text(encoding="utf-8")
    assert json.loads(text) == {"closed": True, "rows": 5}
    assert run_state(writer.folder) == "closed"


def test_a_run_that_could_not_be_closed_is_free_to_be_gone_on_with(
    tmp_path: Path, make_frame: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    writer = started(tmp_path)
    writer.write([make_frame(1)])
    with monkeypatch.context() as patch:
        failing(patch, "sync", ["input"])
        with pytest.raises(OSError, match="No space"):
            writer.close({"closed": True})

    assert run_state(writer.folder) == "open"


def test_nothing_counts_as_synced_before_it_is(tmp_path: Path, make_frame: Make) -> None:
    writer = started(tmp_path)
    writer.write([make_frame(1)])
    before = writer.synced_until_ns
    writer.sync()
    writer.abandon()

    assert before == START_NS
    assert writer.synced_until_ns == writer.until_ns == make_frame(1).until_ns


def test_a_new_file_brings_the_state_to_start_from(
    tmp_path: Path, make_frame: Make, make_event: MakeEvent
) -> None:
    writer = started(tmp_path)
    writer.write([make_frame(seq) for seq in (1, 2, 3, 4)], [make_event(1)])
    writer.start_file(b"after four")
    writer.write([make_frame(5)])
    writer.abandon()

    head = heads_of(writer.folder)[1]
    assert (head.seq, head.until_ns, head.control_seq) == (5, make_frame(4).until_ns, 4)
    assert (head.state, head.journal_count) == (b"after four", 1)
    assert head.journal_head == verify(writer.folder / "journal.jsonl").head
    assert [frame.seq for frame in frames_of(writer.folder)] == [1, 2, 3, 4, 5]
    assert writer.bytes_written == sum(
        path.stat().st_size for path in writer.folder.iterdir() if path.name != "stand.toml"
    )


def test_a_full_file_is_told(
    tmp_path: Path, make_frame: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("monitor.record.writer.FILE_BYTES", 2000)
    writer = started(tmp_path)
    assert not writer.is_file_full
    for seq in range(1, 40):
        writer.write([make_frame(seq, rows=50)])
    full = writer.is_file_full
    writer.start_file(b"")
    writer.abandon()

    assert full
    assert not writer.is_file_full


def test_what_is_kept_for_writing_again_is_bounded_by_a_sync(
    tmp_path: Path, make_frame: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("monitor.record.writer._MAX_UNSYNCED_BYTES", 1)
    writer = started(tmp_path)
    writer.write([make_frame(1)])
    writer.abandon()

    assert writer.synced_until_ns == make_frame(1).until_ns


@pytest.mark.parametrize("what", ["write", "sync"])
@pytest.mark.parametrize("names", [["input"], ["journal"], ["input", "journal"]])
def test_after_a_failure_nothing_is_lost_and_nothing_is_twice(
    tmp_path: Path,
    make_frame: Make,
    make_event: MakeEvent,
    flat: Flat,
    monkeypatch: pytest.MonkeyPatch,
    what: str,
    names: list[str],
) -> None:
    writer = started(tmp_path)
    writer.write([make_frame(1)], [make_event(1)])
    writer.sync()
    writer.write([make_frame(2)], [make_event(2)])
    with monkeypatch.context() as patch:
        failing(patch, what, names)

        def write_and_sync() -> None:
            writer.write([make_frame(3)], [make_event(3)])
            writer.sync()

        with pytest.raises(OSError, match="No space"):
            write_and_sync()
        with pytest.raises(OSError, match="No space"):
            writer.recover()
    writer.recover()
    writer.write([make_frame(4)], [make_event(4)])
    writer.close({})

    steps = [item for item in read_log(writer.folder) if isinstance(item, Frame)]
    assert [flat(step) for step in steps] == [flat(make_frame(seq)) for seq in (1, 2, 3, 4)]
    check = verify(writer.folder / "journal.jsonl")
    assert (check.count, check.broken_line, check.torn_bytes) == (4, 0, 0)
    # Where the log failed it went on in a new file, and left none behind from failed attempts.
    assert len(log_files(writer.folder)) == (2 if "input" in names else 1)
    assert writer.synced_until_ns == make_frame(4).until_ns


def test_a_run_is_gone_on_with_where_it_was_left(
    tmp_path: Path, make_frame: Make, make_event: MakeEvent
) -> None:
    first = started(tmp_path)
    first.write([make_frame(seq) for seq in (1, 2, 3, 4)], [make_event(1)])
    first.abandon()
    log = log_files(first.folder)[0]
    log.write_bytes(log.read_bytes() + b"\xf7\x96 torn")
    journal = first.folder / "journal.jsonl"
    journal.write_bytes(journal.read_bytes() + b'{"n":2,')

    second = RunWriter.resume(first.folder, b"where it was")

    assert (second.next_seq, second.control_seq) == (5, 4)
    assert (second.until_ns, second.torn_bytes) == (make_frame(4).until_ns, 7)
    second.write([make_frame(5)], [make_event(2)])
    second.close({"closed": True})
    frames = [item for item in read_log(first.folder) if isinstance(item, Frame)]
    assert [frame.seq for frame in frames] == [1, 2, 3, 4, 5]
    assert frames[4].journal_count == 1
    head = heads_of(first.folder)[1]
    assert (head.state, head.journal_count, head.seq) == (b"where it was", 1, 5)
    assert (head.run, head.started_ns) == (first.folder.name, START_NS)
    assert verify(journal).broken_line == 0


def test_a_run_that_lost_its_journal_can_be_gone_on_with(
    tmp_path: Path, make_frame: Make
) -> None:
    first = started(tmp_path)
    first.abandon()
    (first.folder / "journal.jsonl").unlink()

    second = RunWriter.resume(first.folder, b"")
    second.abandon()

    assert (second.folder / "journal.jsonl").exists()


def test_a_run_is_written_by_one_process_only(tmp_path: Path) -> None:
    writer = started(tmp_path)

    with pytest.raises(RecordError, match="another process is recording this run"):
        RunWriter.resume(writer.folder, b"")
    writer.abandon()


def test_a_folder_that_is_no_run_is_left_free(tmp_path: Path) -> None:
    (tmp_path / "journal.jsonl").touch()
    for _ in range(2):
        with pytest.raises(RecordError, match="no file of its input log has an intact head"):
            RunWriter.resume(tmp_path, b"")


def test_a_full_disk_at_the_start_leaves_no_handle(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        failing(patch, "write", ["input"])
        with pytest.raises(OSError, match="No space"):
            started(tmp_path)

    (folder,) = tmp_path.iterdir()
    assert run_state(folder) == "open"
