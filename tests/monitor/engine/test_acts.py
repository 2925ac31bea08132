"""Tests for monitor.engine.acts.

Source: the rules for shelves and out of service (a shelf has a time and a reason, out of
service a name and a reason, top priority a second name); the rest hand-worked here.
"""

from __future__ import annotations

import pytest

from monitor.alarms.actions import refusal_of
from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.channels.plan import ChannelsPlan
from monitor.engine import acts as module
from monitor.engine.acts import ActDesk
from monitor.events import Action, Verb
from monitor.limits.plan import Kind, Limit
from monitor.link.messages import Act, Acted
from monitor.pipeline import Plan

PLAN = Plan(
    ChannelsPlan(()),
    (Limit("PT-1.high", 0, Kind.HIGH, 1.0), Limit("PT-1.high_high", 0, Kind.HIGH_HIGH, 2.0)),
    AlarmsPlan(
        (
            Alarm("PT-1.high", "PT-1", Priority.HIGH, "High"),
            Alarm("PT-1.high_high", "PT-1", Priority.TOP, "Much too high"),
        ),
        ("ground", "climb"),
        ("normal", "loop_only"),
    ),
)


class Pipe:
    """Notes what is done and gives rising times."""

    def __init__(self) -> None:
        self.done: list[Action] = []

    def do(self, action: Action) -> int:
        self.done.append(action)
        return 100 + len(self.done)


@pytest.fixture
def pipe() -> Pipe:
    return Pipe()


@pytest.fixture
def desk(pipe: Pipe) -> ActDesk:
    return ActDesk(PLAN, pipe.do)


SENSIBLE = [
    Act("1", "acknowledge", "PT-1.high", "K. Vale"),
    Act("1", "acknowledge", "*", "K. Vale"),
    Act("1", "acknowledge", "PT-1.high PT-1.high_high", "K. Vale"),
    Act("1", "reset", "*", "K. Vale"),
    Act("1", "silence", "", "K. Vale"),
    Act("1", "lamp_test", "", "K. Vale"),
    Act("1", "enter_mode", "loop_only", "K. Vale"),
    Act("1", "edit_limit", "PT-1.high", "K. Vale", "too near", changes={"setpoint": 1.5}),
    Act("1", "shelve", "PT-1.high_high", "K. Vale", "loose", 60.0, "A. Marl"),
    Act("1", "enter_phase", "climb", "K. Vale"),
    Act("1", "note", "", "K. Vale", "a leak at the flange"),
    Act("1", "shelve", "PT-1.high", "K. Vale", "sensor is loose", 60.0),
    Act("1", "shelve", "PT-1.high", "K. Vale", "for a moment", 0.5),
    Act("1", "unshelve", "PT-1.high", "K. Vale"),
    Act("1", "note", "", "K. Vale", "x" * 2_000),
    Act("1", "acknowledge", "PT-1.high " * 2_000, "K. Vale"),
    Act("1", "out_of_service", "PT-1.high", "K. Vale", "sensor is gone"),
    Act("1", "return_to_service", "PT-1.high", "K. Vale"),
]

