r"""Tests for drivers.decoding.text.

Source: hand-worked here.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.decoding.text import (
    BLANK,
    GARBLED,
    NO_NUMBER,
    NOT_A_NUMBER,
    OTHER_START,
    WRONG_COUNT,
    Rows,
    TextDecoder,
    TextLayout,
)

NAN = math.nan


def decode(lines: list[bytes], *fields: str, separator: str = ",", prefix: str = "") -> Rows:
    """Decode lines with a decoder of their own."""
    return TextDecoder(TextLayout(fields, separator, prefix)).decode(lines)


def reasons(rows: Rows) -> dict[str, int]:
    """Give the faults by reason."""
    return {fault.what: fault.number for fault in rows.faults}


def test_each_line_becomes_a_row() -> None:
    rows = decode([b"1.5,2", b"-3,4e2"], "a", "b")

    assert rows.values.tolist() == [[1.5, 2.0], [-3.0, 400.0]]
    assert rows.line_of is None
    assert rows.faults == []


def test_white_space_around_fields_and_a_carriage_return_do_no_harm() -> None:
    assert decode([b" 1.5 ,\t2\r"], "a", "b").values.tolist() == [[1.5, 2.0]]


def test_fields_without_a_name_may_hold_anything() -> None:
    rows = decode([b"T1,1.5,\xb0C", b"T2,2.5,"], "", "a", "")

    assert rows.values.tolist() == [[1.5], [2.5]]
    assert rows.faults == []


def test_signals_are_the_fields_with_a_name() -> None:
    assert TextLayout(("", "a", "", "b")).signals == ("a", "b")


def test_other_separators_work() -> None:
    assert decode([b"1;2", b"3;4"], "a", "b", separator=";").values.tolist() == [[1, 2], [3, 4]]


def test_a_separator_of_several_characters_works() -> None:
    assert decode([b"1 | 2"], "a", "b", separator=" | ").values.tolist() == [[1, 2]]


def test_a_decimal_comma_is_no_separator_in_disguise() -> None:
    rows = decode([b"1,5;2"], "a", "b", separator=";")

    assert np.isnan(rows.values[0, 0])
    assert rows.values[0, 1] == 2
    assert reasons(rows) == {NOT_A_NUMBER: 1}


def test_one_space_means_any_run_of_white_space() -> None:
    rows = decode([b"  1   2\t3 ", b"4 5 6\r"], "a", "b", "c", separator=" ")

    assert rows.values.tolist() == [[1, 2, 3], [4, 5, 6]]


def test_with_spaces_a_control_character_does_not_separate() -> None:
    rows = decode([b"1\x1f2"], "a", "b", separator=" ")

    assert len(rows.values) == 0
    assert reasons(rows) == {GARBLED: 1}


def test_the_prefix_is_taken_off() -> None:
    assert decode([b"A:1,2", b"A:3,4"], "a", "b", prefix="A:").values.tolist() == [
        [1, 2],
        [3, 4],
    ]


def test_with_spaces_the_prefix_is_taken_off_too() -> None:
    assert decode([b"  A 1 2"], "a", "b", separator=" ", prefix="A").values.tolist() == [[1, 2]]


@pytest.mark.parametrize(
    ("line", "what"),
    [
        (b"", BLANK),
        (b" \r", BLANK),
        (b"temperature,pressure", NO_NUMBER),
        (b"ready", NO_NUMBER),
        (b"1.5", WRONG_COUNT),
        (b"1,2,3", WRONG_COUNT),
        (b"1\xff5", GARBLED),
        (b"1,\xff\x00", GARBLED),
        (b"\x80\x81,\x82", GARBLED),
        (b"nan,nan", NOT_A_NUMBER),
        (b"inf,1e999", NOT_A_NUMBER),
        (b"1.2.3,--4", NOT_A_NUMBER),
    ],
)
def test_a_line_of_which_nothing_can_be_used_is_counted_by_reason(
    line: bytes, what: str
) -> None:
    rows = decode([b"1,2", line, b"3,4"], "a", "b")

    assert rows.values.tolist() == [[1, 2], [3, 4]]
    assert rows.line_of is not None
    assert rows.line_of.tolist() == [0, 2]
    assert list(reasons(rows)) == [what]
    assert rows.faults[0].example == line


@pytest.mark.parametrize(
    ("line", "what"),
    [
        (b"", BLANK),
        (b"ready", NO_NUMBER),
        (b"1,2", WRONG_COUNT),
        (b"\xff", GARBLED),
        (b"nan", NOT_A_NUMBER),
        (b"1_0", NOT_A_NUMBER),
    ],
)
def test_a_line_of_one_field_is_judged_the_same(line: bytes, what: str) -> None:
    rows = decode([line, b"5"], "a")

    assert rows.values.tolist() == [[5]]
    assert reasons(rows) == {what: 1}


@pytest.mark.parametrize("text", [b"nan", b"1e999", b"----", b"OVER", b"", b"1_0"])
def test_a_field_without_a_number_leaves_the_others_good(text: bytes) -> None:
    rows = decode([b"1," + text + b",3"], "a", "b", "c")

    assert rows.values[0, [0, 2]].tolist() == [1, 3]
    assert np.isnan(rows.values[0, 1])
    assert reasons(rows) == {NOT_A_NUMBER: 1}


def test_noise_in_a_wanted_field_spoils_the_whole_line() -> None:
    rows = decode([b"1,2\xf73"], "a", "b")

    assert len(rows.values) == 0
    assert reasons(rows) == {GARBLED: 1}


def test_a_line_with_another_beginning_is_counted_as_such() -> None:
    rows = decode([b"B1,2", b"A3,4"], "a", "b", prefix="A")

    assert rows.values.tolist() == [[3, 4]]
    assert reasons(rows) == {OTHER_START: 1}


def test_noise_before_the_prefix_is_called_noise() -> None:
    assert reasons(decode([b"\xf7A1,2"], "a", "b", prefix="A")) == {GARBLED: 1}


def test_a_line_too_long_by_one_field_does_not_lend_it_to_a_shorter_one() -> None:
    rows = decode([b"1,2,3", b"4", b"5,6"], "a", "b")

    assert rows.values.tolist() == [[5, 6]]
    assert reasons(rows) == {WRONG_COUNT: 2}


def test_of_many_faults_the_newest_is_the_example() -> None:
    rows = decode([b"1", b"2", b"3"], "a", "b")

    assert [(fault.number, fault.example) for fault in rows.faults] == [(3, b"3")]


def test_no_lines_give_no_rows() -> None:
    assert decode([], "a", "b").values.shape == (0, 2)


FIELDS = st.sampled_from([b"1", b"-2.5", b"+03", b"x", b"", b"nan", b"\xff", b"1e999"])
LINES = st.lists(st.lists(FIELDS, min_size=1, max_size=4).map(b",".join), max_size=8)
NAMES = st.sampled_from([("a",), ("a", "b"), ("", "a"), ("a", "", "b")])


@given(lines=LINES, fields=NAMES)
def test_lines_in_bulk_are_read_as_line_by_line(
    lines: list[bytes], fields: tuple[str, ...]
) -> None:
    bulk = decode(lines, *fields)
    single = [decode([line], *fields) for line in lines]

    expected = np.concatenate([row.values for row in single] or [bulk.values])
    np.testing.assert_array_equal(bulk.values, expected)
    assert sum(reasons(bulk).values()) == sum(sum(reasons(row).values()) for row in single)


@given(lines=LINES, fields=NAMES)
def test_no_line_is_lost_in_silence(lines: list[bytes], fields: tuple[str, ...]) -> None:
    rows = decode(lines, *fields)
    refused = len(lines) - len(rows.values)

    assert refused <= sum(reasons(rows).values())
    assert not np.isinf(rows.values).any()
