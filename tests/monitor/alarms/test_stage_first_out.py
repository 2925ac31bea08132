"""Tests for monitor.alarms.stage.

Source: Hand-worked here, from the project's own limit rule 18: what is told of the alarm that
came first in its group, when, and who takes part.
"""

from __future__ import annotations

from monitor.alarms.items import Item
from monitor.alarms.plan import Priority
from monitor.alarms.stage import Alarms
from monitor.events import Event
from tests.monitor.alarms.made import (
    HIGH,
    S,
    act,
    alarm,
    cleared,
    enter,
    kinds,
    raised,
    run,
    stage_of,
)

LOW, FLOW = "PT-1.low", "FT-1.low"


def group() -> Alarms:
    """Make a stage: two members, one of them with 2 s of lag, and one that the climb hides."""
    return stage_of(
        alarm(HIGH, group="loss", period_ns=S // 4),
        alarm(LOW, group="loss", period_ns=S // 4, lag_ns=2 * S),
        alarm(FLOW, group="loss", period_ns=S // 4, suppressed_in=frozenset({"climb"})),
        alarm("TT-1.high"),
    )


def firsts(events: list[Event]) -> list[Event]:
    """Give what is told of firsts."""
    return [event for event in events if event.kind == "alarm.first_out"]


def marks(stage: Alarms) -> list[str]:
    """Give the marks of all alarms."""
    return [status.first_out for status in stage.status]


def test_the_first_of_a_group_is_told_and_marked() -> None:
    stage = group()

    (event,) = firsts(run(stage, [raised(5, 0, onset_s=4)]))

    assert (event.t_ns, event.subject) == (5 * S, HIGH)
    assert list(event.fields.items()) == [
        ("group", "loss"),
        ("onset_ns", 4 * S),
        ("with", ""),
    ]
    assert marks(stage) == ["first", "", "", ""]


def test_an_alarm_of_no_group_is_not_told_of() -> None:
    assert firsts(run(group(), [raised(5, 3)])) == []


def test_a_later_member_with_an_earlier_onset_changes_the_answer() -> None:
    stage = group()
    run(stage, [raised(5, 0, onset_s=5)], 6)

    (event,) = firsts(run(stage, [raised(8, 1, onset_s=6)], 9))

    assert (event.t_ns, event.subject, event.fields["onset_ns"]) == (8 * S, LOW, 4 * S)
    assert marks(stage) == ["", "first", "", ""]


def test_a_tie_is_told_by_the_name_of_the_group() -> None:
    stage = group()

    (event,) = firsts(run(stage, [raised(5, 0, onset_s=5), raised(5, 2, onset_s=5.25)]))

    assert event.subject == "loss"
    assert event.fields["with"] == f"{HIGH}, {FLOW}"
    assert marks(stage) == ["undetermined", "", "undetermined", ""]


def test_edges_of_one_instant_give_one_answer() -> None:
    items = [raised(9, 0, onset_s=8), raised(9, 1, onset_s=7), raised(9, 2, onset_s=6)]

    (event,) = firsts(run(group(), items))

    assert event.subject == LOW


def test_a_suppressed_alarm_takes_no_part() -> None:
    stage = group()
    run(stage, [enter(1, "climb"), raised(2, 2, onset_s=2)], 3)

    (event,) = firsts(run(stage, [raised(5, 0, onset_s=5)], 6))

    assert event.subject == HIGH


def test_what_is_shown_only_later_takes_no_part_either() -> None:
    stage = group()
    run(stage, [enter(1, "climb"), raised(2, 2, onset_s=2)], 3)

    events = run(stage, [enter(4, "ground")], 5)

    assert kinds(events) == ["phase.entered", "alarm.unsuppressed", "alarm.annunciated"]
    assert marks(stage) == ["", "", "", ""]


def test_a_condition_of_journal_priority_takes_no_part() -> None:
    stage = stage_of(alarm(priority=Priority.JOURNAL, group="loss"))

    assert firsts(run(stage, [raised(1)])) == []


def test_only_what_is_raised_takes_part_not_what_clears() -> None:
    stage = group()
    run(stage, [enter(1, "climb"), raised(2, 2), enter(3, "ground")], 4)

    events = run(stage, [cleared(5, 2)], 6)

    assert stage.status[2].is_annunciated
    assert firsts(events) == []


def test_the_mark_goes_when_the_episode_is_over() -> None:
    stage = group()
    run(stage, [raised(5, 0), cleared(6, 0)], 6)
    before = marks(stage)

    _, changed = stage.step([act(7, "acknowledge")], 8 * S, lambda _i, _t: 0)

    assert (before, marks(stage)) == (["first", "", "", ""], ["", "", "", ""])
    assert changed == (0,)


def test_the_first_stays_first_while_another_of_its_episode_stands() -> None:
    stage = group()
    items: list[Item] = [raised(5, 0), raised(6, 2), act(7, "acknowledge"), cleared(8, 0)]
    run(stage, items, 9)

    events = run(stage, [raised(10, 0)], 11)

    assert firsts(events) == []
    assert marks(stage) == ["first", "", "", ""]


def test_a_new_episode_has_its_own_first() -> None:
    stage = group()
    run(stage, [raised(5, 0), cleared(6, 0), act(7, "acknowledge")], 8)

    (event,) = firsts(run(stage, [raised(9, 2, onset_s=9)], 10))

    assert event.subject == FLOW


def test_one_that_comes_as_the_last_goes_belongs_to_its_episode() -> None:
    stage = group()
    run(stage, [raised(5, 0), act(6, "acknowledge")], 7)

    events = run(stage, [cleared(8, 0), raised(8, 2)], 9)

    assert (firsts(events), marks(stage)) == ([], ["first", "", "", ""])


def test_what_is_acknowledged_just_before_one_comes_at_that_instant_ends_its_episode() -> None:
    stage = group()
    run(stage, [raised(5, 0), cleared(6, 0)], 6)

    (event,) = firsts(run(stage, [act(7, "acknowledge"), raised(7, 2)], 8))

    assert event.subject == FLOW


def test_what_is_out_of_service_does_not_keep_an_episode_open() -> None:
    stage = group()
    out = act(6, "out_of_service", reason="sensor out")
    run(stage, [raised(5, 0), out], 7)

    (event,) = firsts(run(stage, [raised(9, 2, onset_s=9)], 10))

    assert event.subject == FLOW


def test_groups_do_not_mix() -> None:
    stage = stage_of(alarm("A.high", group="one"), alarm("B.high", group="two"))

    events = firsts(run(stage, [raised(1, 0), raised(2, 1)]))

    assert [event.subject for event in events] == ["A.high", "B.high"]


def test_an_episode_survives_a_restart() -> None:
    stage, other = group(), group()
    run(stage, [raised(5, 0, onset_s=5)], 6)

    other.load_state(stage.state())

    (event,) = firsts(run(other, [raised(8, 1, onset_s=6)], 9))
    assert event.subject == LOW
    assert marks(other) == ["", "first", "", ""]
