"""Tests for monitor.channels.voted.

Source: Hand-worked here, from limit rules 11 (saturation) and 13 (votes) in DEVELOPERS.md.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from monitor.channels.plan import Take, Voted
from monitor.channels.voted import vote_of
from monitor.samples import Quality
from tests.monitor.channels.made import NAN, S
from tests.monitor.channels.voting import plan_with, run, told, vote

Q = Quality
BAD = (NAN, Q.STALE)


def at_once(
    votes: Sequence[tuple[float, int]], take: Take = Take.VALUE, needed: int = 2
) -> tuple[float | None, int]:
    """Give the result of A, B and perhaps C at one instant."""
    inputs = "ABC"[: len(votes)]
    plan = plan_with(vote(take, inputs, needed))
    draft = run(plan, {tag: [(1, *one)] for tag, one in zip(inputs, votes, strict=True)})
    ((_, value, quality),) = told(plan, draft)
    return value, quality


def good(*values: float) -> list[tuple[float, int]]:
    """Give good votes."""
    return [(value, Q.GOOD) for value in values]


@pytest.mark.parametrize(
    ("values", "take", "needed", "expected"),
    [
        ((7.0, 1.0, 3.0), Take.VALUE, 2, 3.0),
        ((7.0, 1.0, 3.0), Take.UPPER, 2, 3.0),
        ((7.0, 1.0, 3.0), Take.LOWER, 2, 3.0),
        ((7.0, 1.0, 3.0), Take.SPREAD, 2, 6.0),
        ((7.0, 1.0, 3.0), Take.UPPER, 1, 7.0),
        ((7.0, 1.0, 3.0), Take.LOWER, 3, 7.0),
        ((7.0, 2.0), Take.VALUE, 1, 4.5),
        ((7.0, 2.0), Take.UPPER, 1, 7.0),
        ((7.0, 2.0), Take.LOWER, 1, 2.0),
        ((7.0, 2.0), Take.UPPER, 2, 2.0),
        ((7.0, 2.0), Take.LOWER, 2, 7.0),
        ((7.0, 2.0), Take.SPREAD, 2, 5.0),
    ],
)
def test_with_all_there_as_many_decide_as_are_needed(
    values: tuple[float, ...], take: Take, needed: int, expected: float
) -> None:
    assert at_once(good(*values), take, needed) == (expected, Q.GOOD)


@pytest.mark.parametrize(
    ("take", "expected"),
    [(Take.VALUE, 5.0), (Take.UPPER, 7.0), (Take.LOWER, 3.0), (Take.SPREAD, 4.0)],
)
def test_of_three_with_one_lost_one_of_two_decides(take: Take, expected: float) -> None:
    assert at_once([(7.0, 0), BAD, (3.0, 0)], take) == (expected, Q.GOOD)


@pytest.mark.parametrize("take", [Take.VALUE, Take.UPPER, Take.LOWER])
@pytest.mark.parametrize("votes", [[BAD, BAD, (3.0, 0)], [BAD, (3.0, 0)]])
def test_a_last_one_decides_alone_and_is_uncertain(
    take: Take, votes: list[tuple[float, int]]
) -> None:
    assert at_once(votes, take) == (3.0, Q.LONE_SENSOR)


def test_a_spread_of_one_is_bad() -> None:
    assert at_once([BAD, BAD, (3.0, 0)], Take.SPREAD) == (None, Q.TOO_FEW)


@pytest.mark.parametrize("take", list(Take))
def test_with_none_left_the_result_is_bad(take: Take) -> None:
    assert at_once([BAD, BAD, BAD], take) == (None, Q.TOO_FEW)


@pytest.mark.parametrize("take", list(Take))
def test_an_uncertain_vote_makes_the_result_uncertain(take: Take) -> None:
    votes = [(7.0, 0), (3.0, Q.CALIBRATION_OVERDUE), (1.0, 0)]

    assert at_once(votes, take)[1] == Q.INPUT_UNCERTAIN


def test_a_value_forced_by_hand_has_no_vote() -> None:
    assert at_once([(7.0, 0), (99.0, Q.FORCED), (3.0, 0)], Take.UPPER) == (7.0, Q.GOOD)


def test_the_mean_of_two_does_not_overflow() -> None:
    assert at_once(good(1e300, 1e300)) == (1e300, Q.GOOD)


def test_a_spread_beyond_all_numbers_is_bad() -> None:
    assert at_once(good(1e300, -1e300), Take.SPREAD) == (None, Q.NOT_FINITE)


HIGH, LOW = (20.0, Q.SATURATED_HIGH), (0.0, Q.SATURATED_LOW)


@pytest.mark.parametrize(
    ("votes", "take", "expected"),
    [
        # Two of three needed: two beyond what they can read raise high-high.
        ([HIGH, (5.0, 0), HIGH], Take.UPPER, HIGH),
        ([HIGH, (5.0, 0), (3.0, 0)], Take.UPPER, (5.0, Q.INPUT_UNCERTAIN)),
        ([LOW, (5.0, 0), (3.0, 0)], Take.UPPER, (3.0, Q.INPUT_UNCERTAIN)),
        ([LOW, (5.0, 0), LOW], Take.LOWER, LOW),
        ([LOW, (5.0, 0), (3.0, 0)], Take.LOWER, (3.0, Q.INPUT_UNCERTAIN)),
        # One of two: the saturated one decides.
        ([HIGH, (5.0, 0), BAD], Take.UPPER, HIGH),
        ([LOW, (5.0, 0), BAD], Take.LOWER, LOW),
        ([LOW, (5.0, 0), BAD], Take.UPPER, (5.0, Q.INPUT_UNCERTAIN)),
        # A lone one: a bound says more than that it is alone.
        ([HIGH, BAD, BAD], Take.UPPER, HIGH),
        ([HIGH, BAD, BAD], Take.VALUE, HIGH),
        # The middle one; a mean of two.
        ([HIGH, LOW, (5.0, 0)], Take.VALUE, (5.0, Q.INPUT_UNCERTAIN)),
        ([HIGH, HIGH, (5.0, 0)], Take.VALUE, HIGH),
        ([HIGH, (5.0, 0), BAD], Take.VALUE, (12.5, Q.INPUT_UNCERTAIN)),
        ([LOW, HIGH, BAD], Take.VALUE, (10.0, Q.INPUT_UNCERTAIN)),
        ([HIGH, (5.0, 0), (3.0, 0)], Take.SPREAD, (17.0, Q.INPUT_UNCERTAIN)),
    ],
)
def test_a_saturated_sensor_is_beyond_all_that_others_read(
    votes: list[tuple[float, int]], take: Take, expected: tuple[float, int]
) -> None:
    assert at_once(votes, take) == expected


def test_a_saturated_sensor_of_a_small_range_is_still_above_one_of_a_wide_range() -> None:
    votes = [(20.0, Q.SATURATED_HIGH), (50.0, 0), (40.0, 0)]

    assert at_once(votes, Take.UPPER) == (50.0, Q.INPUT_UNCERTAIN)
    assert at_once(votes, Take.SPREAD) == (30.0, Q.INPUT_UNCERTAIN)


def test_a_sensor_that_saturates_low_is_still_below_one_that_reads_less() -> None:
    votes = [(0.0, Q.SATURATED_LOW), (-50.0, 0), (-40.0, 0)]

    assert at_once(votes, Take.LOWER) == (-50.0, Q.INPUT_UNCERTAIN)


@pytest.mark.parametrize(
    ("inputs", "needed", "why"),
    [
        (("A",), 1, "two or three different"),
        (("A", "A"), 1, "two or three different"),
        (("A", "B", "C", "link:gas"), 1, "two or three different"),
        (("A", "B"), 3, "3 of 2 cannot be needed"),
        (("A", "B"), 0, "0 of 2 cannot be needed"),
        (("A", "V"), 1, "comes after it"),
    ],
)
def test_a_vote_that_cannot_be_held_is_refused(
    inputs: tuple[str, ...], needed: int, why: str
) -> None:
    voted = Voted("V", inputs, needed, S)

    with pytest.raises(ValueError, match=why):
        vote_of(voted, plan_with(voted))