SENSELESS: list[tuple[Act, str]] = [
    (
        Act("1", "acknowledge", "PT-1.hgh", "K"),
        "no limit 'PT-1.hgh'; did you mean 'PT-1.high'?",
    ),
    (Act("1", "reset", "", "K"), "no limit ''"),
    (Act("1", "enter_phase", "clim", "K"), "no phase 'clim'; did you mean 'climb'?"),
    (Act("1", "enter_phase", "*", "K"), "no phase"),
    (Act("1", "enter_mode", "loop", "K"), "no mode 'loop'; did you mean 'loop_only'?"),
    (
        Act("1", "acknowledge", "PT-1.high PT-1.hgh", "K"),
        "no limit 'PT-1.hgh'; did you mean 'PT-1.high'?",
    ),
    (Act("1", "acknowledge", "", "K"), "no alarm ''"),
    (Act("1", "acknowledge", "PT-1.high " * 2_001, "K"), "longer than 20000"),
    (Act("1" * 2_001, "silence", "", "K"), "longer than 2000"),
    (Act("1", "reset", "PT-1.high PT-1.high_high", "K"), "no limit"),
    (Act("1", "silence", "", " "), "who acts"),
    (Act("1", "note", "", "K", "  "), "the note is empty"),
    (Act("1", "shelve", "*", "K", "why", 60.0), "no limit"),
    (Act("1", "shelve", "PT-1.high", "K", " ", 60.0), "needs a reason"),
    (Act("1", "shelve", "PT-1.high", "", "why", 60.0), "who acts"),
    (Act("1", "shelve", "PT-1.high", "K", "why", 0.0), "more than 0"),
    (Act("1", "shelve", "PT-1.high", "K", "why", float("nan")), "more than 0"),
    (Act("1", "shelve", "PT-1.high", "K", "why", 43_201.0), "at most 12 h"),
    (Act("1", "unshelve", "PT-9", "K"), "no limit"),
    (Act("1", "out_of_service", "PT-1.high", "K", ""), "needs a reason"),
    (Act("1", "out_of_service", "PT-1.high", "", "why"), "who acts"),
    (Act("1", "return_to_service", "PT-9", "K"), "no limit"),
    (Act("1", "shelve", "PT-1.high_high", "K", "loose", 60.0), "second person"),
    (Act("1", "edit_limit", "PT-1.high", "K", "too near"), "changes nothing"),
    (Act("1", "note", "", "K", "x" * 2_001), "longer than 2000"),
]


@pytest.mark.parametrize("act", SENSIBLE, ids=lambda act: f"{act.verb} {act.subject}")
def test_what_makes_sense_is_done_and_answered_with_its_time(
    desk: ActDesk, pipe: Pipe, act: Act
) -> None:
    assert desk.take(act) == Acted("1", 101)
    assert pipe.done == [
        Action(act.verb, act.subject, act.by, act.reason, act.seconds, act.second, act.changes)
    ]


@pytest.mark.parametrize(("act", "why"), SENSELESS, ids=lambda x: getattr(x, "verb", "why"))
def test_what_makes_no_sense_is_refused_with_the_cure(
    desk: ActDesk, pipe: Pipe, act: Act, why: str
) -> None:
    answer = desk.take(act)

    assert why in answer.refusal
    assert answer.effective_ns == 0
    assert pipe.done == []
    assert desk.refused == 1


@pytest.mark.parametrize("verb", ["silence", "shelve"])
def test_an_action_sent_again_gets_the_same_answer_and_is_not_done_again(
    desk: ActDesk, pipe: Pipe, verb: Verb
) -> None:
    first = desk.take(Act("a", verb, "PT-1.high", "K"))
    desk.take(Act("b", "silence", "", "K"))

    assert desk.take(Act("a", verb, "PT-1.high", "K")) is first
    assert sum(action.verb == verb for action in pipe.done) == (2 if verb == "silence" else 0)


def test_answers_are_bounded_and_the_oldest_go(
    desk: ActDesk, pipe: Pipe, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "MOST_ANSWERS", 2)
    for name in ("a", "b", "c", "b", "c"):
        desk.take(Act(name, "silence", "", "K"))
    assert len(pipe.done) == 3

    desk.take(Act("a", "silence", "", "K"))

    assert len(pipe.done) == 4


@pytest.mark.parametrize("act", [*SENSIBLE, *(act for act, _ in SENSELESS)])
def test_nothing_is_admitted_that_the_pipeline_refuses_from_the_plan_alone(
    desk: ActDesk, pipe: Pipe, act: Act
) -> None:
    desk.take(act)

    assert [refusal_of(action, PLAN.alarms) for action in pipe.done] == [""] * len(pipe.done)
