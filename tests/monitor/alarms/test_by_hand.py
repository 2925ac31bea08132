"""Tests for monitor.alarms.by_hand.

Source: Hand-worked here: what each action of a person puts on record and leaves behind.
"""

from __future__ import annotations

import pytest

from monitor.alarms.core import Core
from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.alarms.stage import Alarms
from monitor.events import Verb
from monitor.limits.edges import Turn
from monitor.samples import FIRST_BAD, Quality
from tests.monitor.alarms.made import (
    BY,
    HIGH,
    SECOND,
    S,
    act,
    alarm,
    alarms,
    cleared,
    edge,
    kinds,
    raised,
    run,
    stage_of,
    told,
)

LATCHED = [edge(1, Turn.RAISED), edge(2, Turn.CLEARED), act(3, "acknowledge")]


def test_a_note_is_on_record_with_its_words() -> None:
    (event,) = run(alarms(), [act(1, "note", HIGH, reason="valve 3 hissed")])

    assert (event.kind, event.subject) == ("action.note", HIGH)
    assert event.fields == {"by": BY, "text": "valve 3 hissed"}


@pytest.mark.parametrize("subject", [HIGH, "*"])
def test_a_reset_lets_the_latch_go(subject: str) -> None:
    stage = alarms(is_latching=True)
    run(stage, LATCHED, 4)

    (event,) = run(stage, [act(5, "reset", subject)], 6)

    assert (event.kind, event.subject, event.fields) == ("alarm.reset", HIGH, {"by": BY})
    assert stage.status[0].core is Core.NORMAL


@pytest.mark.parametrize("quality", [quality for quality in Quality if quality >= FIRST_BAD])
def test_no_bad_quality_lets_a_reset_pass(quality: Quality) -> None:
    stage = alarms(is_latching=True)
    run(stage, LATCHED, 4)

    run(stage, [act(5, "reset")], 6, quality=quality)

    assert stage.status[0].is_latched


def test_acknowledging_or_resetting_all_does_not_complain_of_single_ones() -> None:
    stage = alarms(is_latching=True)
    run(stage, [edge(1, Turn.RAISED), act(2, "acknowledge")], 3)

    events = run(stage, [act(4, "acknowledge", "*"), act(5, "reset", "*")], 6)

    assert events == []


def test_acknowledging_what_is_acknowledged_is_refused() -> None:
    stage = alarms()
    run(stage, [edge(1, Turn.RAISED), act(2, "acknowledge")], 3)

    (event,) = run(stage, [act(4, "acknowledge")], 6)

    assert event.fields["why"] == "there is nothing to acknowledge"


def test_who_set_an_alarm_aside_and_why_stays_with_it_as_long_as_it_lasts() -> None:
    stage = alarms()
    run(
        stage,
        [
            act(1, "shelve", reason="noisy", seconds=50.0),
            act(2, "out_of_service", reason="sensor out"),
        ],
        3,
    )
    both = stage.status[0].inhibit_reason

    run(stage, [act(4, "unshelve")], 4)
    one = stage.status[0].inhibit_reason
    run(stage, [act(5, "return_to_service")], 5)

    assert both == "shelved by A. Marl: noisy; out of service by A. Marl: sensor out"
    assert one == "out of service by A. Marl: sensor out"
    assert stage.status[0].inhibit_reason == ""


@pytest.mark.parametrize(
    ("verb", "why"),
    [("unshelve", "it is not shelved"), ("return_to_service", "it is so already")],
)
def test_taking_back_what_was_not_done_is_refused(verb: Verb, why: str) -> None:
    (event,) = run(alarms(), [act(1, verb)], 6)

    assert (event.kind, event.fields["why"]) == ("action.refused", why)


def test_returning_to_service_shows_what_stands() -> None:
    stage = alarms()
    items = [act(1, "out_of_service", reason="sensor out"), edge(2, Turn.RAISED)]
    run(stage, items, 3)

    events = run(stage, [act(4, "return_to_service", reason="back")], 5)

    assert kinds(events) == ["alarm.returned_to_service", "alarm.annunciated"]


def test_a_shelf_ends_as_soon_as_w_has_reached_its_end() -> None:
    stage = alarms()
    run(stage, [act(1, "shelve", reason="noisy", seconds=5.0)], 2)

    before = run(stage, [], 6 - 1e-9)

    assert (before, kinds(run(stage, [], 6))) == ([], ["alarm.unshelved"])


def test_shelves_end_in_the_order_of_their_times() -> None:
    rows = tuple(Alarm(f"P{i}.high", f"P{i}", Priority.LOW, "high") for i in range(2))
    stage = Alarms(AlarmsPlan(rows, ("ground",)), 0)
    shelves = [
        act(1, "shelve", "P0.high", reason="noisy", seconds=9.0),
        act(1, "shelve", "P1.high", reason="noisy", seconds=5.0),
    ]

    events = run(stage, shelves, 20)

    assert [event.subject for event in events[2:]] == ["P1.high", "P0.high"]


# Silence and lamp test.


