"""Tests for drivers.decoding.numbers.

Source: hand-worked here; Python's own float() says what a decimal number is worth.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from drivers.decoding.numbers import NumberReader, number_in

GOOD = [
    (b"12.5", 12.5),
    (b"+012.50", 12.5),
    (b"-.5", -0.5),
    (b"7.", 7.0),
    (b" 1e-3\r", 0.001),
    (b"-0", 0.0),
    (b"123456789012345678901234", 123456789012345678901234.0),
    (b"1e-400", 0.0),
]
BAD = [
    b"",
    b" ",
    b"nan",
    b"-inf",
    b"Infinity",
    b"1e999",
    b"1_0",
    b"0x10",
    b"1 2",
    b"1,2",
    b"----",
]
BAD += [b"12.3.4", b"\xff", b"1\x00", b"true", b"null", b'"1"', b"[1]", b"1]", b"[1"]

PIECES = st.lists(
    st.sampled_from([*BAD, *(text for text, _ in GOOD)])
    | st.floats().map(lambda value: repr(value).encode())
    | st.text("0123456789+-.eE_", max_size=6).map(str.encode),
    max_size=12,
)


def same(first: list[float], second: list[float]) -> bool:
    """Whether two lists hold the same numbers, NaN where the other has NaN."""
    return len(first) == len(second) and all(
        one == two or (math.isnan(one) and math.isnan(two))
        for one, two in zip(first, second, strict=True)
    )


@pytest.mark.parametrize(("text", "value"), GOOD)
def test_a_number_in_any_usual_form_is_read(text: bytes, value: float) -> None:
    assert number_in(text) == value


@pytest.mark.parametrize("text", BAD)
def test_everything_else_is_not_a_number(text: bytes) -> None:
    assert math.isnan(number_in(text))


@given(pieces=PIECES, after=PIECES)
@example(pieces=[b"1,2", b"3"], after=[])
@example(pieces=[b"+1"], after=[b"1_0"])
@example(pieces=[b"+1"], after=[b"1e999"])
@example(pieces=[b"+1e308", b"1e308"], after=[])
@example(pieces=[b"[1", b"2]"], after=[])
def test_many_are_read_as_one_by_one(pieces: list[bytes], after: list[bytes]) -> None:
    reader = NumberReader()

    assert same(reader.read(pieces).tolist(), list(map(number_in, pieces)))
    assert same(reader.read(after).tolist(), list(map(number_in, after)))


@given(pieces=PIECES.filter(lambda pieces: pieces and not any(b"," in one for one in pieces)))
def test_joined_ones_are_read_as_separate_ones(pieces: list[bytes]) -> None:
    joined = NumberReader().read_joined(b",".join(pieces))

    assert same(joined.tolist(), list(map(number_in, pieces)))


def test_after_numbers_that_are_no_json_the_other_way_is_tried_first() -> None:
    reader = NumberReader()
    reader.read([b"+1", b"+2"])

    assert reader.read([b"1", b"2"]).tolist() == [1.0, 2.0]
    assert not reader._is_plain
