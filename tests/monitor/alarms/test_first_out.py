"""Tests for monitor.alarms.first_out.

Source: Hand-worked here, from the project's own limit rule 18: by onset corrected for filter
lag; within one sample period of each other undetermined; suppressed alarms take no part.
"""

from __future__ import annotations

from itertools import permutations

import pytest

from monitor.alarms.core import Core, Inhibit
from monitor.alarms.first_out import Answer, Group, groups_of
from monitor.alarms.plan import Alarm
from monitor.alarms.status import AlarmStatus
from tests.monitor.alarms.made import alarm

#: Three members: sampled each 10 ns, each 10 ns with a lag of 100 ns, each 50 ns.
ROWS = (
    alarm("A.high", group="loss", period_ns=10),
    alarm("B.high", group="loss", period_ns=10, lag_ns=100),
    alarm("C.high", group="loss", period_ns=50),
)


def group_of(rows: tuple[Alarm, ...] = ROWS) -> Group:
    """Make the one group."""
    (group,) = groups_of(rows)
    return group


def standing(count: int = 3) -> list[AlarmStatus]:
    """Make alarms that stand and are not acknowledged."""
    return [AlarmStatus(str(i), Core.UNACKNOWLEDGED, is_active=True) for i in range(count)]


def answer(*came: tuple[int, int]) -> Answer | None:
    """Give the answer after members came with their onsets."""
    group = group_of()
    for i, onset_ns in came:
        group.note(i, onset_ns)
    group.settle(standing())
    return group.answer


def test_alarms_without_a_group_make_none() -> None:
    assert groups_of([alarm("A.high"), alarm("B.high")]) == []


def test_groups_come_in_the_order_of_their_first_members() -> None:
    rows = [alarm("A.high", group="z"), alarm("B.high", group="a"), alarm("C.high", group="z")]

    assert [group.name for group in groups_of(rows)] == ["z", "a"]


def test_a_group_has_its_members_and_no_others() -> None:
    rows = [alarm("A.high", group="z"), alarm("B.high", group="a"), alarm("C.high", group="z")]

    assert [[i for i, _ in group.marks()] for group in groups_of(rows)] == [[0, 2], [1]]


def test_the_only_one_is_the_first() -> None:
    assert answer((0, 1000)) == Answer(1000, (0,))


def test_the_earlier_onset_is_the_first() -> None:
    assert answer((0, 1000), (1, 1000)) == Answer(900, (1,))


@pytest.mark.parametrize(
    ("apart_ns", "among"), [(9, (0, 1)), (10, (0, 1)), (11, (0,)), (0, (0, 1))]
)
def test_within_one_sample_period_it_is_undetermined(
    apart_ns: int, among: tuple[int, ...]
) -> None:
    assert answer((0, 1000), (1, 1100 + apart_ns)) == Answer(1000, among)


@pytest.mark.parametrize(("apart_ns", "among"), [(50, (0, 2)), (51, (0,))])
def test_of_two_periods_the_larger_counts(apart_ns: int, among: tuple[int, ...]) -> None:
    assert answer((0, 1000), (2, 1000 + apart_ns)) == Answer(1000, among)


@pytest.mark.parametrize(("apart_ns", "among"), [(50, (0, 2)), (51, (2,))])
def test_the_period_of_the_first_counts_as_well(apart_ns: int, among: tuple[int, ...]) -> None:
    assert answer((0, 1000 + apart_ns), (2, 1000)) == Answer(1000, among)


def test_two_that_never_are_sampled_apart_can_tie() -> None:
    group = group_of((alarm("A.high", group="x"), alarm("B.high", group="x")))
    group.note(0, 5)
    group.note(1, 5)

    assert group.settle(standing(2)) == Answer(5, (0, 1))


@pytest.mark.parametrize("order", list(permutations([0, 1, 2])))
def test_of_several_that_tie_the_largest_period_counts(order: tuple[int, ...]) -> None:
    rows = (
        alarm("A.high", group="x", period_ns=10),
        alarm("B.high", group="x", period_ns=50),
        alarm("C.high", group="x", period_ns=10),
    )
    group = group_of(rows)
    for i in order:
        group.note(i, (1000, 1000, 1050)[i])

    assert group.settle(standing()) == Answer(1000, (0, 1, 2))


