"""Tests for monitor.channels.compute.

Source: Hand-worked here, from limit rules 5 (channels of different rates) and 13 (the worst of
the inputs) in DEVELOPERS.md.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from monitor.channels.compute import Computer
from monitor.channels.draft import Draft, Held, draft_of, held_at_start
from monitor.channels.plan import ChannelsPlan, Computed, System
from monitor.samples import Quality
from tests.monitor.channels.made import NAN, START_NS, S, computed, measured

Q = Quality
Rows = Sequence[tuple[float, float, int]]
Told = list[tuple[float, float | None, int]]


def plan_with(*rows: Computed) -> ChannelsPlan:
    """Make a plan of A and B, a system channel and *rows*."""
    return ChannelsPlan(
        (measured("A", "gas.a"), measured("B", "node.b")), (System("link:gas"),), rows
    )


def filled(plan: ChannelsPlan, held: Held | None = None, **columns: Rows) -> Draft:
    """Give a draft in which some columns have rows of (seconds, value, quality)."""
    height = max([1, *(len(rows) for rows in columns.values())])
    draft = draft_of(held or held_at_start(plan, START_NS), height, 2)
    for tag, rows in columns.items():
        c = plan.column[tag.replace("_", ":")]
        padded = [*rows, *[rows[-1]] * (height - len(rows))]
        draft.grid.t_ns[:, c] = [START_NS + round(t * S) for t, _, _ in padded]
        draft.grid.value[:, c] = [x for _, x, _ in padded]
        draft.grid.quality[:, c] = [q for _, _, q in padded]
        draft.grid.count[c] = len(rows)
    return draft


def told(plan: ChannelsPlan, draft: Draft, tag: str) -> Told:
    """Compute; give (seconds, value or None, quality) of a column, padding included."""
    Computer(plan).run(draft)
    c = plan.column[tag]
    t_s = ((draft.grid.t_ns[:, c] - START_NS) / S).tolist()
    value = draft.grid.value[:, c].tolist()
    triples = zip(t_s, value, draft.grid.quality[:, c].tolist(), strict=True)
    return [(t, None if x != x else x, q) for t, x, q in triples]


DIFFERENCE = computed("D", "a - b", "A", 2.0, a="A", b="B")
BOTH_GOOD = {"A": [(1, 5.0, 0), (2, 6.0, 0)], "B": [(1, 1.0, 0), (2, 1.5, 0)]}


@pytest.mark.parametrize("share", [True, False])
def test_rows_at_the_same_instants_are_taken_together(share: bool) -> None:
    plan = plan_with(DIFFERENCE)
    draft = filled(plan, **BOTH_GOOD)
    if share:
        draft.same_rows[:2] = 0

    assert told(plan, draft, "D") == [(1.0, 4.0, Q.GOOD), (2.0, 4.5, Q.GOOD)]


def test_the_result_follows_its_clock_and_holds_the_other_input() -> None:
    plan = plan_with(DIFFERENCE)
    draft = filled(
        plan, A=[(2, 15.0, 0), (3, 16.0, 0), (4, 17.0, 0)], B=[(1, 10.0, 0), (3, 11, 0)]
    )

    assert told(plan, draft, "D") == [(2.0, 5.0, 0), (3.0, 5.0, 0), (4.0, 6.0, 0)]


def test_an_input_is_held_from_before_the_step() -> None:
    plan = plan_with(DIFFERENCE)
    first = filled(plan, B=[(1, 10.0, 0)])
    Computer(plan).run(first)

    draft = filled(plan, first.newest(), A=[(2, 15.0, 0)])

    assert told(plan, draft, "D") == [(2.0, 5.0, Q.GOOD)]


def test_an_input_older_than_the_largest_skew_makes_the_result_bad() -> None:
    plan = plan_with(DIFFERENCE)
    draft = filled(plan, A=[(3, 5.0, 0), (3.1, 5.0, 0)], B=[(1, 1.0, 0)])

    assert told(plan, draft, "D") == [(3.0, 4.0, Q.GOOD), (3.1, None, Q.SKEWED)]


def test_an_input_that_never_came_makes_the_result_bad() -> None:
    plan = plan_with(DIFFERENCE)

    assert told(plan, filled(plan, A=[(1, 5.0, 0)]), "D") == [(1.0, None, Q.INPUT_BAD)]


@pytest.mark.parametrize(
    ("quality", "expected"),
    [
        (Q.GOOD, Q.GOOD),
        (Q.CALIBRATION_OVERDUE, Q.INPUT_UNCERTAIN),
        (Q.SATURATED_HIGH, Q.INPUT_UNCERTAIN),
        (Q.OUT_OF_RANGE, Q.INPUT_BAD),
        (Q.STALE, Q.INPUT_BAD),
    ],
)
def test_the_worst_of_the_inputs_counts(quality: Quality, expected: Quality) -> None:
    plan = plan_with(DIFFERENCE)
    value = NAN if quality >= 0x80 else 1.0
    draft = filled(plan, A=[(1, 5.0, 0)], B=[(1, value, quality)])
    draft.same_rows[:2] = 0

    ((_, _, got),) = told(plan, draft, "D")

    assert got == expected


@pytest.mark.parametrize("which", [0, 1])
def test_one_bad_row_of_an_input_is_bad_and_the_others_are_not(which: int) -> None:
    plan = plan_with(DIFFERENCE, computed("E", "d > 0", "D", d="D"))
    rows = [(1, 1.0, 0), (2, 2.0, 0)]
    rows[which] = (which + 1, NAN, Q.OUT_OF_RANGE)
    draft = filled(plan, A=[(1, 5.0, 0), (2, 6.0, 0)], B=rows)
    draft.same_rows[:2] = 0

    expected = [Q.GOOD, Q.GOOD]
    expected[which] = Q.INPUT_BAD
    assert [quality for _, _, quality in told(plan, draft, "D")] == expected
    assert [quality for _, _, quality in told(plan, draft, "E")] == expected


def test_a_bad_input_is_told_before_its_age() -> None:
    plan = plan_with(DIFFERENCE)
    draft = filled(plan, A=[(9, 5.0, 0)], B=[(1, NAN, Q.STALE)])

    assert told(plan, draft, "D") == [(9.0, None, Q.INPUT_BAD)]


def test_a_bad_input_makes_the_result_bad_even_where_the_formula_gives_a_number() -> None:
    plan = plan_with(computed("D", "a > b", "A", a="A", b="B"))
    draft = filled(plan, A=[(1, 5.0, 0)], B=[(1, NAN, Q.STALE)])

    assert told(plan, draft, "D") == [(1.0, None, Q.INPUT_BAD)]


@pytest.mark.parametrize("share", [True, False])
def test_a_result_that_is_no_number_is_not_finite(share: bool) -> None:
    plan = plan_with(computed("D", "a / b", "A", a="A", b="B"))
    draft = filled(plan, A=[(1, 5.0, 0), (2, 6.0, 0)], B=[(1, 0.0, 0), (2, 2.0, 0)])
    if share:
        draft.same_rows[:2] = 0

    assert told(plan, draft, "D") == [(1.0, None, Q.NOT_FINITE), (2.0, 3.0, Q.GOOD)]


def test_a_result_too_large_for_differences_is_not_finite() -> None:
    plan = plan_with(computed("D", "a * a", "A", a="A"))

    assert told(plan, filled(plan, A=[(1, 1e151, 0)]), "D") == [(1.0, None, Q.NOT_FINITE)]


def test_computed_channels_can_be_inputs_and_clocks() -> None:
    plan = plan_with(DIFFERENCE, computed("E", "d * a", "D", a="A", d="D"))
    draft = filled(plan, **BOTH_GOOD)
    draft.same_rows[:2] = 0

    assert told(plan, draft, "E") == [(1.0, 20.0, Q.GOOD), (2.0, 27.0, Q.GOOD)]
    assert draft.same_rows.tolist()[3:] == [0, 0]


def test_a_bad_computed_input_is_seen_as_bad() -> None:
    plan = plan_with(
        computed("D", "a / b", "A", a="A", b="B"), computed("E", "d > 0", "D", d="D")
    )
    draft = filled(plan, A=[(1, 5.0, 0)], B=[(1, 0.0, 0)])
    draft.same_rows[:2] = 0

    assert told(plan, draft, "E") == [(1.0, None, Q.INPUT_BAD)]


def test_a_system_channel_holds_however_long_ago_it_changed() -> None:
    plan = plan_with(computed("D", "a * (1 - w)", "A", 0.1, a="A", w="link:gas"))
    draft = filled(plan, A=[(5, 7.0, 0), (90, 8.0, 0)], link_gas=[(50, 1.0, 0)])

    assert told(plan, draft, "D") == [(5.0, 7.0, Q.GOOD), (90.0, 0.0, Q.GOOD)]


def test_without_a_row_of_its_clock_a_channel_shows_what_is_held() -> None:
    plan = plan_with(DIFFERENCE, computed("E", "d", "B", d="D"))

    assert told(plan, filled(plan, B=[(1, 1.0, 0)]), "D") == [(0.0, None, Q.WAITING)]
    assert told(plan, filled(plan, B=[(1, 1.0, 0)]), "E") == [(1.0, None, Q.INPUT_BAD)]


def test_the_padding_repeats_the_last_row() -> None:
    plan = plan_with(DIFFERENCE)
    draft = filled(plan, A=[(1, 5.0, 0)], B=[(1, 1.0, 0), (1.5, 2.0, 0), (2, 3.0, 0)])

    assert told(plan, draft, "D") == [(1.0, 4.0, 0)] * 3
    assert draft.grid.count[3] == 1


def test_no_result_is_a_negative_zero() -> None:
    plan = plan_with(computed("D", "0 - a", "A", a="A"), computed("E", "-b", "B", b="B"))
    draft = filled(plan, A=[(1, 0.0, 0)], B=[(1, 0.0, 0)])

    Computer(plan).run(draft)

    assert not np.signbit(draft.grid.value[0, 3:]).any()


def test_an_input_that_comes_later_in_the_plan_is_refused() -> None:
    plan = plan_with(computed("E", "d", "A", d="D"), DIFFERENCE)

    with pytest.raises(ValueError, match="E: an input of it comes after it"):
        Computer(plan)


def test_a_channel_computed_from_itself_is_refused() -> None:
    with pytest.raises(ValueError, match="D: an input of it comes after it"):
        Computer(plan_with(computed("D", "d + a", "A", a="A", d="D")))


def test_without_computed_channels_nothing_happens() -> None:
    plan = plan_with()
    draft = filled(plan, A=[(1, 5.0, 0)])

    Computer(plan).run(draft)

    assert draft.grid.value[0].tolist()[::2] == [5.0, 0.0]
