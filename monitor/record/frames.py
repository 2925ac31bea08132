"""Frames of the input log: what lets a reader tell a written row from a torn or rotten one.

A file is a row of frames, each of ``magic | kind | sequence | length | CRC-32C | payload``.
The checksum covers everything behind the magic and is seeded with the run, so that old disk
blocks of another run, which a power cut can leave at the end of a file, never pass for data.
Only the head, the first frame of a file, is not seeded: it says what the seed is.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum

import google_crc32c

#: The first byte occurs in no UTF-8 text, the last two do not survive a text-mode copy.
MAGIC = b"\xf7\x96\r\n"
_FIELDS = struct.Struct("<BII")
_CHECKSUM = struct.Struct("<I")
#: Bytes of a frame beside its payload.
OVERHEAD_BYTES = len(MAGIC) + _FIELDS.size + _CHECKSUM.size
#: A longer payload is refused at writing; a length above it is damage at reading.
MAX_PAYLOAD_BYTES = 1 << 28


class FrameKind(IntEnum):
    """What the payload of a frame is."""

    #: First frame of a file: run, seed, journal position, saved state of the pipeline.
    HEAD = 1
    #: Columns that packs refer to.
    LAYOUT = 2
    #: Steps of the pipeline: readings and controls.
    PACK = 3


@dataclass(frozen=True, slots=True)
class RawFrame:
    """A frame that is as it was written. *offset* is its place in the file, in bytes."""

    offset: int
    kind: FrameKind
    seq: int
    payload: bytes


@dataclass(frozen=True, slots=True)
class Damage:
    """Bytes that are no frame. *offset* and *length* in bytes; *why* for a person."""

    offset: int
    length: int
    why: str


def run_seed(run: str) -> int:
    """Give the seed of every frame but the head, from the run's name."""
    return int(google_crc32c.value(run.encode()))


def frame_bytes(kind: FrameKind, seq: int, payload: bytes, seed: int) -> bytes:
    """Frame a payload.

    Args:
        kind: What the payload is.
        seq: Number of the first step it holds or precedes, below 2**32.
        payload: At most ``MAX_PAYLOAD_BYTES``.
        seed: From :func:`run_seed`; ignored for a head.

    Raises:
        ValueError: The payload is too long.
    """
    if len(payload) > MAX_PAYLOAD_BYTES:
        raise ValueError(f"a frame of {len(payload)} bytes; at most {MAX_PAYLOAD_BYTES}")
    fields = _FIELDS.pack(kind, seq, len(payload))
    checksum = _checksum(kind, fields, payload, seed)
    return b"".join((MAGIC, fields, _CHECKSUM.pack(checksum), payload))


def scan(data: bytes, seed: int) -> Iterator[RawFrame | Damage]:
    """Read a whole file; every byte of it is in exactly one of the pieces given.

    After damage it goes on at the next magic that starts an intact frame.

    Args:
        data: The file.
        seed: From :func:`run_seed`.
    """
    offset = 0
    while offset < len(data):
        frame = _frame_at(data, offset, seed)
        if frame is None:
            end = _next_frame(data, offset + 1, seed)
            yield Damage(offset, end - offset, _why(data, offset, end))
            offset = end
        else:
            yield frame
            offset += OVERHEAD_BYTES + len(frame.payload)


def head_of(data: bytes) -> RawFrame | None:
    """Give the head if the file begins with an intact one."""
    frame = _frame_at(data, 0, 0)
    return frame if frame is not None and frame.kind is FrameKind.HEAD else None


def _checksum(kind: int, fields: bytes, payload: bytes, seed: int) -> int:
    """CRC-32C over seed, fields and payload."""
    start = 0 if kind == FrameKind.HEAD else seed
    return int(google_crc32c.extend(google_crc32c.extend(start, fields), payload))


def _frame_at(data: bytes, offset: int, seed: int) -> RawFrame | None:
    """Give the frame that starts here, or None if none does or it is not intact."""
    found = _fields_at(data, offset)
    if found is None:
        return None
    kind, seq, length = found
    begin = offset + OVERHEAD_BYTES
    # A head further on is a stray block of another file.
    is_known = kind in _KINDS and (kind != FrameKind.HEAD or offset == 0)
    if not is_known or length > MAX_PAYLOAD_BYTES or begin + length > len(data):
        return None
    fields_at = offset + len(MAGIC)
    fields = data[fields_at : fields_at + _FIELDS.size]
    payload = data[begin : begin + length]
    (stated,) = _CHECKSUM.unpack_from(data, fields_at + _FIELDS.size)
    if stated != _checksum(kind, fields, payload, seed):
        return None
    return RawFrame(offset, FrameKind(kind), seq, payload)


def _fields_at(data: bytes, offset: int) -> tuple[int, int, int] | None:
    """Give kind, sequence and length if a whole frame header stands here."""
    if not data.startswith(MAGIC, offset) or offset + OVERHEAD_BYTES > len(data):
        return None
    kind, seq, length = _FIELDS.unpack_from(data, offset + len(MAGIC))
    return kind, seq, length


def _next_frame(data: bytes, offset: int, seed: int) -> int:
    """Find where the next intact frame begins, or the end of the data."""
    while (offset := data.find(MAGIC, offset)) >= 0:
        if _frame_at(data, offset, seed) is not None:
            return offset
        offset += 1
    return len(data)


def _why(data: bytes, offset: int, end: int) -> str:
    """Say what the damage looks like."""
    lost = data[offset:end]
    if not lost.strip(b"\0"):
        return "zeros where a frame should be, as a power cut leaves them"
    if end == len(data) and _runs_past_the_end(data, offset):
        return "a frame that was never finished, as a kill or a power cut leaves it"
    return "bytes that are no intact frame"


def _runs_past_the_end(data: bytes, offset: int) -> bool:
    """Whether a frame begins here and the file ends before it does."""
    found = _fields_at(data, offset)
    if found is None:
        return MAGIC.startswith(data[offset : offset + len(MAGIC)]) or (
            data.startswith(MAGIC, offset)
        )
    return offset + OVERHEAD_BYTES + found[2] > len(data)


_KINDS = frozenset(FrameKind)
