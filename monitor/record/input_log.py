"""The input log: readings and controls as the pipeline was given them, in numbered files."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator
from pathlib import Path

import msgspec

from monitor.errors import RecordError
from monitor.record.disk import AppendFile, sync_folder
from monitor.record.frames import FrameKind, frame_bytes, run_seed
from monitor.record.payload import Pack

#: Raised when an older reader would misread the log.
LOG_VERSION = 1
#: Number of the first step of a run.
FIRST_STEP = 1
#: A layout is stated a second time after so many packs, so that one damaged frame loses
#: nothing else: before the encoder may replace it, which is after twice as many.
_SECOND_PACKS = 32
#: And from then on after so many.
_FURTHER_PACKS = 256
_NAME = re.compile(r"input-(\d+)\.log")


class FileHead(msgspec.Struct, frozen=True):
    """First frame of each file.

    Attributes:
        version: ``LOG_VERSION``.
        run: Name of the run; the checksums of all other frames depend on it.
        stand: Name of the stand.
        started_ns: Data time at which the run started.
        seq: Number of the step that follows.
        until_ns: W of the step before it.
        control_seq: Highest number of a control before it; -1 when there was none.
        journal_count: Lines in the journal before that step.
        journal_head: Hash of the last of them.
        state: The pipeline as it was before that step (``Pipeline.save``), so that a replay
            can start here; empty where the file only goes on after a failed write.
    """

    version: int
    run: str
    stand: str
    started_ns: int
    seq: int
    until_ns: int
    control_seq: int
    journal_count: int
    journal_head: str
    state: bytes


def log_files(folder: Path) -> list[Path]:
    """Give the files of an input log in their order."""
    found = {path: _NAME.fullmatch(path.name) for path in folder.glob("input-*.log")}
    return sorted((p for p, name in found.items() if name), key=_number)


class LogWriter:
    """Writes the files of one log; keeps what was not synced, to write it again.

    After an ``OSError`` from any call only :meth:`recover` and :meth:`close` may follow.
    What was given to :meth:`append` is not lost by it.
    """

    def __init__(self, folder: Path, run: str) -> None:
        """Write behind the files that are there; :meth:`start_file` must come first."""
        self._folder = folder
        self._seed = run_seed(run)
        self._file: AppendFile | None = None
        self._unsynced: list[Pack] = []
        #: Pack at which each layout is stated next.
        self._due: dict[int, int] = {}
        self._packs = 0
        self._is_broken = False
        self._closed_bytes = sum(path.stat().st_size for path in log_files(folder))

    @property
    def file_size(self) -> int:
        """Bytes in the present file."""
        return 0 if self._file is None else self._file.size

    @property
    def bytes_written(self) -> int:
        """Bytes in all files."""
        return self._closed_bytes + self.file_size

    @property
    def is_broken(self) -> bool:
        """Whether only :meth:`recover` can help."""
        return self._is_broken or self._file is None

    @property
    def unsynced_bytes(self) -> int:
        """Bytes that are kept in memory until the next sync."""
        return sum(len(pack.payload) for pack in self._unsynced)

    @property
    def first_unsynced(self) -> Pack | None:
        """The first pack that may not be on the disk."""
        return self._unsynced[0] if self._unsynced else None

    def start_file(self, head: FileHead) -> None:
        """Begin a new file; the present one is synced and closed first."""
        if self._file is not None:
            self.sync()
        self._open(head)

    def append(self, pack: Pack) -> None:
        """Write a pack, and before it the layouts that this file does not have yet."""
        self._unsynced.append(pack)
        self._write(pack)

    def sync(self) -> None:
        """Return when all that was appended is on the disk."""
        with self._watched():
            self._present().sync()
        self._unsynced.clear()

    def recover(self, head: FileHead) -> None:
        """After an error: write what was not synced into a new file, and sync it.

        A new file that fails too is removed: a full disk must not fill with attempts.
        """
        self._open(head)
        try:
            for pack in self._unsynced:
                self._write(pack)
            self.sync()
        except OSError:
            self._discard()
            raise

    def close(self) -> None:
        """Give the handle back, without a sync."""
        if self._file is not None:
            self._closed_bytes += self._file.size
            file, self._file = self._file, None
            file.close()

    def _open(self, head: FileHead) -> None:
        """Make the next file and write its head."""
        self.close()
        number = max((_number(path) for path in log_files(self._folder)), default=0) + 1
        self._file = AppendFile(self._folder / f"input-{number:03d}.log", is_new=True)
        try:
            payload = msgspec.msgpack.encode(head)
            self._file.write(frame_bytes(FrameKind.HEAD, head.seq, payload, self._seed))
            sync_folder(self._folder)
        except OSError:
            self._discard()
            raise
        self._due.clear()
        self._packs = 0
        self._is_broken = False

    def _discard(self) -> None:
        """Remove the present file."""
        file, self._file = self._present(), None
        with contextlib.suppress(OSError):
            file.path.unlink()
        file.close()

    def _write(self, pack: Pack) -> None:
        """Write a pack into the present file."""
        parts = []
        for layout in pack.layouts:
            due = self._due.get(layout.id)
            if due is None or self._packs >= due:
                wait = _SECOND_PACKS if due is None else _FURTHER_PACKS
                self._due[layout.id] = self._packs + wait
                parts.append(
                    frame_bytes(FrameKind.LAYOUT, pack.seq, layout.payload, self._seed)
                )
        parts.append(frame_bytes(FrameKind.PACK, pack.seq, pack.payload, self._seed))
        self._packs += 1
        with self._watched():
            self._present().write(b"".join(parts))

    @contextlib.contextmanager
    def _watched(self) -> Iterator[None]:
        """Note when the present file has failed."""
        try:
            yield
        except OSError:
            self._is_broken = True
            raise

    def _present(self) -> AppendFile:
        """Give the file that is open."""
        if self._file is None:
            raise RecordError(str(self._folder), "no file of the input log is open")
        return self._file


def _number(path: Path) -> int:
    """Give the number in a file's name."""
    return int(path.stem.removeprefix("input-"))
