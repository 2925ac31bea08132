"""Tests for monitor.display.state.acts.

Source: hand-worked here; that acts are repeated safely is in monitor.link.messages.
"""

from __future__ import annotations

import pytest

from monitor.display.state.acts import (
    LONGEST_SUBJECT,
    MOST_WAITING,
    Acts,
    Outcome,
    describe,
    subjects,
)
from monitor.events import Event, Field, Verb
from monitor.link.messages import Act, Acted
from tests.monitor.display.made import NOON, NS

ACK = Act("", "acknowledge", "PT-1.high", "K. Vale")


def asked(acts: Acts, act: Act = ACK, now_ns: int = 0) -> Act:
    """Ask for an act that must go out."""
    sent = acts.ask(act, now_ns, is_connected=True)
    assert sent is not None
    return sent


def test_each_act_gets_an_id_of_its_own() -> None:
    acts = Acts("d1")

    assert [asked(acts).id, asked(acts).id] == ["d1-1", "d1-2"]


def test_nothing_of_an_act_is_lost_on_its_way() -> None:
    sent = asked(Acts("d1"), Act("", "shelve", "PT-1.high", "K. Vale", "repair", 90.0))

    assert sent == Act("d1-1", "shelve", "PT-1.high", "K. Vale", "repair", 90.0)


def test_the_answer_is_told() -> None:
    acts = Acts("d1")
    sent = asked(acts)
    assert acts.outcome.text == "Acknowledge PT-1.high: sent ..."

    acts.answered(Acted(sent.id, NOON))

    assert acts.outcome.text == "Acknowledge PT-1.high: done at 12:00:00 UTC."
    assert not acts.outcome.is_trouble
    assert acts.to_repeat(0) == []


def test_a_refusal_is_told_as_trouble() -> None:
    acts = Acts("d1")

    acts.answered(Acted(asked(acts).id, 0, "It is not active."))

    assert acts.outcome.text == "Acknowledge PT-1.high: refused. It is not active."
    assert acts.outcome.is_trouble


def test_an_answer_to_somebody_else_changes_nothing() -> None:
    acts = Acts("d1")
    asked(acts)

    acts.answered(Acted("d2-1", NOON))

    assert acts.outcome.text == "Acknowledge PT-1.high: sent ..."


@pytest.mark.parametrize(
    ("verb", "text"),
    [
        ("acknowledge", "Acknowledge PT-1.high: not done, there is no link to the watch."),
        (
            "silence",
            "Silence the tone: not done, there is no link to the watch (it is silent here).",
        ),
    ],
)
def test_without_a_link_nothing_is_sent_and_the_person_is_told(verb: Verb, text: str) -> None:
    acts = Acts("d1")

    sent = acts.ask(Act("", verb, "PT-1.high", "K. Vale"), 0, is_connected=False)

    assert sent is None
    assert acts.outcome.text == text
    assert acts.outcome.is_trouble


def test_what_was_not_answered_is_repeated_with_the_same_id() -> None:
    acts = Acts("d1")
    sent = asked(acts, now_ns=0)

    assert acts.to_repeat(5 * NS) == [sent]


def test_what_waited_too_long_is_given_up_rather_than_done_late() -> None:
    acts = Acts("d1")
    asked(acts, now_ns=0)

    assert acts.to_repeat(11 * NS) == []
    assert acts.given_up == 1
    assert acts.outcome.is_trouble


def test_acts_that_wait_are_bounded() -> None:
    acts = Acts("d1")
    for _ in range(MOST_WAITING):
        asked(acts)

    assert acts.ask(ACK, 0, is_connected=True) is None
    assert "too many" in acts.outcome.text


@pytest.mark.parametrize(
    ("verb", "subject", "text"),
    [
        ("acknowledge", "*", "Acknowledge all"),
        ("acknowledge", "PT-1.high", "Acknowledge PT-1.high"),
        ("acknowledge", "PT-1.high PT-1.low PT-2.stale", "Acknowledge 3 alarms"),
        ("edit_limit", "PT-1.high", "Edit PT-1.high"),
        ("enter_mode", "loop_only", "Enter mode loop_only"),
        ("lamp_test", "", "Lamp test"),
        ("force", "PT-1", "Force PT-1"),
        ("silence", "*", "Silence the tone"),
        ("note", "", "Note"),
        ("enter_phase", "soak", "Enter phase soak"),
    ],
)
def test_an_act_is_named_for_people(verb: Verb, subject: str, text: str) -> None:
    assert describe(Act("", verb, subject, "")) == text


def test_second_name_and_changes_go_out_with_the_act() -> None:
    act = Act("", "edit_limit", "PT-1.high", "K", "noise", 0.0, "M", {"setpoint": 7.0})

    sent = Acts("d1").ask(act, 0, is_connected=True)

    assert sent is not None
    assert (sent.id, sent.second, sent.changes) == ("d1-1", "M", {"setpoint": 7.0})


def refused(t_ns: int, verb: str = "reset") -> Event:
    """Give the line of the journal about an act that could not be done."""
    fields: dict[str, Field] = {"verb": verb, "by": "K", "why": "the condition still stands"}
    return Event(t_ns, "action.refused", "PT-1.high", fields)


@pytest.mark.parametrize("is_journal_first", [True, False])
def test_what_was_accepted_and_could_not_be_done_is_told_as_refused(
    is_journal_first: bool,
) -> None:
    acts = Acts("d1")
    sent = asked(acts, Act("", "reset", "PT-1.high", "K"))
    steps = [lambda: acts.heed([refused(NOON)]), lambda: acts.answered(Acted(sent.id, NOON))]

    for step in steps if is_journal_first else steps[::-1]:
        step()

    assert acts.outcome == Outcome(
        "Reset PT-1.high: refused. the condition still stands", is_trouble=True
    )


@pytest.mark.parametrize("other", [refused(NOON + 1), refused(NOON, "shelve")])
def test_the_refusal_of_another_act_does_not_count(other: Event) -> None:
    acts = Acts("d1")
    sent = asked(acts, Act("", "reset", "PT-1.high", "K"))
    acts.answered(Acted(sent.id, NOON))

    acts.heed([other])

    assert not acts.outcome.is_trouble


def test_ids_are_joined_to_as_few_subjects_as_the_engine_takes() -> None:
    ids = [f"PT-{number:06}.high_high" for number in range(2_000)]

    joined = subjects(ids)

    assert " ".join(joined).split() == ids
    assert len(joined) == 3
    assert max(len(one) for one in joined) <= LONGEST_SUBJECT


def test_nothing_to_join_gives_no_subject() -> None:
    assert subjects([]) == []
