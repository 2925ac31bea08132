"""Tests for monitor.rehearse.compare.

Source: hand-worked here; the properties follow from what the words mean.
"""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.rehearse.compare import (
    TOLERANCE_NS,
    Change,
    Difference,
    Only,
    compare,
    match,
)
from monitor.rehearse.occurrences import Occurrence

S = 1_000_000_000


def at(raised_s: float, end_s: float, *, shown: bool = True) -> Occurrence:
    """Make an occurrence, in seconds."""
    raised_ns = round(raised_s * S)
    return Occurrence(raised_ns, round(end_s * S), True, raised_ns if shown else None)


def short(found: tuple[Difference, ...]) -> list[tuple[Change, float]]:
    """Say what became of each, and by how many seconds it moved."""
    return [(one.change, one.shift_ns / S) for one in found]


def test_a_lower_setpoint_is_earlier_by_the_difference() -> None:
    found = match([at(12, 30)], [at(9.5, 33)])

    assert short(found) == [(Change.EARLIER, -2.5)]
    assert found[0].end_shift_ns == 3 * S


def test_an_on_delay_is_later_by_the_difference() -> None:
    assert short(match([at(12, 30)], [at(22, 30)])) == [(Change.LATER, 10.0)]


def test_what_did_not_move_is_the_same() -> None:
    found = match([at(12, 30)], [at(12, 30)])

    assert short(found) == [(Change.SAME, 0.0)]
    assert not found[0].differs


def test_one_that_only_ends_at_another_time_differs_and_is_not_moved() -> None:
    found = match([at(12, 30)], [at(12, 31)])

    assert short(found) == [(Change.SAME, 0.0)]
    assert found[0].differs
    assert found[0].end_shift_ns == S


def test_a_wider_deadband_joins_a_chatter_to_its_first_alarm() -> None:
    found = match([at(10, 12), at(14, 16), at(18, 60)], [at(10, 60)])

    assert short(found) == [(Change.SAME, 0.0), (Change.LOST, 0.0), (Change.LOST, 0.0)]
    assert found[0].end_shift_ns == 48 * S


def test_without_its_deadband_an_alarm_falls_apart() -> None:
    found = match([at(10, 60)], [at(10, 12), at(14, 16), at(18, 60)])

    assert short(found) == [(Change.SAME, 0.0), (Change.GAINED, 0.0), (Change.GAINED, 0.0)]


def test_of_several_that_stood_together_the_nearest_in_time_is_taken() -> None:
    # The long one meets both; it was raised 2 s after the second and 9 s after the first.
    found = match([at(11, 40)], [at(2, 12), at(13, 20)])

    assert short(found) == [(Change.GAINED, 0.0), (Change.LATER, 2.0)]


def test_apart_in_time_they_belong_together_within_the_tolerance() -> None:
    tolerance_s = TOLERANCE_NS / S
    near = match([at(10, 11)], [at(10 + tolerance_s, 11 + tolerance_s)])
    before = match([at(100, 101)], [at(100 - tolerance_s, 101 - tolerance_s)])
    far = match([at(10, 11)], [at(10.1 + tolerance_s, 11 + tolerance_s)])

    assert short(near) == [(Change.LATER, tolerance_s)]
    assert short(before) == [(Change.EARLIER, -tolerance_s)]
    assert short(far) == [(Change.LOST, 0.0), (Change.GAINED, 0.0)]


def test_touching_is_not_standing_together() -> None:
    # Both are within the tolerance; the nearer one in time wins, not the one that touches.
    found = match([at(10, 20)], [at(4, 5), at(20, 21)])

    assert short(found) == [(Change.EARLIER, -6.0), (Change.GAINED, 0.0)]


def test_pairs_do_not_cross() -> None:
    # The second old one stood together with the first new one, so the first old one, which
    # is within the tolerance of the second new one, has no partner.
    found = match([at(0, 1), at(6, 7)], [at(5, 20), at(30, 31)])

    assert short(found) == [
        (Change.LOST, 0.0),
        (Change.EARLIER, -1.0),
        (Change.GAINED, 0.0),
    ]


