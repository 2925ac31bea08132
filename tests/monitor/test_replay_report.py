"""Tests for monitor.replay_report.

Source: hand-worked here.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from monitor.record.journal import JournalCheck
from monitor.replay import ReplayResult
from monitor.replay_report import replay_lines

WHOLE = JournalCheck(count=40, head="aa", broken_line=0, why="", torn_bytes=0)
EQUAL = ReplayResult(
    verdict="equal",
    lines_made=40,
    lines_recorded=40,
    lines_ahead=0,
    lines_behind=0,
    lines_unsure=0,
    line=0,
    made="",
    recorded="",
    steps=68,
    problems=(),
    journal=WHOLE,
)


def test_an_equal_journal_is_two_lines() -> None:
    assert replay_lines(EQUAL) == [
        "equal: every line of the journal came out again, byte for byte",
        "68 steps gave 40 lines; the journal on disk has 40",
    ]


@pytest.mark.parametrize(
    ("result", "words"),
    [
        (replace(EQUAL, verdict="ahead", lines_ahead=3), "goes 3 lines further"),
        (replace(EQUAL, verdict="behind", lines_behind=4), "gives 4 lines more"),
        (replace(EQUAL, verdict="gaps", lines_unsure=5), "5 lines lack their readings"),
    ],
)
def test_what_a_crash_left_is_told_with_its_number(result: ReplayResult, words: str) -> None:
    assert words in replay_lines(result)[0]


def test_the_first_line_that_differs_is_shown_both_ways() -> None:
    lines = replay_lines(replace(EQUAL, verdict="differs", line=7, made="new", recorded=""))

    assert lines[:3] == [
        "DIFFERS at line 7",
        "  on disk:  (no such line)",
        "  replayed: new",
    ]


def test_what_of_the_log_cannot_be_read_is_told() -> None:
    assert "in the log: 12 bytes lost" in replay_lines(
        replace(EQUAL, problems=("12 bytes lost",))
    )


def test_a_journal_that_was_changed_is_told_loudly() -> None:
    broken = replace(WHOLE, broken_line=9, why="its hash is wrong")
    lines = replay_lines(replace(EQUAL, journal=broken))

    assert lines[-1] == "THE JOURNAL WAS CHANGED: line 9: its hash is wrong"


def test_a_torn_end_is_told() -> None:
    lines = replay_lines(replace(EQUAL, journal=replace(WHOLE, torn_bytes=17)))

    assert lines[-1] == "the journal ends with 17 bytes of a torn line"
