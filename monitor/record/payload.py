"""Steps of the pipeline to a payload and back, bit for bit.

A pack holds one or more steps that follow each other. Blocks of one instrument and the same
signals lie together in it, whatever step they came in, so that the columns are long; they are
compressed once for all channels. Names and a reference for each column stand in layouts of
their own, which packs name by checksum: a pack then costs little more than the noise of its
readings.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

import msgspec
import numpy as np

from monitor.errors import RecordError
from monitor.events import Control
from monitor.record.blocks import Group, decode_group, encode_group
from monitor.record.columns import decode_times, encode_times
from monitor.record.frame import Frame
from monitor.record.ints import Cursor, decode_ints, encode_ints
from monitor.record.layouts import CodedLayout, LayoutKey, LayoutReader, LayoutWriter, key_of
from monitor.record.squeeze import expand, squeeze
from monitor.samples import Admitted

_LENGTH = struct.Struct("<I")
_MAX_STEPS = 1 << 20


class _Head(msgspec.Struct, frozen=True, array_like=True):
    """What stands at the start of a pack.

    *journal_head* is empty where it is the one of the pack before. *groups* are the id of the
    layout and the rows of each; *controls* come with the number of their step in the pack.
    """

    seq: int
    steps: int
    until_ns: int
    journal_count: int
    journal_head: bytes
    groups: list[tuple[int, int]]
    blocks: int
    controls: list[tuple[int, Control]]


@dataclass(frozen=True, slots=True)
class Pack:
    """Steps as written.

    Attributes:
        seq: Number of the first step.
        steps: How many there are.
        until_ns: W of the last one.
        payload: The bytes.
        layouts: What must stand before it in its file.
    """

    seq: int
    steps: int
    until_ns: int
    payload: bytes
    layouts: tuple[CodedLayout, ...]


_Groups = dict[LayoutKey, list[Admitted]]


class PackEncoder:
    """Makes packs, one after the other."""

    def __init__(self) -> None:
        """Know no layout yet."""
        self._layouts = LayoutWriter()
        self._journal: tuple[int, str] | None = None

    def restart(self) -> None:
        """State the journal's head in the next pack: a new file begins."""
        self._journal = None
        self._layouts.restart()

    def encode(self, frames: Sequence[Frame]) -> Pack:
        """Encode steps that follow each other and have the same journal behind them.

        Blocks without rows are left out.

        Raises:
            ValueError: They do not, or there are none.
        """
        _check_run(frames)
        first, last = frames[0], frames[-1]
        groups = _grouped(frames)
        known = {
            key: self._layouts.get(key, parts[0].block.values[0])
            for key, parts in groups.items()
        }
        layouts = tuple(entry.coded for entry in known.values())
        front, readings = self._front(frames, groups, layouts), []
        for key, members in groups.items():
            times, columns = encode_group(members, known[key], first.until_ns)
            front += times
            readings += columns
            self._layouts.used(key, members[-1].block.values[-1])
        payload = _joined(squeeze(front), squeeze(readings))
        return Pack(first.seq, len(frames), last.until_ns, payload, layouts)

    def _front(
        self, frames: Sequence[Frame], groups: _Groups, layouts: Sequence[CodedLayout]
    ) -> list[bytes]:
        """Encode everything but the readings."""
        first = frames[0]
        journal = (first.journal_count, first.journal_head)
        rows = [sum(len(part.block.t_ns) for part in parts) for parts in groups.values()]
        head = msgspec.msgpack.encode(
            _Head(
                seq=first.seq,
                steps=len(frames),
                until_ns=first.until_ns,
                journal_count=first.journal_count,
                journal_head=b"" if journal == self._journal else bytes.fromhex(journal[1]),
                groups=[
                    (layout.id, count) for layout, count in zip(layouts, rows, strict=True)
                ],
                blocks=sum(len(_with_rows(frame)) for frame in frames),
                controls=[
                    (at, each) for at, frame in enumerate(frames) for each in frame.controls
                ],
            )
        )
        self._journal = journal
        return [_LENGTH.pack(len(head)), head, *_order(frames, groups)]


class PackDecoder:
    """Reads layouts and packs in the order of the file."""

    def __init__(self) -> None:
        """Know no layout yet."""
        self._layouts = LayoutReader()
        self._journal: tuple[int, str] | None = None

    def add_layout(self, payload: bytes) -> None:
        """Learn a layout.

        Raises:
            RecordError: The payload is none.
        """
        self._layouts.add(payload)

    def decode(self, payload: bytes) -> tuple[Frame, ...]:
        """Decode a pack.

        Raises:
            RecordError: It is none, or a layout that it names was not read before.
        """
        cursor, readings = _parted(payload)
        head = _read_head(cursor)
        times = decode_times(cursor, head.until_ns, head.steps).tolist()
        counts = decode_ints(cursor, head.steps).tolist()
        numbers = decode_ints(cursor, head.blocks).tolist()
        lengths = decode_ints(cursor, head.blocks).tolist()
        groups = [
            decode_group(cursor, readings, self._layouts.get(number), (head.until_ns, rows))
            for number, rows in head.groups
        ]
        cursor.check_end()
        readings.check_end()
        if min(counts) < 0 or sum(counts) != head.blocks:
            raise RecordError("input log", "the steps of a pack hold more blocks than it has")
        admitted = _dealt(groups, numbers, lengths)
        return _frames(head, self._journal_head(head), times, [*_portions(admitted, counts)])

    def _journal_head(self, head: _Head) -> str:
        """Give the journal's head, from an earlier pack where this one does not repeat it."""
        stated = head.journal_head.hex()
        if not stated and self._journal is not None and self._journal[0] == head.journal_count:
            stated = self._journal[1]
        self._journal = (head.journal_count, stated)
        return stated


