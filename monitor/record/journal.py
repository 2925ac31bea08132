"""The journal: one event a line, each with the hash of the line before.

A line that is changed, taken out or put in breaks the chain from there on. The input log
repeats the hash of the newest line, so that cutting lines off at the end shows too.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import msgspec

from monitor.errors import RecordError
from monitor.events import Event, Field
from monitor.record.disk import AppendFile, take_lock

_NS_PER_S = 1_000_000_000


class JournalLine(msgspec.Struct, frozen=True):
    """A line as written.

    Attributes:
        n: Number of the line, from 1.
        time: Data time in UTC, for people.
        t_ns: The same in ns since the Unix epoch.
        kind: What happened.
        subject: To what.
        fields: What else belongs to it.
        prev: SHA-256 of the line before, hexadecimal; empty in the first line.
    """

    n: int
    time: str
    t_ns: int
    kind: str
    subject: str
    fields: dict[str, Field]
    prev: str


@dataclass(frozen=True, slots=True)
class JournalCheck:
    """What a look at a journal gave.

    Attributes:
        count: Whole lines.
        head: Hash of the last of them.
        broken_line: First line that does not fit the chain; 0 when all do.
        why: What is wrong with it.
        torn_bytes: Bytes behind the last whole line, as a kill or a power cut leaves them.
    """

    count: int
    head: str
    broken_line: int
    why: str
    torn_bytes: int


class Chain:
    """Makes lines, each bound to the one before."""

    def __init__(self, count: int = 0, head: str = "") -> None:
        """Go on behind *count* lines, the last of which has the hash *head*."""
        self.count = count
        self.head = head

    def line(self, event: Event) -> bytes:
        """Make the next line, without its newline."""
        made = JournalLine(
            n=self.count + 1,
            time=iso_time(event.t_ns),
            t_ns=event.t_ns,
            kind=event.kind,
            subject=event.subject,
            fields=event.fields,
            prev=self.head,
        )
        data = msgspec.json.encode(made)
        self.count += 1
        self.head = line_hash(data)
        return data


class JournalWriter:
    """Appends to a journal; keeps what was not synced, to write it again.

    After an ``OSError`` from any call only :meth:`recover` and :meth:`close` may follow.
    What was given to :meth:`append` is not lost by it.
    """

    def __init__(self, path: Path, *, is_new: bool) -> None:
        """Begin a journal, or go on with one: a torn end is cut off.

        The journal stays locked until :meth:`close`: two writers would break the chain.

        Raises:
            OSError: As the system says.
            RecordError: Another process writes it.
        """
        self._file = AppendFile(path, is_new=is_new)
        try:
            if not take_lock(self._file.fileno):
                raise RecordError(str(path), "another process is recording this run")
            self._chain, self.torn_bytes = (Chain(), 0) if is_new else _go_on(path, self._file)
        except (OSError, RecordError):
            self._file.close()
            raise
        self._synced_size = self._file.size
        self._unsynced = bytearray()

    @property
    def count(self) -> int:
        """Lines so far."""
        return self._chain.count

    @property
    def head(self) -> str:
        """Hash of the last line."""
        return self._chain.head

    @property
    def size(self) -> int:
        """Bytes so far."""
        return self._file.size

    def append(self, events: Sequence[Event]) -> None:
        """Write events down."""
        data = b"".join(self._chain.line(event) + b"\n" for event in events)
        self._unsynced += data
        self._file.write(data)

    def sync(self) -> None:
        """Return when all that was appended is on the disk."""
        if self._unsynced:
            self._file.sync()
            self._synced_size = self._file.size
            self._unsynced.clear()

    def recover(self) -> None:
        """After an error: write again what was not synced."""
        self._file.cut(self._synced_size)
        self._file.write(bytes(self._unsynced))
        self._file.sync()
        self._synced_size = self._file.size
        self._unsynced.clear()

    def close(self) -> None:
        """Give the handle back, without a sync."""
        self._file.close()


def read_lines(path: Path) -> tuple[list[bytes], int]:
    """Give the whole lines of a journal without their newlines, and how many bytes are torn.

    Torn is what stands behind the last newline, and lines at the end with zero bytes in them:
    a power cut leaves both, and no writer.

    Raises:
        RecordError: It cannot be read.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise RecordError(str(path), f"cannot be read: {error.strerror}") from error
    *lines, rest = data.split(b"\n")
    torn_bytes = len(rest)
    while lines and b"\0" in lines[-1]:
        torn_bytes += len(lines.pop()) + 1
    return lines, torn_bytes


def verify(path: Path) -> JournalCheck:
    """Check the chain of a journal from its first line.

    Raises:
        RecordError: It cannot be read.
    """
    lines, torn_bytes = read_lines(path)
    head, broken_line, why = "", 0, ""
    for number, line in enumerate(lines, 1):
        if not broken_line:
            why = _fault(line, number, head)
            broken_line = number if why else 0
        head = line_hash(line)
    return JournalCheck(len(lines), head, broken_line, why, torn_bytes)


def line_hash(line: bytes) -> str:
    """Give the hash by which the next line names this one."""
    return hashlib.sha256(line).hexdigest()


def iso_time(t_ns: int) -> str:
    """Write a time in ns since the Unix epoch as people read it, in UTC."""
    seconds, ns = divmod(t_ns, _NS_PER_S)
    return f"{datetime.fromtimestamp(seconds, UTC):%Y-%m-%dT%H:%M:%S}.{ns:09d}Z"


def _fault(line: bytes, number: int, head: str) -> str:
    """Say what is wrong with a line; empty when nothing is."""
    try:
        got = msgspec.json.decode(line, type=JournalLine)
    except msgspec.DecodeError as error:
        return f"is no line of a journal ({error})"
    if got.n != number:
        return f"has the number {got.n}"
    if got.prev != head:
        return "does not follow the line before it"
    if got.time != iso_time(got.t_ns):
        return f"states two times, {got.time} and {got.t_ns}"
    return ""


def _go_on(path: Path, file: AppendFile) -> tuple[Chain, int]:
    """Give the chain behind the last whole line, and cut the rest off."""
    lines, torn_bytes = read_lines(path)
    if torn_bytes:
        file.cut(file.size - torn_bytes)
        file.sync()
    return Chain(len(lines), line_hash(lines[-1]) if lines else ""), torn_bytes
