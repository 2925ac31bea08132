"""Tests for monitor.alarms.lifecycle.

Source: Hand-worked here: one occurrence after the other, some of them shown and some not; the
rules are the project's own limit rules 14 to 16 (DEVELOPERS.md).
"""

from __future__ import annotations

import pytest

from monitor.alarms.core import Core
from monitor.alarms.items import Item
from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.alarms.stage import Alarms
from monitor.limits.edges import Edge, Turn
from monitor.samples import Quality
from tests.monitor.alarms.made import (
    HIGH,
    S,
    act,
    alarms,
    edge,
    enter,
    kinds,
    run,
)


@pytest.mark.parametrize("is_restored", [False, True])
def test_what_comes_and_goes_unseen_does_not_wipe_out_what_was_seen_before(
    is_restored: bool,
) -> None:
    stage = alarms()
    run(stage, [edge(1, Turn.RAISED), edge(2, Turn.CLEARED)], 2)
    if is_restored:
        other = alarms()
        other.load_state(stage.state())
        stage = other

    run(stage, [enter(3, "climb"), edge(4, Turn.RAISED), edge(5, Turn.CLEARED)], 6)
    events = run(stage, [enter(7, "ground")], 8)

    assert stage.status[0].core is Core.RETURNED_UNACKNOWLEDGED
    assert kinds(events) == ["phase.entered", "alarm.unsuppressed", "alarm.annunciated"]


def test_what_was_acknowledged_before_leaves_nothing_to_acknowledge() -> None:
    stage = alarms()
    items = [
        edge(1, Turn.RAISED),
        act(2, "acknowledge"),
        edge(3, Turn.CLEARED),
        enter(4, "climb"),
        edge(5, Turn.RAISED),
        edge(6, Turn.CLEARED),
    ]

    run(stage, items, 7)

    assert stage.status[0].core is Core.NORMAL


def test_what_was_shown_when_its_suppression_ended_needs_acknowledging() -> None:
    stage = alarms()
    items = [
        enter(1, "climb"),
        edge(2, Turn.RAISED),
        enter(3, "ground"),
        enter(4, "climb"),
        edge(5, Turn.CLEARED),
    ]

    run(stage, items, 6)

    assert stage.status[0].core is Core.RETURNED_UNACKNOWLEDGED


def test_what_was_acknowledged_before_it_was_shown_owes_no_answer() -> None:
    stage = alarms()
    items: list[Item] = [
        enter(1, "climb"),
        edge(2, Turn.RAISED),
        act(3, "acknowledge"),
        enter(4, "ground"),
    ]

    run(stage, items, 5)

    assert stage.status[0].is_annunciated
    assert not stage.status[0].is_owed


def test_what_was_shown_already_is_not_annunciated_again_when_it_is_shown_again() -> None:
    stage = alarms()
    run(stage, [edge(1, Turn.RAISED), enter(2, "climb")], 3)

    events = run(stage, [enter(4, "ground")], 5)

    assert kinds(events) == ["phase.entered", "alarm.unsuppressed"]


def test_a_new_occurrence_has_times_of_its_own() -> None:
    stage = alarms()
    run(stage, [edge(1, Turn.RAISED), act(2, "acknowledge"), edge(3, Turn.CLEARED)], 4)

    run(stage, [edge(5, Turn.RAISED)], 6)

    status = stage.status[0]
    assert (status.onset_ns, status.true_ns, status.annunciated_ns) == (5 * S - 5, 5 * S, 5 * S)


def test_an_alarm_holds_value_and_quality_of_its_onset() -> None:
    stage = alarms()

    run(stage, [Edge(6, 0, Turn.RAISED, 1, 151.5, Quality.FORCED, 150.0)], 2)

    assert (stage.status[0].value, stage.status[0].quality) == (151.5, Quality.FORCED)


@pytest.mark.parametrize(
    ("items", "is_changed"),
    [
        ([], False),
        ([act(5, "silence", "")], False),
        ([edge(5, Turn.RAISED)], True),
        ([edge(5, Turn.PENDING_LOST)], True),
        ([act(5, "acknowledge")], False),
        ([edge(4, Turn.RAISED), act(5, "acknowledge")], True),
        ([enter(5, "climb")], True),
        ([enter(5, "ground")], False),
        ([act(5, "shelve", reason="noisy", seconds=50.0)], True),
    ],
)
def test_an_alarm_is_changed_by_what_concerns_it(items: list[Item], is_changed: bool) -> None:
    _, changed = alarms().step(items, 9 * S, lambda _limit, _t_ns: 0)

    assert changed == ((0,) if is_changed else ())


def test_the_end_of_a_shelf_changes_its_alarm() -> None:
    stage = alarms()
    run(stage, [act(1, "shelve", reason="noisy", seconds=5.0)], 2)

    _, changed = stage.step([], 9 * S, lambda _limit, _t_ns: 0)

    assert changed == (0,)


def test_the_first_phase_suppresses_from_the_start() -> None:
    alarm = Alarm(HIGH, "PT-1", Priority.HIGH, "too high", suppressed_in=frozenset({"ground"}))
    stage = Alarms(AlarmsPlan((alarm,), ("ground", "climb")), 0)

    (event,) = run(stage, [edge(1, Turn.RAISED)], 2)

    assert (event.kind, event.fields["is_annunciated"]) == ("alarm.raised", False)


def test_a_shelf_that_ends_just_before_an_edge_comes_first() -> None:
    stage = alarms()
    just_after = Edge(6 * S + 1, 0, Turn.RAISED, 5 * S, 151.0, 0, 150.0)

    events = run(stage, [act(1, "shelve", reason="noisy", seconds=5.0), just_after], 20)

    assert kinds(events) == ["alarm.shelved", "alarm.unshelved", "alarm.raised"]


def test_changed_alarms_come_in_the_order_of_the_plan() -> None:
    rows = tuple(Alarm(f"P{i}.high", f"P{i}", Priority.LOW, "high") for i in range(9))
    stage = Alarms(AlarmsPlan(rows, ("ground",)), 0)
    edges = [Edge(1, i, Turn.RAISED, 1, 2.0, 0, 1.0) for i in (8, 1)]

    _, changed = stage.step(edges, 5, lambda _limit, _t_ns: 0)

    assert changed == (1, 8)
