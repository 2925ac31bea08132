"""Tests for monitor.record.ints.

Source: hand-worked here.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from monitor.errors import RecordError
from monitor.record.ints import Cursor, decode_ints, decode_table, encode_ints, encode_table
from monitor.samples import Ints

WIDE = st.one_of(
    st.integers(-(2**63), 2**63 - 1),
    st.integers(-300, 300),
    st.sampled_from([0, -1, 127, 128, -128, -129, 2**31, -(2**63), 2**63 - 1]),
)
TABLES = hnp.arrays(
    np.int64, hnp.array_shapes(min_dims=2, max_dims=2, min_side=0, max_side=8), elements=WIDE
)


@given(TABLES)
def test_any_table_comes_back(numbers: Ints) -> None:
    widths, parts = encode_table(numbers)

    cursor = Cursor(b"".join(parts))
    got = decode_table(cursor, widths, numbers.shape[1])

    cursor.check_end()
    assert got.tolist() == numbers.tolist()


@pytest.mark.parametrize(
    ("number", "width"),
    [(0, 0), (-1, 1), (127, 1), (-128, 1), (128, 2), (-129, 2), (2**62, 8), (-(2**63), 8)],
)
def test_a_column_takes_no_more_bytes_than_its_greatest_number(number: int, width: int) -> None:
    widths, parts = encode_table(np.array([[0, number, 0]], np.int64))

    assert widths.tolist() == [width]
    assert len(b"".join(parts)) == 3 * width


def test_bytes_of_one_rank_lie_together() -> None:
    _, parts = encode_table(np.array([[0x100, -0x101]], np.int64))

    # Folded: 0x200 and 0x201.
    assert b"".join(parts) == b"\x00\x01\x02\x02"


@given(st.lists(WIDE, max_size=20))
def test_a_row_of_numbers_comes_back(numbers: list[int]) -> None:
    got = decode_ints(Cursor(encode_ints(np.array(numbers, np.int64))), len(numbers))

    assert got.tolist() == numbers


def test_a_payload_that_ends_early_is_refused() -> None:
    data = encode_ints(np.array([1, 2, 3], np.int64))

    with pytest.raises(RecordError, match="ends 1 bytes early"):
        decode_ints(Cursor(data[:-1]), 3)


def test_a_negative_length_is_refused() -> None:
    with pytest.raises(RecordError, match="early"):
        Cursor(b"abc").take(-1)


def test_bytes_left_over_are_refused() -> None:
    cursor = Cursor(b"abc")
    cursor.take(1)

    with pytest.raises(RecordError, match="2 bytes too many"):
        cursor.check_end()
    assert cursor.take_rest() == b"bc"


def test_a_count_that_no_memory_holds_is_refused_before_it_is_reserved() -> None:
    with pytest.raises(RecordError, match="rows of 1 columns"):
        decode_ints(Cursor(b"\0"), 1 << 40)


def test_an_impossible_width_is_refused() -> None:
    with pytest.raises(RecordError):
        decode_table(Cursor(b"\0" * 90), np.array([9], np.uint8), 10)
