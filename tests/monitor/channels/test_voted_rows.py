"""Tests for monitor.channels.voted.

Source: Hand-worked here: a vote has a row for each instant at which an input has one, and what
is held may be too old.
"""

from __future__ import annotations

from monitor.channels.compute import Computer
from monitor.channels.plan import Take, Voted
from monitor.samples import Quality
from tests.monitor.channels.made import START_NS, S, computed
from tests.monitor.channels.voting import filled, plan_with, run, told, vote

Q = Quality


def test_there_is_a_row_for_each_instant_at_which_an_input_has_one() -> None:
    plan = plan_with(vote())
    rows = {"A": [(1, 1.0, 0), (2, 2.0, 0)], "B": [(1.5, 5.0, 0)], "C": [(2, 9.0, 0)]}

    assert told(plan, run(plan, rows)) == [
        (1.0, 1.0, Q.LONE_SENSOR),
        (1.5, 3.0, Q.GOOD),
        (2.0, 5.0, Q.GOOD),
    ]


def test_a_dead_first_input_does_not_freeze_the_vote() -> None:
    plan = plan_with(vote())
    held = run(plan, {tag: [(1, 4.0, 0)] for tag in "ABC"}).newest()

    assert told(plan, run(plan, {"B": [(2, 6.0, 0)], "C": [(2, 8.0, 0)]}, held)) == [
        (2.0, 6.0, Q.GOOD)
    ]


def test_a_vote_older_than_the_largest_skew_does_not_count() -> None:
    plan = plan_with(vote(Take.UPPER, needed=1))
    held = run(plan, {"A": [(1, 9.0, 0)], "B": [(1, 1.0, 0)], "C": [(1, 2.0, 0)]}).newest()
    rows = {"B": [(3, 1.0, 0), (3.1, 1.0, 0)], "C": [(3, 2.0, 0), (3.1, 2.0, 0)]}

    assert told(plan, run(plan, rows, held)) == [(3.0, 9.0, Q.GOOD), (3.1, 2.0, Q.GOOD)]


def test_what_the_system_writes_does_not_grow_old() -> None:
    plan = plan_with(Voted("V", ("link:gas", "A"), 1, 2 * S, Take.UPPER))

    assert told(plan, run(plan, {"A": [(50, -1.0, 0)]})) == [(50.0, 0.0, Q.GOOD)]


def test_before_its_first_sample_an_input_does_not_vote() -> None:
    plan = plan_with(vote(Take.SPREAD, "AB"))

    assert told(plan, run(plan, {"B": [(1, 1.0, 0)]})) == [(1.0, None, Q.TOO_FEW)]


def test_without_rows_the_held_result_is_shown() -> None:
    plan = plan_with(vote())
    held = run(plan, {tag: [(1, 4.0, 0)] for tag in "ABC"}).newest()

    draft = run(plan, {}, held)

    assert told(plan, draft) == []
    assert draft.grid.value[:, plan.column["V"]].tolist() == [4.0]


def test_the_draft_grows_where_inputs_have_more_rows_together_than_each() -> None:
    plan = plan_with(vote(inputs="AB"), computed("D", "v + a", "V", v="V", a="A"))
    rows = {"A": [(1, 1.0, 0), (3, 1.0, 0)], "B": [(2, 3.0, 0), (4, 3.0, 0)]}

    draft = run(plan, rows)

    assert [t for t, _, _ in told(plan, draft)] == [1.0, 2.0, 3.0, 4.0]
    assert told(plan, draft, "D")[1:] == [(2.0, 3.0, 0), (3.0, 3.0, 0), (4.0, 3.0, 0)]
    # The others show their last row below their own.
    assert draft.grid.value[:, 0].tolist() == [1.0] * 4
    assert draft.grid.t_ns[2:, 0].tolist() == [START_NS + 3 * S] * 2
    assert draft.raw.shape == (4, 3)


def test_fewer_rows_than_the_draft_has_are_padded() -> None:
    plan = plan_with(vote(inputs="AB"))
    rows = {"A": [(1, 1.0, 0)], "B": [(1, 3.0, 0), (2, 3.0, 0)]}
    rows["C"] = [(k, 0.0, 0) for k in range(4)]

    draft = run(plan, rows)

    v = plan.column["V"]
    assert draft.grid.count[v] == 2
    assert draft.grid.t_ns[:, v].tolist() == [START_NS + k * S for k in (1, 2, 2, 2)]
    assert draft.grid.value[:, v].tolist() == [2.0] * 4


def test_inputs_of_the_very_same_rows_share_them_with_their_vote() -> None:
    plan = plan_with(vote(), computed("D", "v - a", "A", v="V", a="A"))
    draft = filled(plan, {tag: [(1, 4.0, 0), (2, 5.0, 0)] for tag in "ABC"}, None)
    draft.same_rows[:3] = 0

    draft = Computer(plan).run(draft)

    assert draft.same_rows[4:].tolist() == [0, 0]
    assert told(plan, draft, "D") == [(1.0, 0.0, 0), (2.0, 0.0, 0)]


def test_several_columns_of_one_vote_share_their_rows() -> None:
    plan = plan_with(vote(), Voted("V~upper", ("A", "B", "C"), 2, 2 * S, Take.UPPER))

    draft = run(plan, {"A": [(1, 1.0, 0)], "B": [(2, 3.0, 0)]})

    assert draft.same_rows[4] == draft.same_rows[5]
    assert [x for _, x, _ in told(plan, draft, "V~upper")] == [1.0, 3.0]


def test_votes_that_differ_in_what_is_old_are_held_apart() -> None:
    plan = plan_with(vote(Take.UPPER, "AB", 1), Voted("W", ("A", "B"), 1, S, Take.UPPER))
    rows = {"A": [(1, 9.0, 0)], "B": [(2.5, 1.0, 0)]}

    assert told(plan, run(plan, rows), "V")[-1] == (2.5, 9.0, Q.GOOD)
    assert told(plan, run(plan, rows), "W")[-1] == (2.5, 1.0, Q.LONE_SENSOR)


def test_votes_may_be_nested_and_computed_channels_may_vote() -> None:
    plan = plan_with(
        computed("D", "a + 1", "A", a="A"),
        vote(inputs="BC"),
        Voted("W", ("V", "D"), 1, 2 * S, Take.UPPER),
    )
    rows = {"A": [(1, 1.0, 0)], "B": [(2, 3.0, 0)], "C": [(3, 7.0, 0)]}

    assert told(plan, run(plan, rows), "W") == [
        (1.0, 2.0, Q.LONE_SENSOR),
        (2.0, 3.0, Q.INPUT_UNCERTAIN),
        (3.0, 5.0, Q.GOOD),
    ]