@pytest.mark.parametrize("verb", ["silence", "lamp_test"])
def test_silence_and_lamp_test_are_on_record_and_change_no_alarm(verb: Verb) -> None:
    stage = alarms()
    run(stage, [raised(1)], 2)
    before = stage.state()

    (event,) = run(stage, [act(3, verb, "")], 4)

    assert (event.kind, event.subject, event.fields) == (f"action.{verb}", "", {"by": BY})
    assert stage.state() == before


def test_silence_acknowledge_and_reset_are_three_different_things() -> None:
    stage = alarms(is_latching=True)
    run(stage, [raised(1), cleared(2)], 2)
    states = []

    for t_s, verb in enumerate(("silence", "reset", "acknowledge", "silence", "reset"), 3):
        run(stage, [act(t_s, verb)], t_s)
        states.append(stage.status[0].core)

    assert states == [
        Core.LATCHED_UNACKNOWLEDGED,
        Core.LATCHED_UNACKNOWLEDGED,
        Core.LATCHED_ACKNOWLEDGED,
        Core.LATCHED_ACKNOWLEDGED,
        Core.NORMAL,
    ]


# The second name.


@pytest.mark.parametrize("verb", ["shelve", "out_of_service"])
def test_what_is_of_top_priority_is_inhibited_by_two(verb: Verb) -> None:
    stage = alarms(priority=Priority.TOP)
    more = {"reason": "noisy", "seconds": 5.0}

    (refused,) = run(stage, [act(1, verb, **more)], 2)
    (event,) = run(stage, [act(3, verb, second=SECOND, **more)], 4)

    assert "second person" in str(refused.fields["why"])
    assert (event.fields["by"], event.fields["second"]) == (BY, SECOND)
    assert f"by {BY} with {SECOND}: noisy" in stage.status[0].inhibit_reason


def test_one_name_is_on_record_without_a_second() -> None:
    (event,) = run(alarms(), [act(1, "out_of_service", reason="gone")], 2)

    assert event.fields == {"by": BY, "reason": "gone"}


# What others carry out.


@pytest.mark.parametrize(
    ("verb", "subject", "why"),
    [
        ("enter_phase", "moon", "no phase 'moon' on this stand"),
        ("enter_mode", "moon", "no mode 'moon' on this stand"),
        ("edit_limit", "moon", "no alarm 'moon' on this stand"),
        ("enter_phase", "climb", "it could not be carried out here"),
    ],
)
def test_a_move_or_an_edit_that_arrives_as_an_action_is_refused_on_record(
    verb: Verb, subject: str, why: str
) -> None:
    more = {"reason": "why", "changes": {"setpoint": 1.0}}

    (event,) = run(alarms(), [act(1, verb, subject, **more)], 2)

    assert event.kind == "action.refused"
    assert event.fields == {"verb": verb, "by": BY, "why": why}


def test_since_when_an_alarm_is_set_aside_is_known_while_it_is() -> None:
    stage = alarms()
    aside = [
        act(1, "shelve", reason="noisy", seconds=60.0),
        act(2, "out_of_service", reason="gone"),
    ]

    run(stage, aside, 3)
    status = stage.status[0]
    during = (status.shelved_since_ns, status.shelved_until_ns, status.out_since_ns)
    run(stage, [act(4, "unshelve"), act(5, "return_to_service")], 6)

    assert during == (1 * S, 61 * S, 2 * S)
    after = (status.shelved_since_ns, status.shelved_until_ns, status.out_since_ns)
    assert after == (0, 0, 0)


def test_shelving_anew_begins_the_shelf_anew() -> None:
    stage = alarms()
    shelves = [
        act(1, "shelve", reason="noisy", seconds=5.0),
        act(3, "shelve", reason="still noisy", seconds=5.0),
    ]
    run(stage, shelves, 7)

    assert stage.status[0].is_shelved
    assert kinds(run(stage, [], 8)) == ["alarm.unshelved"]


def test_resetting_all_says_why_a_latch_cannot_go() -> None:
    stage = alarms(is_latching=True)
    run(stage, [raised(1), cleared(2)], 3)

    (event,) = run(stage, [act(4, "reset", "*")], 5)

    assert (event.subject, event.fields["why"]) == (HIGH, "acknowledge it first")


def test_a_shorter_shelf_ends_at_its_time_though_a_longer_one_came_after_it() -> None:
    stage = stage_of(alarm("A.high"), alarm("B.high"))
    shelves = [
        act(1, "shelve", "A.high", reason="noisy", seconds=5.0),
        act(2, "shelve", "B.high", reason="noisy", seconds=60.0),
    ]
    run(stage, shelves, 3)

    assert told(run(stage, [], 10)) == [("unshelved", "A.high")]


def test_a_shelf_that_was_taken_back_does_not_end_again() -> None:
    stage = stage_of(alarm("A.high"), alarm("B.high"))
    items = [
        act(1, "shelve", "A.high", reason="noisy", seconds=5.0),
        act(2, "unshelve", "A.high"),
        act(3, "shelve", "B.high", reason="noisy", seconds=5.0),
    ]
    run(stage, items, 4)

    assert told(run(stage, [], 100)) == [("unshelved", "B.high")]
