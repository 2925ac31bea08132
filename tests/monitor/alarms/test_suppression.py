"""Tests for monitor.alarms.suppression.

Source: Hand-worked here, from the project's own limit rules 14 and 15 (DEVELOPERS.md):
consequences under their cause.
"""

from __future__ import annotations

import pytest

from monitor.alarms.core import Core
from monitor.alarms.items import Item
from monitor.alarms.plan import Priority
from monitor.alarms.stage import Alarms
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
    told,
)

LINK = "link:gas.high"


def caused() -> Alarms:
    """Make a stage: a consequence at 0, its cause at 1, and another cause at 2."""
    consequence = alarm(suppressed_by=("host:x.high", LINK))
    return stage_of(consequence, alarm(LINK), alarm("host:x.high"))


def test_a_consequence_is_not_annunciated_while_its_cause_stands() -> None:
    stage = caused()

    events = run(stage, [raised(1, 1), raised(2, 0)])

    assert [event.fields["is_annunciated"] for event in events] == [True, False]
    assert (stage.status[0].is_suppressed, stage.status[0].cause) == (True, LINK)


def test_a_consequence_that_outlives_its_cause_is_annunciated_then() -> None:
    stage = caused()
    run(stage, [raised(1, 1), raised(2, 0)], 3)

    events = run(stage, [cleared(4, 1)], 5)

    assert told(events) == [("cleared", LINK), ("unsuppressed", HIGH), ("annunciated", HIGH)]
    assert (events[1].t_ns, events[1].fields["cause"]) == (4 * S, LINK)
    assert (stage.status[0].is_annunciated, stage.status[0].cause) == (True, "")


def test_of_edges_at_one_instant_the_cause_goes_first_whatever_its_position() -> None:
    events = run(caused(), [raised(1, 0), raised(1, 1)])

    assert told(events) == [("raised", LINK), ("raised", HIGH)]
    assert not events[1].fields["is_annunciated"]


def test_causes_go_first_through_several_steps() -> None:
    stage = stage_of(
        alarm("A.high", suppressed_by=("B.high",)),
        alarm("B.high", suppressed_by=("C.high",)),
        alarm("C.high"),
    )

    events = run(stage, [raised(1, 0), raised(1, 1), raised(1, 2)])

    assert [event.subject for event in events] == ["C.high", "B.high", "A.high"]
    assert [event.fields["is_annunciated"] for event in events] == [True, False, False]


def test_edges_of_different_instants_keep_their_order() -> None:
    events = run(caused(), [raised(1, 0), raised(2, 1)])

    assert told(events) == [("raised", HIGH), ("raised", LINK), ("suppressed", HIGH)]


def test_what_lies_between_edges_of_one_instant_keeps_its_place() -> None:
    items: list[Item] = [raised(1, 0), enter(1, "climb"), raised(1, 1)]

    events, _ = caused().step(items, 2 * S, lambda _i, _t: 0)

    assert kinds(events)[:3] == ["alarm.raised", "phase.entered", "alarm.raised"]
    assert [events[0].subject, events[2].subject] == [HIGH, LINK]


def test_what_goes_together_with_its_cause_is_not_shown_for_no_time_at_all() -> None:
    stage = caused()
    run(stage, [raised(1, 1), raised(2, 0)], 3)

    events = run(stage, [cleared(4, 0), cleared(4, 1)], 5)

    assert told(events) == [("cleared", LINK), ("cleared", HIGH)]
    assert stage.status[0].core is Core.NORMAL


def test_what_is_raised_as_its_cause_goes_is_annunciated_at_that_instant() -> None:
    stage = caused()
    run(stage, [raised(1, 1)], 3)

    events = run(stage, [raised(4, 0), cleared(4, 1)], 5)

    assert told(events)[-2:] == [("unsuppressed", HIGH), ("annunciated", HIGH)]
    assert {event.t_ns for event in events} == {4 * S}


def test_what_ceases_to_suppress_is_looked_at_before_anything_else_of_the_instant() -> None:
    stage = caused()
    run(stage, [raised(1, 1), raised(2, 0)], 3)

    items: list[Item] = [cleared(4, 1), act(4, "silence", "")]
    events, _ = stage.step(items, 5 * S, lambda _i, _t: 0)

    assert kinds(events)[-2:] == ["alarm.annunciated", "action.silence"]


def test_an_alarm_that_is_seen_already_is_hidden_when_its_cause_comes() -> None:
    stage = caused()

    events = run(stage, [raised(1, 0), raised(2, 2)])

    assert (events[-1].kind, events[-1].subject) == ("alarm.suppressed", HIGH)
    assert events[-1].fields == {"cause": "host:x.high", "state": "unacknowledged"}


def test_of_several_causes_the_first_of_the_plan_is_named() -> None:
    stage = caused()

    events = run(stage, [raised(1, 2), raised(2, 1)])

    assert stage.status[0].cause == LINK
    assert kinds(events) == ["alarm.raised", "alarm.raised"]


def test_the_last_reason_to_end_shows_what_stands() -> None:
    stage = caused()
    run(stage, [raised(1, 1), raised(2, 2), raised(3, 0)], 4)

    first = run(stage, [cleared(5, 1)], 6)
    named = stage.status[0].cause
    last = run(stage, [cleared(7, 2)], 8)

    assert (kinds(first), named) == (["alarm.cleared"], "host:x.high")
    assert last[1].fields["cause"] == "host:x.high"
    assert stage.status[0].is_annunciated


