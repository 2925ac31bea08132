"""Tests for drivers.decoding.json_payload.

Source: hand-worked here; pointers by RFC 6901.
"""

from __future__ import annotations

import numpy as np
import pytest

from drivers.decoding.json_payload import (
    BAD_TIMES,
    EMPTY,
    MISSING_POINTER,
    NOT_A_NUMBER,
    NOT_JSON,
    NS_OF_UNIT,
    TOO_LONG,
    PayloadDecoder,
    PayloadLayout,
)

PLAIN = PayloadDecoder(PayloadLayout())


def by(*pointers: str, times: str | None = None, unit: str = "s") -> PayloadDecoder:
    """Make a decoder of JSON."""
    return PayloadDecoder(PayloadLayout(pointers, times, NS_OF_UNIT[unit]))


@pytest.mark.parametrize(
    ("payload", "value"), [(b"12.5", 12.5), (b" -3\n", -3.0), (b"+1e2", 100.0), (b"007", 7.0)]
)
def test_a_plain_number_is_a_row(payload: bytes, value: float) -> None:
    samples = PLAIN.decode(payload)

    assert samples.values.tolist() == [[value]]
    assert samples.faults == {}


@pytest.mark.parametrize(
    "payload",
    [b"", b"nan", b"inf", b"1e999", b"1_0", b"12 kPa", b'"1"', b"\xff", b"{}", b"true"],
)
def test_a_payload_that_is_no_plain_number_is_counted(payload: bytes) -> None:
    samples = PLAIN.decode(payload)

    assert samples.values.shape == (0, 1)
    assert samples.faults == {NOT_A_NUMBER: 1}


def test_a_pointer_finds_the_value() -> None:
    assert by("/cabin/p").decode(b'{"cabin":{"p":37.9}}').values.tolist() == [[37.9]]


def test_the_empty_pointer_is_the_whole_payload() -> None:
    assert by("").decode(b"[1,2]").values.tolist() == [[1], [2]]


def test_several_pointers_give_several_columns() -> None:
    assert by("/p", "/t").decode(b'{"t":20,"p":37.9}').values.tolist() == [[37.9, 20]]


@pytest.mark.parametrize(
    ("payload", "what"),
    [
        (b"", NOT_JSON),
        (b"hello", NOT_JSON),
        (b'{"v":1', NOT_JSON),
        (b'{"v":NaN}', NOT_JSON),
        (b'{"v":"\xff"}', NOT_JSON),
        (b"\x00\xff", NOT_JSON),
        (b"[" * 100_000, NOT_JSON),
        (b'{"v":1e999}', NOT_A_NUMBER),
        (b'{"v":"12.5"}', NOT_A_NUMBER),
        (b'{"v":true}', NOT_A_NUMBER),
        (b'{"v":null}', NOT_A_NUMBER),
        (b'{"v":{}}', NOT_A_NUMBER),
        (b'{"v":[]}', EMPTY),
        (b'{"w":1}', MISSING_POINTER),
        (b"[1]", MISSING_POINTER),
        (b"12.5", MISSING_POINTER),
    ],
)
def test_a_payload_of_which_nothing_can_be_used_is_counted_by_reason(
    payload: bytes, what: str
) -> None:
    samples = by("/v").decode(payload)

    assert len(samples.values) == 0
    assert samples.faults == {what: 1}


def test_an_integer_that_no_float_holds_is_not_a_number() -> None:
    assert by("").decode(b"9" * 400).faults == {NOT_A_NUMBER: 1}


def test_a_payload_that_is_too_long_is_not_even_looked_at() -> None:
    decoder = PayloadDecoder(PayloadLayout(max_len=4))

    assert decoder.decode(b"12345").faults == {TOO_LONG: 1}
    assert decoder.decode(b"1234").values.tolist() == [[1234]]


def test_one_missing_value_leaves_the_others_good() -> None:
    samples = by("/p", "/t").decode(b'{"p":37.9}')

    assert samples.values[0, 0] == 37.9
    assert np.isnan(samples.values[0, 1])
    assert samples.faults == {MISSING_POINTER: 1}


def test_one_bad_value_of_an_array_is_a_gap_in_it() -> None:
    samples = by("/v").decode(b'{"v":[1,null,"3",true,5]}')

    assert samples.values[[0, 4], 0].tolist() == [1, 5]
    assert np.isnan(samples.values[1:4, 0]).all()
    assert samples.faults == {NOT_A_NUMBER: 3}


def test_an_array_of_another_length_is_left_out_and_counted() -> None:
    samples = by("/a", "/b").decode(b'{"a":[1,2,3],"b":[4,5]}')

    assert samples.values[:, 0].tolist() == [1, 2, 3]
    assert np.isnan(samples.values[:, 1]).all()
    assert samples.faults == {"arrays of different lengths": 1}


@pytest.mark.parametrize(
    ("unit", "text"),
    [
        ("s", b"1764000000.25,1764000000.5"),
        ("ms", b"1764000000250,1764000000500"),
        ("us", b"1764000000250000,1764000000500000"),
        ("ns", b"1764000000250000000,1764000000500000000"),
    ],
)
def test_times_are_read_in_their_unit(unit: str, text: bytes) -> None:
    samples = by("/v", times="/t", unit=unit).decode(b'{"v":[1,2],"t":[' + text + b"]}")

    assert samples.device_ns is not None
    assert samples.device_ns.tolist() == [1764000000250000000, 1764000000500000000]


def test_a_time_in_seconds_keeps_its_microseconds() -> None:
    samples = by("/v", times="/t").decode(b'{"v":1,"t":1764000000.123456}')

    assert samples.device_ns is not None
    # A float holds a present time to 2**-22 s = 238 ns; half of that is the error.
    assert abs(samples.device_ns[0] - 1764000000123456000) < 120


def test_one_value_may_have_one_time() -> None:
    samples = by("/v", times="/t", unit="ms").decode(b'{"v":1.5,"t":7}')

    assert samples.values.tolist() == [[1.5]]
    assert samples.device_ns is not None
    assert samples.device_ns.tolist() == [7_000_000]


@pytest.mark.parametrize("times", [b"[0,3600]", b"[7258118399,7258118400]"])
def test_times_at_the_bounds_are_taken(times: bytes) -> None:
    samples = by("/v", times="/t").decode(b'{"v":[1,2],"t":' + times + b"}")

    assert samples.values.tolist() == [[1], [2]]


@pytest.mark.parametrize(
    "times",
    [
        b"[1]",
        b"[1,2,3]",
        b"[2,1]",
        b"[1,1]",
        b"[1,null]",
        b'["1","2"]',
        b"[true,2]",
        b"[-1,1]",
        b"[1,1e300]",
        b"[1,99999999999999999999999999]",
        b"[0,3601]",
        b"[7258118400,7258118401]",
        b"[]",
        b"{}",
    ],
)
def test_times_that_do_not_fit_spoil_the_message(times: bytes) -> None:
    samples = by("/v", times="/t").decode(b'{"v":[1,2],"t":' + times + b"}")

    assert len(samples.values) == 0
    assert samples.faults == {BAD_TIMES: 1}


def test_missing_times_spoil_the_message() -> None:
    samples = by("/v", times="/t").decode(b'{"v":[1,2]}')

    assert len(samples.values) == 0
    assert samples.faults == {MISSING_POINTER: 1}


def test_a_malformed_pointer_is_refused_at_once() -> None:
    with pytest.raises(ValueError, match="must begin"):
        by("v")
