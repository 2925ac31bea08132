"""Tests for monitor.record.blocks.

Source: hand-worked here.
"""

from __future__ import annotations

import numpy as np
import pytest

from drivers.reading import Block
from monitor.errors import RecordError
from monitor.record.blocks import decode_group, encode_group
from monitor.record.ints import Cursor
from monitor.record.layouts import LayoutWriter, key_of
from monitor.samples import Admitted, Flags

BASE_NS = 1_795_000_000_000_000_000


def part(first: int, rows: int, late: Flags | None = None, *, device: bool = False) -> Admitted:
    """Give a block whose content follows from its first number."""
    t_ns = BASE_NS + first * 1000 + np.arange(rows)
    values = np.arange(first, first + 2 * rows).reshape(rows, 2) / 4
    return Admitted(
        Block("panel", ("a", "b"), t_ns, values, t_ns - 7 if device else None), late
    )


def through(*parts: Admitted) -> list[Admitted]:
    """Encode blocks as one group; decode and deal them out again."""
    key = key_of(parts[0])
    known = LayoutWriter().get(key, parts[0].block.values[0])
    times, columns = encode_group(parts, known, BASE_NS)
    rows = [len(each.block.t_ns) for each in parts]
    cursors = Cursor(b"".join(times)), Cursor(b"".join(columns))
    group = decode_group(*cursors, (key, known.reference), (BASE_NS, sum(rows)))
    for cursor in cursors:
        cursor.check_end()
    got = [group.next_block(count) for count in rows]
    assert group.rows_left == 0
    return got


def test_blocks_come_back_one_by_one() -> None:
    parts = [part(0, 3), part(50, 1), part(10, 2)]

    got = through(*parts)

    assert [each.block.t_ns.tolist() for each in got] == [p.block.t_ns.tolist() for p in parts]
    assert [each.block.values.tolist() for each in got] == [
        p.block.values.tolist() for p in parts
    ]
    assert {each.block.device_ns is None for each in got} == {True}


def test_the_instruments_own_times_come_back() -> None:
    got = through(part(0, 3, device=True), part(4, 2, device=True))

    assert [
        each.block.device_ns.tolist() for each in got if each.block.device_ns is not None
    ] == [
        [BASE_NS - 7, BASE_NS - 6, BASE_NS - 5],
        [BASE_NS + 3993, BASE_NS + 3994],
    ]


def test_late_marks_stay_with_their_rows() -> None:
    got = through(part(0, 2), part(4, 3, np.array([False, True, False])), part(9, 1))

    late = [None if each.late is None else each.late.tolist() for each in got]
    assert late == [None, [False, True, False], None]


def test_a_mark_that_marks_nothing_is_no_mark() -> None:
    (got,) = through(part(0, 2, np.zeros(2, np.bool_)))

    assert got.late is None


@pytest.mark.parametrize("rows", [-1, 3])
def test_more_rows_than_there_are_are_refused(rows: int) -> None:
    only = part(0, 2)
    key = key_of(only)
    known = LayoutWriter().get(key, only.block.values[0])
    times, columns = encode_group([only], known, BASE_NS)
    cursors = Cursor(b"".join(times)), Cursor(b"".join(columns))
    group = decode_group(*cursors, (key, known.reference), (BASE_NS, 2))

    with pytest.raises(RecordError, match="more rows than it has"):
        group.next_block(rows)
