"""Reading an input log: every step that is intact once, and all that is not accounted for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import msgspec

from monitor.errors import RecordError
from monitor.record.frame import Frame
from monitor.record.frames import Damage, FrameKind, RawFrame, head_of, run_seed, scan
from monitor.record.input_log import FIRST_STEP, LOG_VERSION, FileHead, log_files
from monitor.record.payload import PackDecoder


@dataclass(frozen=True, slots=True)
class LogDamage:
    """Bytes of a file that are no intact frame. *offset* and *length* are in bytes."""

    file: str
    offset: int
    length: int
    why: str


@dataclass(frozen=True, slots=True)
class MissingSteps:
    """Steps that no file holds: from *first* up to, not including, *end*."""

    first: int
    end: int


LogItem = FileHead | Frame | LogDamage | MissingSteps


def read_log(folder: Path, files: Sequence[Path] | None = None) -> Iterator[LogItem]:
    """Read a log from its beginning, or some neighbouring files of it.

    Of each file: its head, its damages, then its steps. Each step is given once and in order,
    whichever file has it intact: after a failed write the writer begins a new file and writes
    again what may not have reached the disk.

    Raises:
        RecordError: There is no log, or a newer version wrote it.
    """
    paths = log_files(folder) if files is None else list(files)
    if not paths:
        raise RecordError(str(folder), "no input log here; is it a run folder?")
    seed = run_seed(run_name(folder))
    reader = _Reader(FIRST_STEP if files is None else None)
    this = _Scanned(paths[0], seed)
    for path in paths[1:]:
        following = _Scanned(path, seed)
        yield from reader.read(this, following.first_seq)
        this = following
    yield from reader.read(this, None)


def read_head(path: Path) -> FileHead | None:
    """Give the head of a file of a log; None if it is damaged.

    Raises:
        RecordError: The file cannot be read, or a newer version wrote it.
    """
    return _decoded(path, head_of(_bytes_of(path)))


def run_name(folder: Path) -> str:
    """Give the name that a run had when it began: the folder may have another one by now."""
    for path in log_files(folder):
        head = read_head(path)
        if head is not None:
            return head.run
    return folder.name


class _Scanned:
    """A file in memory, in pieces."""

    def __init__(self, path: Path, seed: int) -> None:
        """Read it and check every frame."""
        data = _bytes_of(path)
        self.name = path.name
        self.head = _decoded(path, head_of(data))
        self.damages: list[Damage] = []
        self.layouts: list[RawFrame] = []
        self.packs: dict[int, RawFrame] = {}
        for piece in scan(data, seed):
            if isinstance(piece, Damage):
                self.damages.append(piece)
            elif piece.kind is FrameKind.LAYOUT:
                self.layouts.append(piece)
            elif piece.kind is FrameKind.PACK:
                self.packs[piece.seq] = piece
        self.first_seq = min(self.packs, default=None)


class _Reader:
    """Goes from file to file."""

    def __init__(self, expected: int | None) -> None:
        """Expect a step, or whichever comes first."""
        self._decoder = PackDecoder()
        self._expected = expected
        #: Packs of the file before that the present one may have again.
        self._carried: dict[int, RawFrame] = {}

    def read(self, file: _Scanned, end: int | None) -> Iterator[LogItem]:
        """Give what a file holds up to step *end*, where the next file takes over."""
        if file.head is not None:
            yield from self._missing_before(file.head.seq)
            yield file.head
        for damage in file.damages:
            yield LogDamage(file.name, damage.offset, damage.length, damage.why)
        for layout in file.layouts:
            self._decoder.add_layout(layout.payload)
        packs = self._carried | file.packs
        self._carried = {
            seq: raw for seq, raw in packs.items() if end is not None and seq >= end
        }
        for seq in sorted(packs.keys() - self._carried.keys()):
            yield from self._steps(file.name, packs[seq])

    def _steps(self, name: str, raw: RawFrame) -> Iterator[LogItem]:
        """Give the steps of a pack, and before them what is missing."""
        try:
            frames = self._decoder.decode(raw.payload)
        except RecordError as error:
            yield LogDamage(name, raw.offset, len(raw.payload), error.why)
            return
        yield from self._missing_before(frames[0].seq)
        for frame in frames:
            if frame.seq >= (self._expected or 0):
                yield frame
                self._expected = frame.seq + 1

    def _missing_before(self, seq: int) -> Iterator[LogItem]:
        """State what is missing when the next step is *seq*."""
        if self._expected is not None and seq > self._expected:
            yield MissingSteps(self._expected, seq)
        self._expected = max(seq, self._expected or 0)


def _bytes_of(path: Path) -> bytes:
    """Read a file of the log."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise RecordError(str(path), f"cannot be read: {error.strerror}") from error


def _decoded(path: Path, raw: RawFrame | None) -> FileHead | None:
    """Decode a head, if there is one."""
    if raw is None:
        return None
    try:
        head = msgspec.msgpack.decode(raw.payload, type=FileHead)
    except msgspec.DecodeError as error:
        raise RecordError(str(path), f"its head is of another kind: {error}") from error
    if head.version > LOG_VERSION:
        raise RecordError(str(path), f"written by a newer version (log version {head.version})")
    return head
