"""Columns of readings to few bytes and back, bit for bit.

A column of counts is stored as whole numbers. A column that was decimal text (12.34) is stored
as whole numbers with a scale (1234 at 2), if dividing gives every bit back. Any other column is
stored by the bits of its numbers. All three then are differences from row to row, the first
one from a reference that both sides know. NaN marks a hole: one bit, the row before repeated.
"""

from __future__ import annotations

import numpy as np

from monitor.errors import RecordError
from monitor.record.ints import Cursor, decode_ints, decode_table, encode_ints, encode_table
from monitor.samples import Bytes, Flags, Floats, Ints

#: Scale of a column that is stored by its bits.
BY_BITS = 15
_LARGEST_SCALE = 9
_POWERS = np.array([float(10**scale) for scale in range(_LARGEST_SCALE + 1)] + [1.0] * 6)
_HOLE_BITS = np.array([np.nan]).view(np.int64)[0]
#: References beyond this are not used: the cast to int64 would depend on the processor.
_LARGEST_START = float(2**62)
#: Rows tried first when a scale is looked for.
_PROBE_ROWS = 8


def encode_columns(values: Floats, reference: Floats, hint: Bytes) -> tuple[list[bytes], Bytes]:
    """Encode readings.

    Args:
        values: (rows, columns), at least one row.
        reference: (columns,) a number near the first row of each column.
        hint: (columns,) scale to try first: what the columns had last time.

    Returns:
        The parts, and the scale that each column has now.
    """
    table = np.ascontiguousarray(values.T)
    scales = hint.copy()
    numbers = _numbers(table, scales)
    is_good = _is_exact(table, numbers, scales) & (scales != BY_BITS)
    has_holes = np.zeros(len(table), np.bool_)
    holes = np.zeros((0, len(values)), np.bool_)
    bad = np.flatnonzero(~is_good)
    if bad.size:
        filled, holes_of_bad = _without_holes(table[bad], reference[bad])
        scales[bad] = _find_scales(filled)
        numbers[bad] = _numbers(filled, scales[bad])
        has_holes[bad] = holes_of_bad.any(axis=1)
        holes = holes_of_bad[holes_of_bad.any(axis=1)]
    widths, parts = encode_table(_differences(numbers, reference, scales))
    codes = (scales << 4) | widths
    front = [codes.tobytes(), np.packbits(has_holes).tobytes(), np.packbits(holes).tobytes()]
    return front + parts, scales


def decode_columns(cursor: Cursor, reference: Floats, rows: int) -> Floats:
    """Decode what :func:`encode_columns` gave, as (rows, columns).

    Raises:
        RecordError: The bytes are no such columns.
    """
    columns = len(reference)
    codes = cursor.take_bytes(columns)
    scales, widths = codes >> np.uint8(4), codes & np.uint8(15)
    if ((scales > _LARGEST_SCALE) & (scales != BY_BITS)).any():
        raise RecordError("input log", "a column of unknown scale")
    has_holes = take_flags(cursor, columns)
    where = np.flatnonzero(has_holes)
    holes = take_flags(cursor, where.size * rows).reshape(where.size, rows)
    numbers = decode_table(cursor, widths, rows)
    numbers[:, 0] += _starts(reference, scales)
    np.cumsum(numbers, axis=1, out=numbers)
    table = _values(numbers, scales)
    table[where] = np.where(holes, np.nan, table[where])
    return np.ascontiguousarray(table.T)


def encode_times(t_ns: Ints, base_ns: int) -> list[bytes]:
    """Encode times: the first from *base_ns*, then differences of differences."""
    steps = np.diff(t_ns, prepend=np.int64(base_ns))
    return [encode_ints(steps[:2]), encode_ints(np.diff(steps[1:]))]


def decode_times(cursor: Cursor, base_ns: int, rows: int) -> Ints:
    """Decode *rows* times (at least one) that :func:`encode_times` gave."""
    first = decode_ints(cursor, min(rows, 2))
    changes = decode_ints(cursor, max(rows - 2, 0))
    steps = np.concatenate((first[:1], np.cumsum(np.concatenate((first[1:], changes)))))
    steps[:1] += base_ns
    return np.cumsum(steps)


