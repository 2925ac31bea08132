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
from tests.monitor.alarms.made import BY, HIGH, act, alarms, edge, kinds, run

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