def _joined(front: bytes, readings: bytes) -> bytes:
    """Put the two compressed parts together."""
    return _LENGTH.pack(len(front)) + front + readings


def _parted(payload: bytes) -> tuple[Cursor, Cursor]:
    """Undo :func:`_joined`, and expand both."""
    outer = Cursor(payload)
    (length,) = _LENGTH.unpack(outer.take(_LENGTH.size))
    front = expand(outer.take(length))
    return Cursor(front), Cursor(expand(outer.take_rest()))


def _check_run(frames: Sequence[Frame]) -> None:
    """Refuse steps that cannot be one pack."""
    if not frames:
        raise ValueError("a pack needs a step")
    first = frames[0]
    for at, frame in enumerate(frames):
        if frame.seq != first.seq + at:
            raise ValueError(f"step {frame.seq} does not follow step {first.seq + at - 1}")
        if (frame.journal_count, frame.journal_head) != (
            first.journal_count,
            first.journal_head,
        ):
            raise ValueError("steps of one pack stand at different lines of the journal")


def _grouped(frames: Sequence[Frame]) -> _Groups:
    """Sort blocks by layout."""
    groups: _Groups = {}
    for frame in frames:
        for part in _with_rows(frame):
            groups.setdefault(key_of(part), []).append(part)
    return groups


def _with_rows(frame: Frame) -> list[Admitted]:
    """Leave out blocks without rows: they say nothing and have no reference to give."""
    return [part for part in frame.admitted if len(part.block.t_ns)]


def _order(frames: Sequence[Frame], groups: _Groups) -> list[bytes]:
    """Encode W of each step, its number of blocks, and each block's layout and rows."""
    until_ns = np.array([frame.until_ns for frame in frames], np.int64)
    number = {key: at for at, key in enumerate(groups)}
    blocks = [part for frame in frames for part in _with_rows(frame)]
    lists = (
        [len(_with_rows(frame)) for frame in frames],
        [number[key_of(part)] for part in blocks],
        [len(part.block.t_ns) for part in blocks],
    )
    out = encode_times(until_ns, frames[0].until_ns)
    return out + [encode_ints(np.array(each, np.int64)) for each in lists]


def _read_head(cursor: Cursor) -> _Head:
    """Read the start of a pack."""
    (length,) = _LENGTH.unpack(cursor.take(_LENGTH.size))
    try:
        head = msgspec.msgpack.decode(cursor.take(length), type=_Head)
    except msgspec.DecodeError as error:
        raise RecordError("input log", f"a pack cannot be read: {error}") from error
    rows = [rows for _, rows in head.groups]
    if not 0 < head.steps <= _MAX_STEPS or min(rows, default=1) < 1:
        raise RecordError("input log", f"a pack of {head.steps} steps and {rows} rows")
    return head


def _portions(
    admitted: Sequence[Admitted], counts: Sequence[int]
) -> Iterator[tuple[Admitted, ...]]:
    """Give the blocks of each step."""
    rest = iter(admitted)
    for count in counts:
        yield tuple(islice(rest, count))


def _frames(
    head: _Head,
    journal_head: str,
    times: Sequence[int],
    portions: Sequence[tuple[Admitted, ...]],
) -> tuple[Frame, ...]:
    """Put steps together."""
    return tuple(
        Frame(
            seq=head.seq + at,
            until_ns=until_ns,
            admitted=portion,
            controls=tuple(each for step, each in head.controls if step == at),
            journal_count=head.journal_count,
            journal_head=journal_head,
        )
        for at, (until_ns, portion) in enumerate(zip(times, portions, strict=True))
    )


def _dealt(
    groups: Sequence[Group], numbers: Sequence[int], rows: Sequence[int]
) -> list[Admitted]:
    """Give the blocks in the order in which they came."""
    if not all(0 <= number < len(groups) for number in numbers):
        raise RecordError("input log", "a block of a pack belongs to no layout")
    dealt = [groups[at].next_block(count) for at, count in zip(numbers, rows, strict=True)]
    if any(group.rows_left for group in groups):
        raise RecordError("input log", "the blocks of a pack hold fewer rows than it has")
    return dealt
