"""Tests for monitor.display.state.text.

Source: hand-worked here.
"""

from __future__ import annotations

import math

import pytest

from monitor.display.state.text import (
    NS,
    age_text,
    bytes_text,
    clock_text,
    date_text,
    duration_text,
    number_text,
    plain_number,
    sentence,
    span_text,
)


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (1.25, 1, "1.2"),
        (-3.0, 2, "−3.00"),
        (-0.04, 1, "0.0"),
        (0.0, 0, "0"),
        (None, 1, "---"),
        (math.nan, 1, "---"),
        (math.inf, 1, "---"),
    ],
)
def test_a_number_is_written_with_its_decimals_and_nothing_else_looks_like_one(
    value: float | None, decimals: int, text: str
) -> None:
    assert number_text(value, decimals) == text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (-5, "0 s"),
        (59, "59 s"),
        (60, "1 min 00 s"),
        (3599, "59 min 59 s"),
        (3660, "1 h 01 min"),
        (86400, "1 d 00 h"),
    ],
)
def test_a_duration_has_the_two_units_that_matter(seconds: int, text: str) -> None:
    assert duration_text(seconds * NS) == text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(-1, "0 s"), (59, "59 s"), (119, "1 min"), (7199, "1 h"), (90000, "1 d")],
)
def test_an_age_has_one_unit_and_is_never_rounded_up(seconds: int, text: str) -> None:
    assert age_text(seconds * NS) == text


@pytest.mark.parametrize(("seconds", "text"), [(5, "5 s"), (300, "5 min"), (14400, "4 h")])
def test_a_span_is_as_short_as_it_goes(seconds: int, text: str) -> None:
    assert span_text(seconds) == text


def test_clock_and_date_are_utc() -> None:
    t_ns = 1_772_366_400 * NS + 61 * NS + 999

    assert (date_text(t_ns), clock_text(t_ns)) == ("2026-03-01", "12:01:01")


def test_bytes_become_mebibytes_from_one_on() -> None:
    assert (bytes_text(1024), bytes_text(1_572_864)) == ("1024 bytes", "1.5 MiB")


@pytest.mark.parametrize(
    ("text", "expected"), [("no link", "No link."), ("Look. ", "Look."), ("", "")]
)
def test_what_a_program_said_becomes_a_sentence(text: str, expected: str) -> None:
    assert sentence(text) == expected


@pytest.mark.parametrize(
    ("value", "text"), [(20.0, "20"), (3.14159, "3.142"), (math.inf, "inf")]
)
def test_a_figure_of_unknown_kind_is_whole_where_it_is(value: float, text: str) -> None:
    assert plain_number(value) == text
