"""Tests for monitor.rehearse.words.

Source: hand-worked here.
"""

from __future__ import annotations

import pytest

from monitor.channels.plan import Filtered
from monitor.rehearse.words import columns_text, filter_text, moment_text, span_text

S = 1_000_000_000


@pytest.mark.parametrize(
    ("span_ns", "text"),
    [
        (0, "0 s"),
        (250_000_000, "0.25 s"),
        (12_340_000_000, "12.3 s"),
        (59_900_000_000, "59.9 s"),
        (59_960_000_000, "1 min 00 s"),
        (60 * S, "1 min 00 s"),
        (3725 * S, "1 h 02 min"),
    ],
)
def test_a_span_is_written_with_what_matters(span_ns: int, text: str) -> None:
    assert span_text(span_ns) == text


def test_a_moment_is_written_to_a_tenth_and_never_ahead_of_itself() -> None:
    assert moment_text(1_000_000_000 * S + 990_000_000) == "01:46:40.9"


@pytest.mark.parametrize(
    ("row", "text"),
    [
        (None, "none"),
        (Filtered("a", "b", median_of=5), "median of 5"),
        (Filtered("a", "b", lag_ns=1_500_000_000), "lag 1.5 s"),
        (Filtered("a", "b", mean_ns=10 * S), "mean 10 s"),
    ],
)
def test_a_filter_is_named(row: Filtered | None, text: str) -> None:
    assert filter_text(row) == text


def test_columns_are_as_wide_as_their_widest_cell() -> None:
    assert columns_text([("a", "bb", "c"), ("aaa", "b", "")]) == ["a    bb  c", "aaa  b"]