def take_flags(cursor: Cursor, count: int) -> Flags:
    """Take *count* flags that ``np.packbits`` packed."""
    packed = cursor.take_bytes((count + 7) // 8)
    return np.unpackbits(packed, count=count).astype(np.bool_)


def is_far(row: Floats, reference: Floats, scales: Bytes) -> bool:
    """Whether a new reference would pay: a quarter of the columns left the reach of a byte."""
    with np.errstate(invalid="ignore", over="ignore"):
        distance = np.abs(row - reference) * _POWERS[scales]
    return bool(np.count_nonzero(distance > 127) * 4 > len(row))


def _numbers(table: Floats, scales: Bytes) -> Ints:
    """Give each column's whole numbers at its scale, or its bits."""
    with np.errstate(invalid="ignore", over="ignore"):
        scaled = np.rint(table * _POWERS[scales][:, None]) if scales.any() else table
        numbers: Ints = scaled.astype(np.int64)
    by_bits = np.flatnonzero(scales == BY_BITS)
    if by_bits.size:
        numbers[by_bits] = table[by_bits].view(np.int64)
    return numbers


def _values(numbers: Ints, scales: Bytes) -> Floats:
    """Undo :func:`_numbers`."""
    table = numbers.astype(np.float64)
    if scales.any():
        table /= _POWERS[scales][:, None]
    by_bits = np.flatnonzero(scales == BY_BITS)
    if by_bits.size:
        table[by_bits] = numbers[by_bits].view(np.float64)
    return table


def _is_exact(table: Floats, numbers: Ints, scales: Bytes) -> Flags:
    """Which columns come back bit for bit."""
    back = _values(numbers, scales)
    same: Flags = (back.view(np.int64) == table.view(np.int64)).all(axis=1)
    return same


def _find_scales(table: Floats) -> Bytes:
    """Give the smallest scale at which each column is exact, or ``BY_BITS``."""
    scales = np.full(len(table), BY_BITS, np.uint8)
    probe = table[:, :_PROBE_ROWS].copy()
    for scale in range(_LARGEST_SCALE + 1):
        open_ = np.flatnonzero(scales == BY_BITS)
        tried = np.full(open_.size, scale, np.uint8)
        hopeful = open_[_is_exact(probe[open_], _numbers(probe[open_], tried), tried)]
        tried = tried[: hopeful.size]
        whole = table[hopeful]
        scales[hopeful[_is_exact(whole, _numbers(whole, tried), tried)]] = scale
    return scales


def _without_holes(table: Floats, reference: Floats) -> tuple[Floats, Flags]:
    """Repeat the row before in place of a hole; a NaN of other bits is no hole."""
    holes = table.view(np.int64) == _HOLE_BITS
    start = np.where(np.isfinite(reference), reference, 0.0)
    padded = np.concatenate((start[:, None], table), axis=1)
    rows = np.arange(1, table.shape[1] + 1)
    source = np.maximum.accumulate(np.where(holes, 0, rows), axis=1)
    return np.take_along_axis(padded, source, axis=1), holes


def _starts(reference: Floats, scales: Bytes) -> Ints:
    """Give the whole number that each column's first difference is from."""
    with np.errstate(invalid="ignore", over="ignore"):
        scaled = np.rint(reference * _POWERS[scales])
        is_usable = np.abs(scaled) < _LARGEST_START
        starts = np.where(is_usable, scaled, 0.0).astype(np.int64)
    by_bits = scales == BY_BITS
    starts[by_bits] = reference[by_bits].view(np.int64)
    return starts


def _differences(numbers: Ints, reference: Floats, scales: Bytes) -> Ints:
    """Subtract from each row the one before; the first row minus the reference."""
    differences = np.empty_like(numbers)
    differences[:, 0] = numbers[:, 0] - _starts(reference, scales)
    np.subtract(numbers[:, 1:], numbers[:, :-1], out=differences[:, 1:])
    return differences
