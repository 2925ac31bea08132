"""Tests for monitor.record.input_log.

Source: hand-worked here.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from monitor.errors import RecordError
from monitor.record.disk import AppendFile
from monitor.record.frame import Frame
from monitor.record.frames import FrameKind, RawFrame, run_seed, scan
from monitor.record.input_log import LOG_VERSION, FileHead, LogWriter, log_files
from monitor.record.payload import Pack, PackEncoder

RUN = "run-2026-11-24T210000Z-gondola"
HEAD = FileHead(LOG_VERSION, RUN, "gondola", 5, 1, 5, -1, 0, "", b"state")


@pytest.fixture
def packs(make_frame: Callable[..., Frame]) -> list[Pack]:
    """Give packs of one step each, from step 1 on."""
    encoder = PackEncoder()
    return [encoder.encode([make_frame(seq)]) for seq in range(1, 200)]


def kinds(path: Path) -> list[tuple[FrameKind, int]]:
    """Give kind and sequence of each frame of a file, which must be intact."""
    pieces = list(scan(path.read_bytes(), run_seed(RUN)))
    assert all(isinstance(piece, RawFrame) for piece in pieces)
    return [(p.kind, p.seq) for p in pieces if isinstance(p, RawFrame)]


def failing(patch: pytest.MonkeyPatch, what: str, *, after: int = 0) -> None:
    """Let calls of a method of files fail, as on a full disk, after some that do not."""
    original = getattr(AppendFile, what)
    calls = iter(range(after))

    def fail(self: AppendFile, *args: bytes) -> None:
        if next(calls, None) is None:
            if args:
                original(self, args[0][: len(args[0]) // 2])
            raise OSError(28, "No space left on device")
        original(self, *args)

    patch.setattr(AppendFile, what, fail)


def test_a_file_holds_its_head_then_layouts_before_the_packs_that_need_them(
    tmp_path: Path, packs: list[Pack]
) -> None:
    log = LogWriter(tmp_path, RUN)
    log.start_file(HEAD)
    log.append(packs[0])
    log.append(packs[1])
    log.close()

    (path,) = log_files(tmp_path)
    assert path.name == "input-001.log"
    assert kinds(path) == [
        (FrameKind.HEAD, 1),
        (FrameKind.LAYOUT, 1),
        (FrameKind.PACK, 1),
        (FrameKind.PACK, 2),
    ]
    first = next(scan(path.read_bytes(), run_seed(RUN)))
    assert isinstance(first, RawFrame)
    assert msgspec.msgpack.decode(first.payload, type=FileHead) == HEAD


def test_each_file_states_its_layouts_anew_and_again_after_a_while(
    tmp_path: Path, packs: list[Pack]
) -> None:
    log = LogWriter(tmp_path, RUN)
    log.start_file(HEAD)
    for pack in packs[:63]:
        log.append(pack)
    log.start_file(msgspec.structs.replace(HEAD, seq=64))
    log.append(packs[63])
    log.close()

    stated = [
        [s for kind, s in kinds(p) if kind is FrameKind.LAYOUT] for p in log_files(tmp_path)
    ]
    assert stated == [[1, 33], [64]]


def test_files_are_taken_in_the_order_of_their_numbers(tmp_path: Path) -> None:
    for name in ("input-2.log", "input-1000.log", "input-010.log", "input-x.log", "other.log"):
        (tmp_path / name).touch()

    assert [path.name for path in log_files(tmp_path)] == [
        "input-2.log",
        "input-010.log",
        "input-1000.log",
    ]


def test_a_log_is_gone_on_with_in_a_file_of_its_own(tmp_path: Path, packs: list[Pack]) -> None:
    (tmp_path / "input-007.log").write_bytes(b"torn")
    log = LogWriter(tmp_path, RUN)
    log.start_file(HEAD)
    log.close()

    assert [path.name for path in log_files(tmp_path)] == ["input-007.log", "input-008.log"]
    assert log.bytes_written == sum(path.stat().st_size for path in log_files(tmp_path))


def test_what_was_not_synced_is_written_again_into_a_new_file(
    tmp_path: Path, packs: list[Pack], monkeypatch: pytest.MonkeyPatch
) -> None:
    log = LogWriter(tmp_path, RUN)
    log.start_file(HEAD)
    log.append(packs[0])
    log.sync()
    log.append(packs[1])
    with monkeypatch.context() as patch:
        failing(patch, "write")
        with pytest.raises(OSError, match="No space"):
            log.append(packs[2])
        assert log.is_broken
    first = log.first_unsynced
    assert first is not None
    assert first.seq == 2

    log.recover(msgspec.structs.replace(HEAD, seq=2))

    assert not log.is_broken
    assert log.first_unsynced is None
    log.close()
    assert kinds(log_files(tmp_path)[1]) == [
        (FrameKind.HEAD, 2),
        (FrameKind.LAYOUT, 2),
        (FrameKind.PACK, 2),
        (FrameKind.PACK, 3),
    ]


def test_a_failed_sync_breaks_the_file_too(
    tmp_path: Path, packs: list[Pack], monkeypatch: pytest.MonkeyPatch
) -> None:
    log = LogWriter(tmp_path, RUN)
    log.start_file(HEAD)
    log.append(packs[0])
    assert log.unsynced_bytes == len(packs[0].payload)
    with monkeypatch.context() as patch:
        failing(patch, "sync")
        with pytest.raises(OSError, match="No space"):
            log.sync()
    assert log.is_broken
    assert log.unsynced_bytes == len(packs[0].payload)

    log.recover(HEAD)
    log.close()

    assert log.unsynced_bytes == 0


@pytest.mark.parametrize("after", [0, 1, 2])
def test_a_disk_that_stays_full_does_not_fill_with_attempts(
    tmp_path: Path, packs: list[Pack], monkeypatch: pytest.MonkeyPatch, after: int
) -> None:
    log = LogWriter(tmp_path, RUN)
    log.start_file(HEAD)
    log.append(packs[0])
    log.append(packs[1])
    for _ in range(5):
        with monkeypatch.context() as patch:
            failing(patch, "write", after=after)
            with pytest.raises(OSError, match="No space"):
                log.recover(HEAD)
    assert log.is_broken
    assert len(log_files(tmp_path)) == 1

    log.recover(HEAD)
    log.close()

    assert [seq for kind, seq in kinds(log_files(tmp_path)[1]) if kind is FrameKind.PACK] == [
        1,
        2,
    ]
    assert log.bytes_written == sum(path.stat().st_size for path in log_files(tmp_path))


def test_nothing_can_be_written_before_a_file_was_started(
    tmp_path: Path, packs: list[Pack]
) -> None:
    log = LogWriter(tmp_path, RUN)

    assert log.is_broken
    assert log.file_size == 0
    with pytest.raises(RecordError, match="no file of the input log is open"):
        log.append(packs[0])
