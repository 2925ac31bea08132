"""Tests for monitor.display.state.edit.

Source: hand-worked here; what an edit may change is what the engine takes.
"""

from __future__ import annotations

import msgspec
import pytest

from monitor.display.state.edit import (
    EditForm,
    edit_form,
    force_form,
    judge_edit,
    limit_choices,
    limit_title,
    needs_second,
    number_problem,
    second_problem,
)
from monitor.link.messages import AlarmState
from tests.monitor.display.made import model
from tests.monitor.display.rich import at_rest, rich_model


def form(limit_id: str, *alarms: AlarmState) -> EditForm:
    """Lay out the form of a limit of the rich stand."""
    made = edit_form(rich_model(*alarms), limit_id)
    assert made is not None
    return made


def entries(made: EditForm, **new: str) -> dict[str, str]:
    """Fill a form in as it stands, with some entries changed."""
    keys = {"climb": "setpoint_in.soak"}
    return {one.key: one.entry for one in made.fields} | {
        keys.get(key, key): text for key, text in new.items()
    }


def test_the_limits_of_a_channel_are_offered_with_setpoint_and_priority() -> None:
    choices = limit_choices(rich_model(at_rest("PT-1.low", setpoint=2.5)), "PT-1")

    assert [choice.text for choice in choices][:3] == [
        "high-high 9.0 bar  (top priority)",
        "high 8.0 bar  (high priority)",
        "low 2.5 bar  (medium priority)",
    ]
    assert choices[2].limit == "PT-1.low"


def test_an_unknown_channel_offers_nothing() -> None:
    assert limit_choices(model(), "XX") == ()


def test_a_limit_is_named_with_its_alarm() -> None:
    assert limit_title(rich_model(), "PT-1.high_high") == "PT-1 high-high: PT-1 high_high"


def test_the_form_has_every_figure_that_can_be_edited() -> None:
    made = form("PT-1.high")

    assert [(one.key, one.now_text) for one in made.fields] == [
        ("setpoint", "8 bar"),
        ("setpoint_in.soak", "6 bar"),
        ("setpoint_in.fill", "none"),
        ("setpoint_in.normal", "none"),
        ("deadband", "0.5 bar"),
        ("on_delay_s", "0 s"),
        ("off_delay_s", "0 s"),
    ]
    assert made.fields[1].title == "setpoint in Soak"


def test_the_form_shows_what_was_edited_before() -> None:
    edited = at_rest("PT-1.high", edits={"deadband": 0.25, "setpoint_in.fill": 7.0})

    now = {one.key: one.entry for one in form("PT-1.high", edited).fields}

    assert (now["deadband"], now["setpoint_in.fill"]) == ("0.25", "7")


def test_of_a_limit_without_a_setpoint_only_the_delays_can_be_edited() -> None:
    assert [one.key for one in form("PT-2.stale").fields] == ["on_delay_s", "off_delay_s"]


def test_a_limit_that_goes_by_n_of_m_has_no_on_delay() -> None:
    run = rich_model()
    place = run.index.limits["PT-1.low"]
    limit = type(place.limit)(
        "PT-1.low", "low", "low", "", "", 2.0, {}, 0.0, 0.0, 0.0, False, [], n_of_m=(2, 3)
    )
    run.index.limits["PT-1.low"] = type(place)(limit, place.channel, 0)

    made = edit_form(run, "PT-1.low")

    assert made is not None
    assert "on_delay_s" not in [one.key for one in made.fields]


def test_an_unknown_limit_has_no_form() -> None:
    assert edit_form(model(), "XX.high") is None


def test_changes_are_told_from_what_to_what() -> None:
    made = form("PT-1.high")

    verdict = judge_edit(made, entries(made, setpoint="8,5", climb="−1", off_delay_s="3"))

    assert verdict.changes == {"setpoint": 8.5, "setpoint_in.soak": -1.0, "off_delay_s": 3.0}
    assert verdict.told == (
        "setpoint 8 bar to 8.5 bar",
        "setpoint in soak 6 bar to −1 bar",
        "off-delay 0 s to 3 s",
    )
    assert verdict.problem == ""


@pytest.mark.parametrize("new", [{}, {"setpoint": ""}, {"setpoint": "8.0"}])
def test_entries_that_change_nothing_are_no_edit(new: dict[str, str]) -> None:
    made = form("PT-1.high")

    verdict = judge_edit(made, entries(made, **new))

    assert (verdict.changes, verdict.problem) == ({}, "Nothing is changed yet.")


@pytest.mark.parametrize(
    ("new", "problem"),
    [
        ({"setpoint": "much"}, "setpoint: 'much' is no number."),
        ({"setpoint": "inf"}, "setpoint: 'inf' is no number."),
        ({"deadband": "-1"}, "deadband: cannot be below 0."),
        ({"on_delay_s": "-0.5"}, "on-delay: cannot be below 0."),
    ],
)
def test_an_entry_that_makes_no_sense_is_said(new: dict[str, str], problem: str) -> None:
    made = form("PT-1.high")

    verdict = judge_edit(made, entries(made, **new))

    assert (verdict.changes, verdict.problem) == ({}, problem)


def test_only_top_priority_takes_a_second_name() -> None:
    run = rich_model()

    assert [needs_second(run, one) for one in ("PT-1.high_high", "PT-1.high", "XX")] == [
        True, False, False,
    ]  # fmt: skip
    assert form("PT-1.low_low").needs_second
    assert not form("PT-1.high").needs_second


def test_what_top_priority_goes_by_takes_a_second_name_too() -> None:
    run = rich_model()
    run.index.stand.behind_top.extend(["PT-1.high", "TT-1"])
    try:
        made, forced = edit_form(run, "PT-1.high"), force_form(run, "TT-1")
    finally:
        run.index.stand.behind_top.clear()

    assert made is not None
    assert forced is not None
    assert (made.needs_second, forced.needs_second) == (True, True)


def test_a_measured_channel_can_be_forced_and_top_priority_takes_two_people() -> None:
    first, second = force_form(rich_model(), "PT-1"), force_form(rich_model(), "TT-1")

    assert first is not None
    assert second is not None
    assert (first.title, first.unit, first.needs_second) == ("PT-1 PT-1 title", "bar", True)
    assert not second.needs_second


def test_what_is_computed_or_unknown_cannot_be_forced() -> None:
    run = rich_model()
    info = run.index.stand.channels[2]
    run.index.channel["PY-1"] = len(run.index.stand.channels)
    run.index.stand.channels.append(msgspec.structs.replace(info, tag="PY-1", instrument=""))
    try:
        assert force_form(run, "PY-1") is None
    finally:
        run.index.stand.channels.pop()
    assert force_form(run, "XX") is None


@pytest.mark.parametrize(("text", "is_fine"), [("5,5", True), (" 0 ", True), ("", False)])
def test_a_value_has_to_be_a_number(text: str, is_fine: bool) -> None:
    assert (number_problem(text) == "") is is_fine


@pytest.mark.parametrize(
    ("second", "is_fine"), [("M. Ito", True), ("", False), ("  ", False), (" k. vale ", False)]
)
def test_the_second_name_is_another_persons(second: str, is_fine: bool) -> None:
    assert (second_problem("K. Vale", second) == "") is is_fine
