"""Tests for monitor.display.state.severity.

Source: the quality words and their bounds in monitor.samples; priorities as the stand file
spells them.
"""

from __future__ import annotations

import pytest

from monitor.display.state.severity import Severity, rank_of, severity_of_quality
from monitor.samples import Quality


@pytest.mark.parametrize(
    ("quality", "expected"),
    [
        (Quality.GOOD, Severity.CALM),
        (Quality.CALIBRATION_OVERDUE, Severity.DOUBT),
        (Quality.SATURATED_HIGH, Severity.DOUBT),
        (Quality.OUT_OF_RANGE, Severity.BAD),
        (Quality.WAITING, Severity.BAD),
        (0xFF, Severity.BAD),
    ],
)
def test_a_quality_byte_gives_how_far_from_normal_it_is(
    quality: int, expected: Severity
) -> None:
    assert severity_of_quality(quality) is expected


def test_the_most_urgent_priority_ranks_first_and_unknown_ones_last() -> None:
    words = ["journal", "low", "top", "medium", "high"]

    assert sorted(words, key=rank_of) == ["top", "high", "medium", "low", "journal"]
