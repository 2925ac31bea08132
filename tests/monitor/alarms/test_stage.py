"""Tests for monitor.alarms.stage.

Source: Hand-worked here, rule by rule, from the project's own limit rules (DEVELOPERS.md).
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from monitor.alarms.core import Core
from monitor.alarms.items import Edited, Refused
from monitor.alarms.plan import AlarmsPlan, Priority
from monitor.alarms.stage import Alarms
from monitor.errors import MonitorError
from monitor.events import Action, Control, HostEvent, LinkChange
from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import Place
from monitor.samples import Quality
from tests.monitor.alarms.made import (
    BY,
    HIGH,
    S,
    act,
    alarm,
    alarms,
    edge,
    enter,
    kinds,
    run,
)


def test_acknowledging_at_the_instant_of_a_new_occurrence_leaves_it_unacknowledged() -> None:
    stage = alarms()
    run(stage, [edge(1, Turn.RAISED), edge(2, Turn.CLEARED)], 3)

    run(stage, [edge(5, Turn.RAISED), act(5, "acknowledge")], 6)

    assert stage.status[0].core is Core.UNACKNOWLEDGED


def test_a_suppressed_alarm_is_annunciated_when_the_phase_ends_and_it_still_stands() -> None:
    stage = alarms()
    items = [enter(1, "climb"), edge(3, Turn.RAISED)]
    during = run(stage, items, 4)
    shown = stage.status[0].is_annunciated

    after = run(stage, [enter(9, "ground")], 10)

    assert (shown, during[-1].fields["is_annunciated"]) == (False, False)
    assert kinds(after) == ["phase.entered", "alarm.unsuppressed", "alarm.annunciated"]
    assert (after[-1].t_ns, stage.status[0].annunciated_ns) == (9 * S, 9 * S)


def test_what_nobody_was_shown_and_is_gone_needs_no_acknowledging() -> None:
    stage = alarms()
    items = [enter(1, "climb"), edge(3, Turn.RAISED), edge(4, Turn.CLEARED)]
    run(stage, items, 5)

    after = run(stage, [enter(9, "ground")], 10)

    assert (kinds(after), stage.status[0].core) == (["phase.entered"], Core.NORMAL)


def test_leaving_one_suppression_loses_neither_another_nor_a_latch() -> None:
    stage = alarms(is_latching=True)
    run(
        stage,
        [
            act(1, "shelve", reason="noisy", seconds=50.0),
            enter(2, "climb"),
            edge(3, Turn.RAISED),
            edge(4, Turn.CLEARED),
            enter(5, "ground"),
        ],
        6,
    )
    status = stage.status[0]

    assert (status.is_shelved, status.is_latched, status.is_annunciated) == (True, True, False)


def test_a_shelf_ends_by_itself_and_shows_what_still_stands() -> None:
    stage = alarms()
    items = [act(1, "shelve", reason="noisy", seconds=5.0), edge(3, Turn.RAISED)]

    events = run(stage, items, 20)

    assert kinds(events)[2:] == ["alarm.unshelved", "alarm.annunciated"]
    assert [event.t_ns for event in events[2:]] == [6 * S, 6 * S]


def test_an_edge_at_the_end_of_a_shelf_comes_first() -> None:
    stage = alarms()
    items = [act(1, "shelve", reason="noisy", seconds=5.0), edge(6, Turn.RAISED)]

    events = run(stage, items, 20)

    assert kinds(events)[1:] == ["alarm.raised", "alarm.unshelved", "alarm.annunciated"]


def test_reset_needs_a_value_that_is_not_bad_and_says_so() -> None:
    stage = alarms(is_latching=True)
    run(stage, [edge(1, Turn.RAISED), edge(2, Turn.CLEARED), act(3, "acknowledge")], 4)

    (refused,) = run(stage, [act(5, "reset")], 6, quality=Quality.STALE)

    assert (refused.kind, refused.fields["why"]) == (
        "action.refused",
        "the value is bad (stale)",
    )
    assert stage.status[0].is_latched


@pytest.mark.parametrize(
    ("items", "why"),
    [
        ([], "nothing is latched"),
        ([edge(1, Turn.RAISED)], "the condition still stands"),
        ([edge(1, Turn.RAISED), edge(2, Turn.CLEARED)], "acknowledge it first"),
    ],
)
def test_a_refused_reset_says_why(items: list[Edge], why: str) -> None:
    stage = alarms(is_latching=True)
    run(stage, items, 3)

    (refused,) = run(stage, [act(5, "reset")], 6)

    assert refused.fields["why"] == why


def test_acknowledging_all_takes_what_is_annunciated() -> None:
    stage = alarms()
    run(stage, [edge(1, Turn.RAISED)], 2)

    events = run(stage, [act(3, "acknowledge", "*")], 4)

    assert (kinds(events), events[0].subject) == (["alarm.acknowledged"], HIGH)


def test_silence_acknowledges_nothing() -> None:
    stage = alarms()
    run(stage, [edge(1, Turn.RAISED)], 2)

    events = run(stage, [act(3, "silence", "")], 4)

    assert kinds(events) == ["action.silence"]
    assert stage.status[0].core is Core.UNACKNOWLEDGED


def test_out_of_service_hides_and_returning_shows() -> None:
    stage = alarms()
    out = [act(1, "out_of_service", reason="sensor out"), edge(3, Turn.RAISED)]
    run(stage, out, 4)
    hidden = stage.status[0].is_annunciated

    run(stage, [act(5, "return_to_service", reason="sensor back")], 6)

    assert (hidden, stage.status[0].is_annunciated) == (False, True)


def test_a_condition_of_journal_priority_is_written_down_and_never_annunciated() -> None:
    stage = alarms(priority=Priority.JOURNAL)

    events = run(stage, [edge(1, Turn.RAISED), edge(2, Turn.CLEARED)], 3)

    assert kinds(events) == ["condition.on", "condition.off"]
    assert not stage.status[0].is_annunciated


def test_pending_lost_is_on_record_and_changes_no_state() -> None:
    stage = alarms()

    events = run(stage, [edge(1, Turn.PENDING_LOST)], 3)

    assert (kinds(events), stage.status[0].core) == (["alarm.pending_lost"], Core.NORMAL)


def test_an_unknown_phase_is_refused_on_record() -> None:
    stage = alarms()

    (event,) = run(stage, [act(1, "enter_phase", "moon")], 3)

    assert (event.kind, stage.phase) == ("action.refused", "ground")


def test_links_and_host_events_are_on_record() -> None:
    stage = alarms()
    controls = [
        Control(1, 0, HostEvent("run_started", "first", {"z": 1, "a": 2})),
        Control(2, 1, LinkChange("gas", False, "unplugged", "plug it in")),
    ]

    events = run(stage, controls, 3)

    assert kinds(events) == ["run.started", "phase.entered", "link.down"]
    assert list(events[0].fields) == ["detail", "a", "z"]


def test_everything_survives_a_restart() -> None:
    stage = alarms(is_latching=True)
    items = [
        act(1, "shelve", reason="noisy", seconds=50.0),
        edge(3, Turn.RAISED),
        enter(4, "climb"),
    ]
    run(stage, items, 6)
    other = alarms(is_latching=True)

    other.load_state(stage.state())

    assert (other.status, other.phase, other.phase_since_ns) == (stage.status, "climb", 4 * S)
    assert kinds(run(other, [], 60)) == ["alarm.unshelved"]


PLAN = AlarmsPlan((alarm(group="loss"),), ("ground", "climb"), ("normal", "loop_only"))


@pytest.mark.parametrize(
    "plan",
    [
        replace(PLAN, alarms=(alarm("PT-2.high", group="loss"),)),
        replace(PLAN, alarms=()),
        replace(PLAN, alarms=(alarm(),)),
        replace(PLAN, phases=("ground", "hold")),
        replace(PLAN, modes=("normal",)),
        replace(PLAN, modes=()),
    ],
)
def test_the_state_of_another_plan_is_refused(plan: AlarmsPlan) -> None:
    stage = Alarms(PLAN, 0)
    run(stage, [enter(1, "climb"), enter(1, "climb", "loop_only")], 2)

    with pytest.raises(MonitorError, match="another stand file"):
        Alarms(plan, 0).load_state(stage.state())


def test_where_the_test_stands_survives_a_restart() -> None:
    stage, other = Alarms(PLAN, 0), Alarms(PLAN, 9)
    run(stage, [enter(1, "climb"), enter(2, "climb", "loop_only")], 3)

    other.load_state(stage.state())

    assert other.place == Place("climb", "loop_only")
    assert (other.phase_since_ns, other.mode_since_ns) == (1 * S, 2 * S)


def test_phase_and_mode_have_a_since_of_their_own() -> None:
    stage = Alarms(PLAN, 5)

    run(stage, [enter(1, "climb", "loop_only")], 3)

    assert (stage.phase, stage.phase_since_ns, stage.mode_since_ns) == ("climb", 5, 1 * S)


def test_a_run_starts_in_phase_and_mode() -> None:
    events = run(Alarms(PLAN, 0), [Control(1, 0, HostEvent("run_started", "first"))], 3)

    assert [event.subject for event in events] == ["", "ground", "normal"]


def test_a_person_goes_before_a_shelf_that_ends_at_the_same_instant() -> None:
    stage = alarms()
    items = [act(1, "shelve", reason="noisy", seconds=5.0), act(6, "unshelve")]

    events = run(stage, items, 20)

    assert [event.fields["by"] for event in events] == [BY, BY]


def test_what_a_stage_before_refuses_is_on_record() -> None:
    refused = Refused(S, Action("edit_limit", HIGH, BY), "it would stand above high-high")

    (event,) = run(alarms(), [refused], 2)

    assert (event.t_ns, event.kind, event.subject) == (S, "action.refused", HIGH)
    assert event.fields["why"] == "it would stand above high-high"


def test_an_edit_is_on_record() -> None:
    edited = Edited(S, 0, BY, "", "too near", {"setpoint_from": 1.0, "setpoint_to": 2.0})

    (event,) = run(alarms(), [edited], 2)

    assert (event.kind, event.subject) == ("limit.edited", HIGH)
