"""Compression of payloads: one codec for everything in the input log."""

from __future__ import annotations

import struct
from collections.abc import Sequence

import pyarrow

from monitor.errors import RecordError

#: Level 1: on the differences of noisy counts, higher levels gave no fewer bytes and took
#: five to thirty times as long; LZ4 left them at 1 byte each, where this makes 0.5.
_CODEC = pyarrow.Codec("zstd", 1)
_LENGTH = struct.Struct("<I")
_MAX_RAW_BYTES = 1 << 28


def squeeze(parts: Sequence[bytes]) -> bytes:
    """Compress the parts as one.

    Raises:
        ValueError: They are too long together.
    """
    raw = b"".join(parts)
    if len(raw) > _MAX_RAW_BYTES:
        raise ValueError(f"a payload of {len(raw)} bytes; at most {_MAX_RAW_BYTES}")
    packed: bytes = _CODEC.compress(raw, asbytes=True)
    return _LENGTH.pack(len(raw)) + packed


def expand(payload: bytes) -> bytes:
    """Undo :func:`squeeze`.

    Raises:
        RecordError: The payload is nothing that was squeezed.
    """
    if len(payload) < _LENGTH.size:
        raise RecordError("input log", f"a payload of {len(payload)} bytes")
    (length,) = _LENGTH.unpack_from(payload)
    if length > _MAX_RAW_BYTES:
        raise RecordError("input log", f"a payload that says it is {length} bytes long")
    try:
        raw: bytes = _CODEC.decompress(payload[_LENGTH.size :], length, asbytes=True)
    except OSError as error:
        raise RecordError("input log", f"a payload cannot be expanded: {error}") from error
    return raw
