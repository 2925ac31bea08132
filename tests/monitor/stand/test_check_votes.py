"""Tests for monitor.stand.check_votes.

Source: hand-worked here; the good file is that of conftest.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.errors import Problem
from tests.monitor.stand.kinds_stand import with_more

VOTE = 'vote = ["PT-101", "PT-102"]\n'


def said_of(
    new: str, good: str, problems: Callable[..., list[Problem]]
) -> list[tuple[str, str]]:
    """Write the vote otherwise; give what is said."""
    text = with_more(good)
    assert text.count(VOTE) == 1
    return [(p.key, p.text) for p in problems(text.replace(VOTE, new))]


@pytest.mark.parametrize(
    ("new", "key", "text"),
    [
        ('vote = ["PT-101"]\n', "vote", "names 1 channels; two or three vote"),
        ("vote = []\n", "vote", "names 0 channels; two or three vote"),
        ('vote = ["PT-101", "PT-101"]\n', "vote[2]", "PT-101 votes already"),
        (
            'vote = ["PT-101", "PT-10"]\n',
            "vote[2]",
            "unknown channel 'PT-10'; did you mean 'PT-103'?",
        ),
        (
            'vote = ["PT-101", "PT-103"]\n',
            "vote[2]",
            "PT-103 is in 'bar' but the voted channel in 'kPa'; a vote is in one unit",
        ),
        (
            'vote = ["PT-101", "ZS-101"]\n',
            "vote[2]",
            "ZS-101 is in '1' but the voted channel in 'kPa'; a vote is in one unit",
        ),
        ('vote = ["PT-101", "PT-100"]\n', "vote", "computed from itself: PT-100 -> PT-100"),
        (
            VOTE + "needed = 3\n",
            "needed",
            "of 2 sensors 1 or 2 decide, not 3; write needed = 2",
        ),
        (VOTE + "needed = 0\n", "needed", "must be at least 1, is 0"),
        (
            'vote = ["PT-101", "PT-102", "PDT-101"]\nneeded = 3\n',
            "needed",
            "of 3 sensors 2 decide, not 3; write needed = 2",
        ),
        (VOTE + 'clock = "PT-101"\n', "clock", "belongs to a computed channel only"),
        (
            VOTE + 'formula = "a"\ninputs = { a = "PT-101" }\n',
            "vote",
            "stands beside a formula; take one of them out",
        ),
    ],
)
def test_a_mistake_in_a_vote_is_told(
    new: str, key: str, text: str, good: str, problems: Callable[..., list[Problem]]
) -> None:
    assert said_of(new, good, problems) == [(f"channels.PT-100.{key}", text)]


@pytest.mark.parametrize(
    "new",
    [
        VOTE,
        VOTE + "needed = 1\n",
        VOTE + "needed = 2\nlargest_skew_s = 3\n",
        'vote = ["PT-101", "PT-102", "PDT-101"]\nneeded = 2\n',
    ],
)
def test_votes_of_two_and_of_three_are_taken(
    new: str, good: str, problems: Callable[..., list[Problem]]
) -> None:
    assert said_of(new, good, problems) == []


def test_needed_without_a_vote_is_told_as_of_another_sort(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    said = problems(good.replace("decimals = 1\n", "decimals = 1\nneeded = 2\n"))

    assert [(p.key, p.text) for p in said] == [
        ("channels.PT-101.needed", "belongs to a voted channel only")
    ]


def test_two_voters_on_one_signal_are_one_sensor(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    text = with_more(good)
    source = next(line for line in text.splitlines() if line.startswith('source = "panel.p2'))
    said = problems(text.replace(source, 'source = "panel.p1"'))

    assert (
        "channels.PT-100.vote[2]",
        "PT-102 and PT-101 read the same signal, panel.p1: one sensor would vote twice; "
        "give each a source of its own",
    ) in [(p.key, p.text) for p in said]
