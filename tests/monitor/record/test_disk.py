"""Tests for monitor.record.disk.

Source: hand-worked here.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from monitor.record.disk import AppendFile, free_bytes, sync_folder, take_lock, write_whole


def test_what_is_written_is_appended(tmp_path: Path) -> None:
    path = tmp_path / "a"
    for part, is_new in ((b"one", True), (b"two", False)):
        file = AppendFile(path, is_new=is_new)
        file.write(part)
        file.sync()
        file.close()

    assert path.read_bytes() == b"onetwo"
    assert file.size == 6


def test_a_new_file_never_takes_the_place_of_an_old_one(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"old")

    with pytest.raises(FileExistsError):
        AppendFile(tmp_path / "a", is_new=True)
    with pytest.raises(FileNotFoundError):
        AppendFile(tmp_path / "b", is_new=False)


def test_a_write_that_the_system_splits_is_finished(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write = os.write
    monkeypatch.setattr("os.write", lambda handle, data: write(handle, bytes(data[:2])))
    file = AppendFile(tmp_path / "a", is_new=True)
    file.write(b"seven b")
    file.close()

    assert (tmp_path / "a").read_bytes() == b"seven b"
    assert file.size == 7


def test_a_cut_file_goes_on_at_the_cut(tmp_path: Path) -> None:
    file = AppendFile(tmp_path / "a", is_new=True)
    file.write(b"12345")
    file.cut(2)
    file.write(b"x")
    file.close()
    file.close()

    assert (tmp_path / "a").read_bytes() == b"12x"
    assert file.size == 3


def test_a_failed_sync_is_told(tmp_path: Path) -> None:
    reading, writing = os.pipe()
    file = AppendFile(tmp_path / "a", is_new=True)
    os.dup2(writing, file.fileno)
    try:
        with pytest.raises(OSError, match="Invalid argument"):
            file.sync()
    finally:
        file.close()
        os.close(reading)
        os.close(writing)


def test_a_whole_file_replaces_the_old_one_and_leaves_no_draft(tmp_path: Path) -> None:
    (tmp_path / ".a.part").write_bytes(b"left by a kill")
    (tmp_path / "a").write_bytes(b"old")

    write_whole(tmp_path / "a", b"new")

    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"a": b"new"}


def test_a_whole_file_that_fails_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fdatasync", fail)
    (tmp_path / "a").write_bytes(b"old")

    with pytest.raises(OSError, match="No space"):
        write_whole(tmp_path / "a", b"new")
    assert (tmp_path / "a").read_bytes() == b"old"


def test_names_can_be_synced(tmp_path: Path) -> None:
    with pytest.raises(NotADirectoryError):
        sync_folder(Path(__file__))
    sync_folder(tmp_path)


def test_room_is_told_in_bytes(tmp_path: Path) -> None:
    assert (
        0
        < free_bytes(tmp_path)
        == pytest.approx(os.statvfs(tmp_path).f_bavail * os.statvfs(tmp_path).f_frsize, rel=0.1)
    )


def test_a_lock_is_gone_with_the_process_that_took_it(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.touch()
    script = (
        "import sys; from monitor.record.disk import *; from pathlib import Path\n"
        "file = AppendFile(Path(sys.argv[1]), is_new=False)\n"
        "print(take_lock(file.fileno), flush=True); sys.stdin.read()"
    )
    ours = AppendFile(path, is_new=False)
    child = subprocess.Popen(
        [sys.executable, "-c", script, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        cwd=Path(__file__).parents[3],
    )
    try:
        assert child.stdout is not None
        assert child.stdout.readline() == b"True\n"

        assert not take_lock(ours.fileno)
        assert not take_lock(ours.fileno, is_shared=True)
    finally:
        child.kill()
        child.communicate()
    assert take_lock(ours.fileno)
    ours.close()
