"""Tests for monitor.alarms.lifecycle.

Source: Hand-worked here; what a standing alarm does by itself. Re-alarm: OPC 10000-9, B.1.5, by
which it comes back to unacknowledged after its re-alarm time.
"""

from __future__ import annotations

import pytest

from monitor.alarms.core import Core
from monitor.alarms.items import Item
from monitor.alarms.stage import Alarms
from monitor.limits.edges import Edge, Turn
from tests.monitor.alarms.made import (
    HIGH,
    S,
    act,
    alarm,
    cleared,
    edge,
    enter,
    kinds,
    raised,
    run,
    stage_of,
    told,
)


def realarming(**more: object) -> Alarms:
    """Make a stage of one alarm that is annunciated anew 60 s after it was acknowledged."""
    return stage_of(alarm(realarm_ns=60 * S, suppressed_in=frozenset({"climb"}), **more))


def test_acknowledged_and_standing_that_long_it_is_annunciated_anew() -> None:
    stage = realarming()
    run(stage, [raised(1), act(5, "acknowledge")], 6)

    before = run(stage, [], 65 - 1e-9)
    (event,) = run(stage, [], 65)

    assert before == []
    assert (event.t_ns, event.kind, event.subject) == (65 * S, "alarm.realarmed", HIGH)
    assert list(event.fields.items()) == [
        ("acknowledged_ns", 5 * S),
        ("priority", "high"),
        ("message", "too high"),
        ("is_annunciated", True),
    ]
    assert stage.status[0].core is Core.UNACKNOWLEDGED
    assert stage.status[0].annunciated_ns == 65 * S


def test_the_time_counts_from_each_acknowledgement_anew() -> None:
    stage = realarming()

    events = run(stage, [raised(1), act(5, "acknowledge"), act(70, "acknowledge")], 200)

    realarmed = [event.t_ns for event in events if event.kind == "alarm.realarmed"]
    assert realarmed == [65 * S, 130 * S]


@pytest.mark.parametrize(
    "items",
    [
        [raised(1)],
        [raised(1), act(5, "acknowledge"), cleared(64)],
        [raised(1), act(5, "acknowledge"), cleared(20), raised(30)],
    ],
)
def test_only_what_is_acknowledged_and_stands_is_annunciated_anew(items: list[Item]) -> None:
    assert "alarm.realarmed" not in kinds(run(realarming(), items, 500))


def test_what_is_latched_and_acknowledged_is_not_annunciated_anew() -> None:
    stage = realarming(is_latching=True)

    events = run(stage, [raised(1), act(5, "acknowledge"), cleared(20)], 500)

    assert "alarm.realarmed" not in kinds(events)


def test_without_a_time_nothing_is_annunciated_anew() -> None:
    stage = stage_of(alarm())

    assert len(run(stage, [raised(1), act(5, "acknowledge")], 10_000_000)) == 2


def test_an_edge_at_the_instant_of_the_re_alarm_comes_first() -> None:
    events = run(realarming(), [raised(1), act(5, "acknowledge"), cleared(65)], 70)

    assert kinds(events)[2:] == ["alarm.cleared"]


def test_a_re_alarm_just_before_an_edge_comes_first() -> None:
    after = Edge(65 * S + 1, 0, Turn.CLEARED, 65 * S, 1.0, 0, 150.0)

    events = run(realarming(), [raised(1), act(5, "acknowledge"), after], 70)

    assert kinds(events)[2:] == ["alarm.realarmed", "alarm.cleared"]


def test_what_is_hidden_at_its_re_alarm_is_annunciated_when_it_is_shown() -> None:
    stage = realarming()
    items: list[Item] = [raised(1), act(5, "acknowledge"), enter(10, "climb")]

    during = run(stage, items, 66)
    after = run(stage, [enter(80, "ground")], 81)

    assert (during[-1].kind, during[-1].fields["is_annunciated"]) == ("alarm.realarmed", False)
    assert kinds(after)[-2:] == ["alarm.unsuppressed", "alarm.annunciated"]
    assert not stage.status[0].is_acknowledged


def test_what_was_annunciated_anew_has_to_be_acknowledged_once_it_is_gone() -> None:
    stage = realarming()

    run(stage, [raised(1), act(5, "acknowledge"), cleared(70)], 80)

    assert stage.status[0].core is Core.RETURNED_UNACKNOWLEDGED


def test_what_ends_at_one_instant_ends_in_the_order_of_the_plan_the_shelf_last() -> None:
    stage = stage_of(alarm("A.high"), alarm(realarm_ns=60 * S), alarm("C.high"))
    items: list[Item] = [
        raised(1, 1),
        act(5, "acknowledge"),
        act(6, "shelve", reason="noisy", seconds=59.0),
        act(6, "shelve", "C.high", reason="noisy", seconds=59.0),
        act(6, "shelve", "A.high", reason="noisy", seconds=59.0),
    ]

    events = run(stage, items, 70)

    assert told(events)[5:] == [
        ("unshelved", "A.high"),
        ("realarmed", HIGH),
        ("unshelved", HIGH),
        ("annunciated", HIGH),
        ("unshelved", "C.high"),
    ]


@pytest.mark.parametrize("until_s", [6, 64])
def test_what_falls_due_by_itself_does_so_after_a_restart_too(until_s: float) -> None:
    stage, other = realarming(), realarming()
    run(stage, [raised(1), act(5, "acknowledge")], until_s)

    other.load_state(stage.state())

    assert [event.t_ns for event in run(other, [], 70)] == [65 * S]


# Needs no acknowledging.


def test_what_clears_by_itself_needs_no_acknowledging_once_it_is_gone() -> None:
    stage = stage_of(alarm(clears_by_itself=True))

    events = run(stage, [raised(1), cleared(2)], 3)

    assert events[-1].fields["state"] == "normal"
    assert (stage.status[0].core, stage.status[0].is_owed) == (Core.NORMAL, False)


def test_what_clears_by_itself_is_annunciated_while_it_stands() -> None:
    stage = stage_of(alarm(clears_by_itself=True))

    run(stage, [raised(1)], 2)

    assert stage.status[0].is_annunciated


def test_a_latch_holds_though_the_alarm_clears_by_itself() -> None:
    stage = stage_of(alarm(clears_by_itself=True, is_latching=True))

    run(stage, [raised(1), cleared(2)], 3)

    assert stage.status[0].is_latched


# Armed.


def test_a_limit_that_wakes_is_on_record_and_moves_no_alarm() -> None:
    stage = stage_of(alarm())

    (event,) = run(stage, [edge(1, Turn.ARMED)], 2)

    assert (event.kind, event.subject) == ("limit.armed", HIGH)
    assert event.fields == {"value": 151.0, "setpoint": 150.0, "quality": "good"}
    assert stage.status[0].core is Core.NORMAL
