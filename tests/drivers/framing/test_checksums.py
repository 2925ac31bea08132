"""Tests for drivers.framing.checksums.

Source: NMEA 0183 example sentences as they stand in many public manuals, and the exclusive or
of '123456789', worked by hand: 0x31 ^ 0x32 ^ ... ^ 0x39 = 0x31.
"""

from __future__ import annotations

import pytest

from drivers.framing.checksums import keep_xor_checked, xor_of

# Sentences with their checksums, copied.
SENTENCES = [
    b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47",
    b"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A",
    b"$GPGSA,A,3,04,05,,09,12,,,24,,,,,2.5,1.3,2.1*39",
]


def test_the_check_value_is_right() -> None:
    assert xor_of(b"123456789") == 0x31


def test_of_nothing_it_is_zero() -> None:
    assert xor_of(b"") == 0


@pytest.mark.parametrize("sentence", SENTENCES)
def test_a_published_sentence_passes_and_loses_its_frame(sentence: bytes) -> None:
    bodies, wrong = keep_xor_checked([sentence + b"\r"])

    assert (bodies, wrong) == ([sentence[1:-3]], [])


def test_an_exclamation_mark_in_front_is_not_summed_either() -> None:
    assert keep_xor_checked([b"!123456789*31"]) == ([b"123456789"], [])


def test_without_a_mark_in_front_the_whole_body_is_summed() -> None:
    assert keep_xor_checked([b"123456789*31"]) == ([b"123456789"], [])


def test_an_empty_body_has_the_sum_zero() -> None:
    assert keep_xor_checked([b"*00"]) == ([b""], [])


def test_lower_case_digits_are_taken() -> None:
    assert keep_xor_checked([SENTENCES[1].replace(b"6A", b"6a")])[1] == []


@pytest.mark.parametrize(
    "line",
    [b"123456789*30", b"123456788*31", b"123456789", b"", b"*", b"*3", b"12*3g", b"$", b"1*+1"],
)
def test_a_line_that_does_not_pass_is_given_back(line: bytes) -> None:
    assert keep_xor_checked([line]) == ([], [line])


@pytest.mark.parametrize("place", range(1, 9))
def test_any_single_wrong_bit_is_found(place: int) -> None:
    for bit in range(8):
        line = bytearray(b"123456789*31")
        line[place] ^= 1 << bit

        assert keep_xor_checked([bytes(line)])[0] == []