def test_a_cause_that_is_acknowledged_still_stands_and_suppresses() -> None:
    stage = caused()

    run(stage, [raised(1, 1), act(2, "acknowledge", LINK), raised(3, 0)])

    assert not stage.status[0].is_annunciated


def test_a_cause_that_is_gone_and_unacknowledged_suppresses_no_more() -> None:
    stage = caused()

    run(stage, [raised(1, 1), cleared(2, 1), raised(3, 0)])

    assert stage.status[0].is_annunciated


def test_a_suppressed_cause_still_suppresses_what_comes_of_it() -> None:
    stage = stage_of(
        alarm("A.high", suppressed_by=("B.high",)),
        alarm("B.high", suppressed_in=frozenset({"climb"})),
    )

    run(stage, [enter(1, "climb"), raised(2, 1), raised(3, 0)])

    assert stage.status[0].cause == "B.high"


def test_a_cause_of_journal_priority_suppresses_too() -> None:
    stage = stage_of(alarm(suppressed_by=(LINK,)), alarm(LINK, Priority.JOURNAL))

    run(stage, [raised(1, 1), raised(2, 0)])

    assert stage.status[0].is_suppressed


def test_a_phase_that_ends_leaves_the_suppression_by_a_cause() -> None:
    stage = stage_of(
        alarm(suppressed_in=frozenset({"climb"}), suppressed_by=(LINK,)), alarm(LINK)
    )
    run(stage, [enter(1, "climb"), raised(2, 1), raised(3, 0)], 4)

    events = run(stage, [enter(5, "ground")], 6)

    assert (kinds(events), stage.status[0].is_suppressed) == (["phase.entered"], True)


def test_the_end_of_a_cause_leaves_the_suppression_by_a_phase() -> None:
    stage = stage_of(
        alarm(suppressed_in=frozenset({"climb"}), suppressed_by=(LINK,)), alarm(LINK)
    )
    run(stage, [enter(1, "climb"), raised(2, 1), raised(3, 0)], 4)

    events = run(stage, [cleared(5, 1)], 6)

    assert (kinds(events), stage.status[0].is_suppressed) == (["alarm.cleared"], True)
    assert stage.status[0].cause == ""


def test_a_shelf_on_top_of_a_cause_holds_when_the_cause_ends() -> None:
    stage = caused()
    shelf = act(1, "shelve", HIGH, reason="noisy", seconds=50.0)

    run(stage, [shelf, raised(2, 1), raised(3, 0), cleared(4, 1)], 5)

    assert (stage.status[0].is_suppressed, stage.status[0].is_shelved) == (False, True)
    assert not stage.status[0].is_annunciated


@pytest.mark.timeout(10)
def test_alarms_that_cause_each_other_do_not_hang() -> None:
    stage = stage_of(
        alarm("A.high", suppressed_by=("B.high",)),
        alarm("B.high", suppressed_by=("A.high",)),
        alarm("C.high", suppressed_by=("C.high",)),
    )

    run(stage, [raised(1, 0), raised(1, 1), raised(1, 2), cleared(2, 0), cleared(2, 1)])

    assert [status.is_suppressed for status in stage.status] == [False, False, True]


def test_a_cause_that_the_stand_does_not_have_suppresses_nothing() -> None:
    stage = stage_of(alarm(suppressed_by=("moon.high",)))

    run(stage, [raised(1, 0)])

    assert stage.status[0].is_annunciated


def test_a_consequence_that_begins_or_ceases_to_be_suppressed_is_changed() -> None:
    stage = caused()

    _, begun = stage.step([raised(1, 1)], 2 * S, lambda _i, _t: 0)
    _, ceased = stage.step([cleared(3, 1)], 4 * S, lambda _i, _t: 0)

    assert (begun, ceased) == ((0, 1), (0, 1))


def test_a_cause_that_adds_to_a_phase_changes_the_alarm() -> None:
    stage = stage_of(
        alarm(suppressed_in=frozenset({"ground"}), suppressed_by=(LINK,)), alarm(LINK)
    )

    _, changed = stage.step([raised(1, 1)], 2 * S, lambda _i, _t: 0)

    assert changed == (0, 1)


def nine() -> Alarms:
    """Make a stage of nine alarms; 8 and 1 are consequences of 0, and 2 is one of both."""
    causes = {8: ("P0.high",), 1: ("P0.high",), 2: ("P8.high", "P1.high")}
    return stage_of(*(alarm(f"P{i}.high", suppressed_by=causes.get(i, ())) for i in range(9)))


def test_consequences_are_shown_in_the_order_of_the_plan() -> None:
    stage = nine()
    run(stage, [raised(1, 0), raised(2, 1), raised(2, 8)], 3)

    events = run(stage, [cleared(4, 0)], 5)

    shown = [event.subject for event in events if event.kind == "alarm.annunciated"]
    assert shown == ["P1.high", "P8.high"]


def test_the_first_cause_is_found_by_its_position() -> None:
    stage = nine()

    run(stage, [raised(1, 8), raised(1, 1)], 3)

    assert stage.status[2].cause == "P1.high"
