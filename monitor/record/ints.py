"""Whole numbers to few bytes and back, many rows at a time; exact for every int64.

A row of a table is stored in as many bytes a number as its greatest number needs. The bytes
of one rank lie together (all lowest bytes first), because that is how they compress well.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from monitor.errors import RecordError
from monitor.samples import Bytes, Ints

_MAX_NUMBERS = 1 << 28


class Cursor:
    """Bytes that are taken from the front; never gives more than there is."""

    def __init__(self, data: bytes) -> None:
        """Stand at the first byte."""
        self._data = data
        self._at = 0

    def take(self, length: int) -> bytes:
        """Give the next *length* bytes.

        Raises:
            RecordError: There are not so many left.
        """
        end = self._at + length
        if length < 0 or end > len(self._data):
            raise RecordError(
                "input log", f"a payload ends {end - len(self._data)} bytes early"
            )
        part = self._data[self._at : end]
        self._at = end
        return part

    def take_bytes(self, length: int) -> Bytes:
        """Give the next *length* bytes as an array."""
        return np.frombuffer(self.take(length), np.uint8)

    def take_rest(self) -> bytes:
        """Give all that is left."""
        return self.take(len(self._data) - self._at)

    def check_end(self) -> None:
        """Refuse a payload that holds more than was read.

        Raises:
            RecordError: Bytes are left.
        """
        if self._at != len(self._data):
            raise RecordError("input log", f"{len(self._data) - self._at} bytes too many")


def encode_table(numbers: Ints) -> tuple[Bytes, list[bytes]]:
    """Encode a table of (columns, rows).

    Returns:
        Width of each column in bytes (0 to 8), and the parts that hold the numbers.
    """
    folded = _fold(numbers)
    highest = folded.max(axis=1, initial=0)
    widths = np.zeros(len(numbers), np.uint8)
    for width in range(8):
        widths += (highest >> np.uint64(8 * width)) > 0
    parts = []
    for width in range(1, 9):
        chosen = widths == width
        if chosen.any():
            parts.append(_planes(folded if chosen.all() else folded[chosen], width))
    return widths, parts


def decode_table(cursor: Cursor, widths: Bytes, rows: int) -> Ints:
    """Decode what :func:`encode_table` gave.

    Raises:
        RecordError: The bytes do not fit the widths.
    """
    if rows * len(widths) > _MAX_NUMBERS or (len(widths) and widths.max() > 8):
        raise RecordError("input log", f"{rows} rows of {len(widths)} columns in one payload")
    folded = np.zeros((len(widths), rows), np.uint64)
    # Only the widths that occur: most tables of a log are small, and there are very many.
    for width in sorted(set(widths.tolist()) - {0}):
        chosen = np.flatnonzero(widths == width)
        planes = cursor.take_bytes(width * chosen.size * rows)
        folded[chosen] = _joined(planes.reshape(width, chosen.size, rows))
    return _unfold(folded)


def encode_ints(numbers: Ints) -> bytes:
    """Encode one row of numbers; the reader must know how many there are."""
    widths, parts = encode_table(numbers.reshape(1, -1))
    return b"".join((widths.tobytes(), *parts))


def decode_ints(cursor: Cursor, count: int) -> Ints:
    """Decode *count* numbers that :func:`encode_ints` gave."""
    numbers: Ints = decode_table(cursor, cursor.take_bytes(1), count)[0]
    return numbers


def _fold(numbers: Ints) -> NDArray[np.uint64]:
    """Map 0, -1, 1, -2 ... to 0, 1, 2, 3 ..., so that small numbers have small codes."""
    folded: Ints = numbers << 1
    folded ^= numbers >> 63
    return folded.view(np.uint64)


def _unfold(folded: NDArray[np.uint64]) -> Ints:
    """Undo :func:`_fold`."""
    numbers: Ints = (folded >> np.uint64(1)).view(np.int64)
    numbers ^= -(folded & np.uint64(1)).view(np.int64)
    return numbers


def _planes(folded: NDArray[np.uint64], width: int) -> bytes:
    """Give the lowest *width* bytes of each number, rank by rank."""
    ranks = [(folded >> np.uint64(8 * rank)).astype(np.uint8) for rank in range(width)]
    return b"".join(rank.tobytes() for rank in ranks)


def _joined(planes: Bytes) -> NDArray[np.uint64]:
    """Undo :func:`_planes`."""
    folded: NDArray[np.uint64] = planes[0].astype(np.uint64)
    for rank in range(1, len(planes)):
        folded |= planes[rank].astype(np.uint64) << np.uint64(8 * rank)
    return folded
