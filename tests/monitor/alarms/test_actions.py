"""Tests for monitor.alarms.actions.

Source: Hand-worked here, from the rules that a shelf has a time and a reason, out of service a
name and a reason, top priority a second name, and an edit a name and what it changes (the
project's own limit rules 19 and 26).
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from monitor.alarms.actions import LONGEST_NAME, page_of, refusal_of
from monitor.alarms.plan import AlarmsPlan, Priority
from monitor.events import Action, Verb
from tests.monitor.alarms.made import BY, HIGH, SECOND, alarm

TOP = "PT-1.high_high"
PLAN = AlarmsPlan(
    (alarm(HIGH), alarm(TOP, Priority.TOP)),
    ("ground", "climb"),
    ("normal", "loop_only"),
    forcible={"PT-1": (0.0, 200.0), "PT-2": (-5.0, 5.0)},
)


def action(verb: Verb, subject: str = HIGH, **more: object) -> Action:
    """Make an action of a person with a reason and a time, changed as wanted."""
    fields: dict[str, object] = {"by": BY, "reason": "noisy", "seconds": 60.0}
    return Action(verb, subject, **(fields | more))  # type: ignore[arg-type]


def edit(changes: dict[str, float], subject: str = HIGH, **more: object) -> Action:
    """Make an edit."""
    return action("edit_limit", subject, changes=changes, **more)


def force(value: float, tag: str = "PT-2", **more: object) -> Action:
    """Force a value."""
    return action("force", tag, **({"changes": {"value": value}} | more))


REFUSED = [
    (action("acknowledge", by=" "), "who acts"),
    (action("acknowledge", "PT-2.high"), "no alarm 'PT-2.high'"),
    (action("acknowledge", f"{HIGH} PT-2.high"), "no alarm 'PT-2.high'"),
    (action("acknowledge", f"{HIGH} *"), "no alarm '*'"),
    (action("acknowledge", ""), "no alarm ''"),
    (action("acknowledge", " "), "no alarm ' '"),
    (action("reset", f"{HIGH} {TOP}"), "no alarm"),
    (action("enter_phase", "moon"), "no phase 'moon'"),
    (action("enter_phase", "normal"), "no phase 'normal'"),
    (action("enter_mode", "climb"), "no mode 'climb'"),
    (action("shelve", reason=""), "needs a reason"),
    (action("shelve", seconds=0.0), "a shelf lasts"),
    (action("shelve", seconds=float("nan")), "a shelf lasts"),
    (action("shelve", seconds=43_201.0), "at most 12 h"),
    (action("shelve", "*"), "no alarm '*'"),
    (action("unshelve", "PT-2.high"), "no alarm"),
    (action("out_of_service", reason=" "), "needs a reason"),
    (action("note", "", reason="  "), "the note is empty"),
    (action("note", "x" * 121), "a note is on one thing"),
    (action("note", "x\ny"), "a note is on one thing"),
    (edit({"setpoint": 1.0}, reason=""), "needs a reason"),
    (edit({"setpoint": 1.0}, by=""), "who acts"),
    (edit({"setpoint": 1.0}, "PT-2.high"), "no alarm"),
    (edit({}), "it changes nothing"),
    (edit({"bridge_s": 1.0}), "'bridge_s' cannot be changed"),
    (edit({"setpoint": 1.0, "kind": 1.0}), "'kind' cannot be changed"),
    (edit({"setpoint_in.moon": 1.0}), "'setpoint_in.moon' cannot be changed"),
    (edit({"setpoint_in.": 1.0}), "cannot be changed"),
    (edit({"climb": 1.0}), "'climb' cannot be changed"),
    (edit({"setpoint": float("nan")}), "setpoint must be a finite number"),
    (edit({"setpoint_in.climb": float("inf")}), "must be a finite number"),
    (edit({"deadband": -0.1}), "deadband must not be negative"),
    (edit({"on_delay_s": -1.0}), "on_delay_s must not be negative"),
    (edit({"off_delay_s": -1.0}), "off_delay_s must not be negative"),
    (edit({"on_delay_s": 864_000.0}), "on_delay_s must be below 864000 s"),
    (edit({"off_delay_s": 864_000.0}), "off_delay_s must be below 864000 s"),
    (force(1.0, "PT-3"), "no measured channel 'PT-3'"),
    (force(1.0, HIGH), "no measured channel 'PT-1.high'"),
    (action("unforce", "PT-3"), "no measured channel 'PT-3'"),
    (force(1.0, reason=""), "needs a reason"),
    (force(1.0, seconds=0.0), "a forced value lasts more than 0"),
    (force(1.0, seconds=43_201.0), "at most 12 h"),
    (force(1.0, changes={}), "needs a value, and nothing else"),
    (force(1.0, changes={"value": 1.0, "setpoint": 1.0}), "needs a value, and nothing else"),
    (force(float("nan")), "needs a value"),
    (force(5.1), "5.1 is outside what the sensor can give, -5 to 5"),
    (force(-5.1), "-5.1 is outside"),
    (force(100.0, "PT-1"), "a second person must agree"),
    (force(100.0, "PT-1", second=BY), "must not be the first"),
]

DONE = [
    action("acknowledge", "*", reason="", seconds=0.0),
    action("acknowledge", f"{HIGH} {TOP}"),
    action("acknowledge", TOP),
    action("reset"),
    action("reset", "*"),
    action("silence", ""),
    action("silence", "*"),
    action("lamp_test", ""),
    action("enter_phase", "climb"),
    action("enter_mode", "loop_only"),
    action("shelve", seconds=43_200.0),
    action("shelve", seconds=0.1),
    action("unshelve", TOP, reason=""),
    action("out_of_service", seconds=0.0),
    action("return_to_service", TOP, reason=""),
    action("note", "", reason="valve 3 hissed, 5 °C"),
    action("note", "x" * 120),
    edit({"setpoint": -1.0}),
    edit({"setpoint_in.climb": -1.0, "setpoint_in.loop_only": 2.0}),
    edit({"deadband": 0.0, "on_delay_s": 0.0, "off_delay_s": 863_999.0}),
    edit({"deadband": 1e9}),
    force(5.0),
    force(-5.0),
    force(200.0, "PT-1", second=SECOND),
    action("unforce", "PT-1", reason="", seconds=0.0),
]


@pytest.mark.parametrize(("wanted", "words"), REFUSED)
def test_an_action_that_makes_no_sense_is_refused_with_its_reason(
    wanted: Action, words: str
) -> None:
    assert words in refusal_of(wanted, PLAN)


@pytest.mark.parametrize("wanted", DONE)
def test_an_action_that_makes_sense_is_not_refused(wanted: Action) -> None:
    assert refusal_of(wanted, PLAN) == ""


# Two persons.


def two(verb: Verb, second: str, by: str = BY) -> Action:
    """Make an action on what is of top priority."""
    return action(verb, TOP, second=second, by=by, changes={"setpoint": 1.0})


def test_what_top_priority_goes_by_takes_two_names_to_edit_or_force() -> None:
    plan = replace(PLAN, behind_top=frozenset({HIGH, "PT-1", "PT-2"}))
    why = "what is of top priority goes by it: a second person must agree, by name"

    assert refusal_of(edit({"setpoint": 1.0}), plan) == why
    assert refusal_of(force(1.0), plan) == why
    assert refusal_of(edit({"setpoint": 1.0}, second=SECOND), plan) == ""
    assert refusal_of(force(1.0, second=SECOND), plan) == ""
    assert refusal_of(action("shelve"), plan) == ""
    assert refusal_of(force(100.0, "PT-1"), plan).startswith("it is of top priority")


@pytest.mark.parametrize("verb", ["shelve", "out_of_service", "edit_limit"])
@pytest.mark.parametrize("second", ["", "  "])
def test_top_priority_takes_a_second_name(verb: Verb, second: str) -> None:
    assert "a second person must agree" in refusal_of(two(verb, second), PLAN)


@pytest.mark.parametrize("verb", ["shelve", "out_of_service", "edit_limit"])
def test_with_two_names_top_priority_can_be_inhibited_and_edited(verb: Verb) -> None:
    assert refusal_of(two(verb, SECOND), PLAN) == ""


@pytest.mark.parametrize("second", ["A. Marl", "a.marl", " A.  MARL ", "A . Marl"])
def test_the_second_name_is_not_the_first_in_another_spelling(second: str) -> None:
    assert "must not be the first" in refusal_of(two("shelve", second), PLAN)


@pytest.mark.parametrize("verb", ["shelve", "out_of_service", "edit_limit"])
def test_what_is_not_of_top_priority_takes_one_name(verb: Verb) -> None:
    assert refusal_of(action(verb, changes={"setpoint": 1.0}), PLAN) == ""


def test_acknowledging_what_is_of_top_priority_takes_one_name() -> None:
    assert refusal_of(action("acknowledge", TOP), PLAN) == ""


# What can be written down.

UNWRITABLE = [
    "\n",
    "\t",
    "\x00",
    "\x1b[2J",
    "\x7f",
    "\x9b",
    "\u2028",
    "\u202e",
    "\u2066",
    "\ud800",
]


@pytest.mark.parametrize("mark", UNWRITABLE)
@pytest.mark.parametrize("field", ["by", "second", "reason"])
def test_control_characters_do_not_get_into_the_journal(field: str, mark: str) -> None:
    wanted = action("shelve", **{field: f"A. Marl{mark}and more"})

    assert "holds control characters" in refusal_of(wanted, PLAN)


@pytest.mark.parametrize("field", ["by", "second"])
def test_a_name_has_an_end(field: str) -> None:
    fits = action("shelve", **{field: "x" * LONGEST_NAME})
    does_not = action("shelve", **{field: "x" * (LONGEST_NAME + 1)})

    assert refusal_of(fits, PLAN) == ""
    assert "longer than 120 characters" in refusal_of(does_not, PLAN)


def test_a_reason_has_an_end() -> None:
    assert refusal_of(action("shelve", reason="x" * 2_000), PLAN) == ""
    assert "longer than 2000" in refusal_of(action("shelve", reason="x" * 2_001), PLAN)


@pytest.mark.parametrize("name", ["Zoë Ørsted", "山田", "O'Neill-Smith"])
def test_names_of_all_kinds_can_be_written(name: str) -> None:
    assert refusal_of(action("shelve", by=name), PLAN) == ""


@pytest.mark.parametrize(
    ("subject", "ids"),
    [("a", ["a"]), ("a b", ["a", "b"]), (" b  a b ", ["b", "a"]), ("", [])],
)
def test_a_page_names_each_alarm_once_in_its_order(subject: str, ids: list[str]) -> None:
    assert page_of(subject) == ids