@pytest.mark.parametrize(
    ("old", "new", "is_shown_now", "is_hidden_now"),
    [(True, True, False, False), (False, True, True, False), (True, False, False, True)],
)
def test_what_is_suppressed_or_shown_under_one_stand_only_is_told(
    old: bool, new: bool, is_shown_now: bool, is_hidden_now: bool
) -> None:
    (found,) = match([at(1, 2, shown=old)], [at(1, 2, shown=new)])

    assert (found.is_shown_now, found.is_hidden_now) == (is_shown_now, is_hidden_now)
    assert found.differs == (old != new)


def test_how_much_later_people_are_shown_it_is_told() -> None:
    old, new = at(1, 9), at(2, 9)
    (moved,) = match([old], [new])
    (hidden,) = match([old], [at(2, 9, shown=False)])

    assert moved.shown_shift_ns == S
    assert hidden.shown_shift_ns == 0


def test_a_gained_alarm_is_neither_shown_now_nor_hidden_now() -> None:
    (gained,) = match([], [at(1, 2)])
    (lost,) = match([at(1, 2)], [])

    assert not gained.is_shown_now
    assert not lost.is_hidden_now


def test_a_limit_of_one_stand_only_is_told() -> None:
    rows = compare(
        {"a.high": [at(1, 2)]}, {"c.low": [at(3, 4)]}, ["a.high", "b.high"], ["b.high", "c.low"]
    )

    assert [(row.limit, row.only) for row in rows] == [
        ("b.high", Only.BOTH),
        ("c.low", Only.NEW),
        ("a.high", Only.OLD),
    ]
    assert [short(row.differences) for row in rows] == [
        [],
        [(Change.GAINED, 0.0)],
        [(Change.LOST, 0.0)],
    ]
    assert [row.differs for row in rows] == [False, True, True]


def test_what_became_of_the_occurrences_of_a_limit_is_counted() -> None:
    (row,) = compare(
        {"a": [at(1, 2), at(200, 210)]}, {"a": [at(1, 2), at(201, 210)]}, ["a"], ["a"]
    )

    assert {change: row.count(change) for change in Change} == {
        Change.GAINED: 0,
        Change.LOST: 0,
        Change.EARLIER: 0,
        Change.LATER: 1,
        Change.SAME: 1,
    }


@st.composite
def occurrences(draw: st.DrawFn) -> list[Occurrence]:
    """Draw occurrences of one limit: by time, not overlapping, some of them touching."""
    times = sorted(draw(st.lists(st.integers(0, 300), max_size=12)))
    pairs = zip(times[::2], times[1::2], strict=False)
    return [at(raised, end, shown=draw(st.booleans())) for raised, end in pairs]


@given(occurrences())
def test_the_same_twice_differs_in_nothing(once: list[Occurrence]) -> None:
    found = match(once, once)

    assert [one.old for one in found] == once
    assert not any(one.differs for one in found)


_SWAPPED = {
    Change.GAINED: Change.LOST,
    Change.LOST: Change.GAINED,
    Change.EARLIER: Change.LATER,
    Change.LATER: Change.EARLIER,
    Change.SAME: Change.SAME,
}


@given(occurrences(), occurrences())
def test_swapping_the_stands_swaps_gained_and_lost(
    old: list[Occurrence], new: list[Occurrence]
) -> None:
    forth, back = match(old, new), match(new, old)

    assert {(one.old, one.new) for one in forth} == {(one.new, one.old) for one in back}
    assert sorted(_SWAPPED[one.change] for one in forth) == sorted(one.change for one in back)


@given(occurrences(), occurrences())
def test_each_occurrence_is_told_once_and_no_pair_crosses(
    old: list[Occurrence], new: list[Occurrence]
) -> None:
    found = match(old, new)
    pairs = sorted(
        (old.index(one.old), new.index(one.new))
        for one in found
        if one.old is not None and one.new is not None
    )

    assert sorted(str(one.old) for one in found if one.old) == sorted(map(str, old))
    assert sorted(str(one.new) for one in found if one.new) == sorted(map(str, new))
    assert all(first[1] <= second[1] for first, second in pairwise(pairs))


@given(occurrences(), occurrences())
def test_what_stood_alone_for_longer_than_the_tolerance_has_no_partner(
    old: list[Occurrence], new: list[Occurrence]
) -> None:
    for one in match(old, new):
        if one.old is not None and one.new is not None:
            overlap = one.old.raised_ns < one.new.end_ns and one.new.raised_ns < one.old.end_ns

            assert overlap or abs(one.shift_ns) <= TOLERANCE_NS
