"""Blocks of several steps to bytes and back, those of one layout behind each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drivers.reading import Block
from monitor.errors import RecordError
from monitor.record.columns import (
    decode_columns,
    decode_times,
    encode_columns,
    encode_times,
    take_flags,
)
from monitor.record.ints import Cursor
from monitor.record.layouts import Known, LayoutKey
from monitor.samples import Admitted, Flags, Floats, Ints


def encode_group(
    parts: Sequence[Admitted], known: Known, base_ns: int
) -> tuple[list[bytes], list[bytes]]:
    """Encode the blocks of one layout, one row at least.

    Updates the scales of *known*.

    Returns:
        Times and late marks, and the readings: two kinds of bytes, better compressed apart.
    """
    blocks = [part.block for part in parts]
    out = encode_times(np.concatenate([block.t_ns for block in blocks]), base_ns)
    device = [block.device_ns for block in blocks if block.device_ns is not None]
    if device:
        out += encode_times(np.concatenate(device), base_ns)
    out += _encode_late(parts)
    values = (
        blocks[0].values if len(blocks) == 1 else np.concatenate([b.values for b in blocks])
    )
    columns, known.scales = encode_columns(values, known.reference, known.scales)
    return out, columns


@dataclass(slots=True)
class Group:
    """The rows of one layout, given out block by block."""

    key: LayoutKey
    t_ns: Ints
    device_ns: Ints | None
    late: Flags | None
    values: Floats
    _at: int = 0

    @property
    def rows_left(self) -> int:
        """How many rows were not given out."""
        return len(self.t_ns) - self._at

    def next_block(self, rows: int) -> Admitted:
        """Give the next *rows* rows as the block they were.

        Raises:
            RecordError: There are not so many.
        """
        part = slice(self._at, self._at + rows)
        if rows < 0 or rows > self.rows_left:
            raise RecordError("input log", "the blocks of a pack hold more rows than it has")
        self._at = part.stop
        block = Block(
            instrument=self.key.instrument,
            signals=self.key.signals,
            t_ns=self.t_ns[part],
            values=self.values[part],
            device_ns=None if self.device_ns is None else self.device_ns[part],
            is_old=self.key.is_old,
        )
        late = None if self.late is None else self.late[part]
        return Admitted(block, late if late is not None and late.any() else None)


def decode_group(
    times: Cursor, columns: Cursor, layout: tuple[LayoutKey, Floats], extent: tuple[int, int]
) -> Group:
    """Decode what :func:`encode_group` gave; *extent* is base in ns and number of rows.

    Raises:
        RecordError: The bytes are no such group.
    """
    base_ns, rows = extent
    key, reference = layout
    t_ns = decode_times(times, base_ns, rows)
    device_ns = decode_times(times, base_ns, rows) if key.has_device else None
    has_late = times.take(1) != b"\0"
    late = take_flags(times, rows) if has_late else None
    return Group(key, t_ns, device_ns, late, decode_columns(columns, reference, rows))


def _encode_late(parts: Sequence[Admitted]) -> list[bytes]:
    """Encode one bit a row if any row is late."""
    if all(part.late is None for part in parts):
        return [b"\0"]
    flags = [
        np.zeros(len(part.block.t_ns), np.bool_) if part.late is None else part.late
        for part in parts
    ]
    return [b"\1", np.packbits(np.concatenate(flags)).tobytes()]