def test_only_those_near_the_first_are_undetermined_with_it() -> None:
    assert answer((0, 1000), (1, 1108), (2, 1055)) == Answer(1000, (0, 1))


@pytest.mark.parametrize("order", list(permutations([(0, 1000), (1, 1108), (2, 1048)])))
def test_the_order_in_which_they_become_known_does_not_matter(
    order: tuple[tuple[int, int], ...],
) -> None:
    assert answer(*order) == Answer(1000, (0, 1, 2))


def test_a_member_that_came_twice_counts_from_its_first_time() -> None:
    assert answer((0, 1000), (0, 5000), (1, 3000)) == Answer(1000, (0,))


def test_of_a_member_that_came_twice_an_earlier_onset_counts() -> None:
    assert answer((0, 5000), (0, 1000), (1, 3000)) == Answer(1000, (0,))


def test_an_answer_is_given_once() -> None:
    group = group_of()
    group.note(0, 1000)

    assert group.settle(standing()) == Answer(1000, (0,))
    assert group.settle(standing()) is None


def test_the_same_one_with_an_earlier_onset_is_no_news() -> None:
    group = group_of()
    group.note(0, 1000)
    group.settle(standing())
    group.note(0, 900)

    assert group.settle(standing()) is None
    assert group.answer == Answer(900, (0,))


def test_a_later_one_changes_nothing() -> None:
    group = group_of()
    group.note(0, 1000)
    group.settle(standing())
    group.note(1, 5000)

    assert group.settle(standing()) is None


def test_one_with_an_earlier_onset_changes_the_answer() -> None:
    group = group_of()
    group.note(0, 1000)
    group.settle(standing())
    group.note(1, 1050)

    assert group.settle(standing()) == Answer(950, (1,))


@pytest.mark.parametrize(
    ("status", "is_open"),
    [
        (AlarmStatus("", Core.UNACKNOWLEDGED, is_active=True), True),
        (AlarmStatus("", Core.ACKNOWLEDGED, is_active=True), True),
        (AlarmStatus("", Core.RETURNED_UNACKNOWLEDGED), True),
        (AlarmStatus("", Core.LATCHED_UNACKNOWLEDGED), True),
        (AlarmStatus("", Core.LATCHED_ACKNOWLEDGED), False),
        (AlarmStatus("", Core.NORMAL), False),
        (AlarmStatus("", Core.UNACKNOWLEDGED, Inhibit.OUT_OF_SERVICE, is_active=True), False),
    ],
)
def test_an_episode_lasts_while_one_stands_or_is_unacknowledged_and_is_not_inhibited(
    status: AlarmStatus, is_open: bool
) -> None:
    group = group_of()
    group.note(0, 1000)
    rows = [status, AlarmStatus(""), AlarmStatus("")]

    group.settle(rows)

    assert (group.answer is not None, 0 in group.came) == (is_open, is_open)


def test_who_took_no_part_keeps_no_episode_open() -> None:
    group = group_of()
    group.note(0, 1000)

    group.settle([AlarmStatus(""), *standing(2)])

    assert group.answer is None


def test_the_end_of_an_episode_is_no_answer() -> None:
    group = group_of()
    group.note(0, 1000)
    group.settle(standing())

    assert group.settle([AlarmStatus("")] * 3) is None


def test_the_next_episode_knows_nothing_of_the_last_one() -> None:
    group = group_of()
    group.note(0, 1000)
    group.settle([AlarmStatus("")] * 3)
    group.note(1, 9000)

    assert group.settle(standing()) == Answer(8900, (1,))


@pytest.mark.parametrize(
    ("came", "marks"),
    [
        ([], ["", "", ""]),
        ([(0, 1000)], ["first", "", ""]),
        ([(0, 1000), (1, 1100), (2, 5000)], ["undetermined", "undetermined", ""]),
    ],
)
def test_members_are_marked(came: list[tuple[int, int]], marks: list[str]) -> None:
    group = group_of()
    for i, onset_ns in came:
        group.note(i, onset_ns)
    group.settle(standing())

    assert [mark for _, mark in group.marks()] == marks


def test_after_a_restart_what_was_said_is_not_said_again() -> None:
    group = group_of()

    group.go_on({0: 1000})

    assert group.answer == Answer(1000, (0,))
    assert group.settle(standing()) is None
