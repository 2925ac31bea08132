"""Tests for monitor.record.columns.

Source: hand-worked here; that dividing the digits by a power of ten gives the double nearest
to the decimal text follows from IEEE 754 (both are exact, division rounds correctly).
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from monitor.errors import RecordError
from monitor.record.columns import (
    BY_BITS,
    decode_columns,
    decode_times,
    encode_columns,
    encode_times,
    is_far,
)
from monitor.record.ints import Cursor
from monitor.samples import Bytes, Floats, Ints

ODD_NAN = np.array([0x7FF8000000000001], np.int64).view(np.float64)[0]
#: Every kind of number that may come over a wire, and bit patterns that may not.
NUMBERS = st.one_of(
    st.integers(-70_000, 70_000).map(float),
    st.decimals(-1000, 1000, places=2).map(float),
    st.floats(width=64),
    st.sampled_from([0.0, -0.0, np.inf, -np.inf, np.nan, ODD_NAN, 2.0**63, -(2.0**63), 1e300]),
)
TABLES = hnp.arrays(
    np.float64,
    hnp.array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=12),
    elements=NUMBERS,
)


def coded(values: Floats, reference: Floats | None = None) -> tuple[bytes, Bytes]:
    """Encode, with zeros as reference and hint unless told."""
    columns = values.shape[1]
    start = np.zeros(columns) if reference is None else reference
    parts, scales = encode_columns(values, start, np.zeros(columns, np.uint8))
    return b"".join(parts), scales


@given(TABLES, st.data())
def test_any_readings_come_back_bit_for_bit(values: Floats, data: st.DataObject) -> None:
    columns = values.shape[1]
    reference = data.draw(hnp.arrays(np.float64, columns, elements=NUMBERS))
    hint = data.draw(hnp.arrays(np.uint8, columns, elements=st.sampled_from([0, 1, 2, 9, 15])))

    parts, _ = encode_columns(values, reference, hint)
    cursor = Cursor(b"".join(parts))
    got = decode_columns(cursor, reference, len(values))

    cursor.check_end()
    assert got.view(np.int64).tolist() == values.view(np.int64).tolist()


@pytest.mark.parametrize(
    ("texts", "scale"),
    [
        (["12", "13"], 0),
        (["12.34", "12.3", "12"], 2),
        (["0.1", "0.3"], 1),
        (["-7.123456789"], 9),
        (["1.1234567891"], BY_BITS),
        (["nan", "4.25", "nan"], 2),
        (["inf"], BY_BITS),
        (["-0.0"], BY_BITS),
    ],
)
def test_decimal_text_is_stored_as_whole_numbers_where_exact(
    texts: list[str], scale: int
) -> None:
    _, scales = coded(np.array([[float(text)] for text in texts]))

    assert scales.tolist() == [scale]


def test_a_scale_that_fits_the_first_rows_only_is_not_taken() -> None:
    values = np.full((40, 1), 1.5)
    values[30] = 1.625

    data, scales = coded(values)

    assert scales.tolist() == [3]
    assert decode_columns(Cursor(data), np.zeros(1), 40).tolist() == values.tolist()


def test_a_column_that_had_to_be_stored_by_its_bits_is_not_so_for_ever() -> None:
    values = np.array([[1.25], [2.5]])

    _, scales = encode_columns(values, np.zeros(1), np.array([BY_BITS], np.uint8))

    assert scales.tolist() == [2]


def test_each_column_has_a_form_of_its_own() -> None:
    values = np.array([[1.0, 1.5, np.pi, np.nan], [2.0, 1.25, np.e, 7.0]])

    data, scales = coded(values)

    assert scales.tolist() == [0, 2, BY_BITS, 0]
    np.testing.assert_array_equal(decode_columns(Cursor(data), np.zeros(4), 2), values)


def test_counts_near_their_reference_take_one_byte_each() -> None:
    values = np.array([[40_001.0], [40_003.0], [40_000.0]])

    data, _ = coded(values, np.array([40_000.0]))

    # Code, flag of holes, and one byte a row.
    assert len(data) == 1 + 1 + 3


def test_a_hole_repeats_the_row_before_and_costs_a_bit() -> None:
    values = np.array([[40_001.0], [np.nan], [40_001.0], [np.nan]])

    data, _ = coded(values, np.array([40_001.0]))

    # All differences are zero: code, flag, four bits.
    assert len(data) == 3


def test_a_column_of_holes_alone_comes_back() -> None:
    values = np.full((3, 2), np.nan)

    data, _ = coded(values, np.array([np.inf, 5.0]))

    assert np.isnan(decode_columns(Cursor(data), np.array([np.inf, 5.0]), 3)).all()


def test_no_columns_at_all_come_back() -> None:
    data, _ = coded(np.zeros((3, 0)))

    assert decode_columns(Cursor(data), np.zeros(0), 3).shape == (3, 0)


def test_a_scale_that_no_writer_uses_is_refused() -> None:
    with pytest.raises(RecordError, match="unknown scale"):
        decode_columns(Cursor(b"\xc0\0"), np.zeros(1), 1)


@given(
    hnp.arrays(np.int64, st.integers(1, 12), elements=st.integers(-(2**63), 2**63 - 1)),
    st.integers(-(2**63), 2**63 - 1),
)
def test_any_times_come_back(t_ns: Ints, base_ns: int) -> None:
    cursor = Cursor(b"".join(encode_times(t_ns, base_ns)))

    got = decode_times(cursor, base_ns, len(t_ns))

    cursor.check_end()
    assert got.tolist() == t_ns.tolist()


def test_even_times_cost_nothing_a_row() -> None:
    t_ns = 1_700_000_000_000_000_000 + 100_000_000 * np.arange(1000)

    data = b"".join(encode_times(t_ns, int(t_ns[0])))

    # Two widths, and the first two steps at four bytes.
    assert len(data) == 2 + 8


def test_readings_that_left_the_reach_of_a_byte_are_far() -> None:
    reference, scales = np.array([100.0, 1.0]), np.array([0, 2], np.uint8)

    got = [
        is_far(np.array(row), reference, scales)
        for row in ([227.0, 2.27], [228.0, 1.0], [100.0, 2.28], [np.nan, np.nan])
    ]

    assert got == [False, True, True, False]
