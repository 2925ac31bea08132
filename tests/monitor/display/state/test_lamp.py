"""Tests for monitor.display.state.lamp.

Source: hand-worked here: three seconds, four tones, marks change twice in each.
"""

from __future__ import annotations

import pytest

from monitor.display.state.alarm_rows import PriorityCount
from monitor.display.state.lamp import LAMP_TEST_NS, Lamps, LampTest

MS = 1_000_000
BEGUN = 5_000 * MS


def lamps(after_ms: int, sounding: str = "", sounded: str = "") -> Lamps | None:
    """Give what a test shows so long after its begin."""
    test = LampTest()
    test.begin(BEGUN, sounded)
    return test.at(BEGUN + after_ms * MS, sounding)


def test_without_a_test_nothing_is_shown() -> None:
    assert LampTest().at(BEGUN, "") is None


@pytest.mark.parametrize(
    ("after_ms", "tone"),
    [(0, "top"), (749, "top"), (750, "high"), (1500, "medium"), (2250, "low"), (2999, "low")],
)
def test_every_tone_sounds_in_turn(after_ms: int, tone: str) -> None:
    shown = lamps(after_ms)

    assert shown is not None
    assert shown.sounding == tone
    assert tone in shown.headline


def test_marks_change_between_filled_and_outlined() -> None:
    shown = [lamps(after_ms) for after_ms in (0, 374, 375, 749, 750)]

    assert [one.is_filled for one in shown if one] == [True, True, False, False, True]


def test_every_priority_is_lit() -> None:
    filled, outlined = lamps(0), lamps(400)

    assert filled is not None
    assert outlined is not None
    assert [one.priority for one in filled.counts] == ["top", "high", "medium", "low"]
    assert filled.counts[0] == PriorityCount("top", 8, 8)
    assert outlined.counts[0] == PriorityCount("top", 0, 8)


def test_the_seconds_left_are_counted_down() -> None:
    texts = [one.headline for one in (lamps(0), lamps(1), lamps(1000), lamps(2999)) if one]

    assert [text.split(", ")[1][:3] for text in texts] == ["3 s", "3 s", "2 s", "1 s"]


def test_it_ends_by_itself() -> None:
    assert lamps(LAMP_TEST_NS // MS) is None


def test_a_new_alarm_ends_it_for_good() -> None:
    test = LampTest()
    test.begin(BEGUN, "")

    assert test.at(BEGUN + MS, "low") is None
    assert test.at(BEGUN + 2 * MS, "") is None


@pytest.mark.parametrize(("sounded", "sounding", "goes_on"), [
    ("high", "high", True), ("high", "", True), ("high", "top", False),
])  # fmt: skip
def test_what_sounded_before_does_not_end_it(
    sounded: str, sounding: str, goes_on: bool
) -> None:
    assert (lamps(10, sounding, sounded) is not None) is goes_on
