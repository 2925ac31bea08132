"""Tests for monitor.display.state.phases.

Source: hand-worked here. Fill is planned for 10 min and may last 15; it began at noon.
"""

from __future__ import annotations

import pytest

from monitor.display.state.phases import (
    mode_fact,
    mode_rows,
    phase_fact,
    phase_rows,
    phase_time,
)
from monitor.display.state.severity import Severity
from monitor.link.messages import PhaseState
from tests.monitor.display.made import NOON, NS, model
from tests.monitor.display.rich import rich_model

LAPSED = PhaseState("fill", NOON, "normal", NOON, True)


def after(minutes: float) -> int:
    """Give the data time so long after noon."""
    return NOON + int(minutes * 60) * NS


def test_each_phase_says_how_long_it_is_meant_to_last_and_what_enters_it() -> None:
    fill, soak, rest = phase_rows(rich_model(), after(1))

    assert (fill.title, fill.planned, fill.sort, fill.entry) == (
        "Fill", "10 min, at most 15 min", "", "",
    )  # fmt: skip
    assert (soak.planned, soak.sort, soak.entry) == (
        "", "hold", "from fill when PT-1 above 8 bar",
    )  # fmt: skip
    assert rest.sort == "abort, only safety alarms speak"


@pytest.mark.parametrize(
    ("minutes", "left"),
    [
        (4, "now, for 4 min 00 s, 6 min 00 s left"),
        (11.5, "now, for 11 min 30 s, 1 min 30 s over the plan"),
    ],
)
def test_the_present_phase_says_how_long_it_has_yet(minutes: float, left: str) -> None:
    rows = phase_rows(rich_model(), after(minutes))

    assert [row.left for row in rows] == [left, "", ""]
    assert [row.is_now for row in rows] == [True, False, False]


def test_a_phase_without_a_plan_only_says_how_long_it_has_lasted() -> None:
    rows = phase_rows(rich_model(phase=PhaseState("soak", NOON)), after(2))

    assert rows[1].left == "now, for 2 min 00 s"


def test_a_phase_that_lasts_too_long_says_so() -> None:
    assert phase_rows(rich_model(phase=LAPSED), after(16))[0].left == (
        "now, for 16 min 00 s, too long"
    )


def test_the_strip_warns_of_a_phase_that_lasts_too_long() -> None:
    fact = phase_fact(rich_model(phase=LAPSED))

    assert (fact.text, fact.severity) == ("Fill, TOO LONG", Severity.BAD)
    assert "speaks again" in fact.more


def test_the_strip_says_that_a_phase_is_quiet() -> None:
    fact = phase_fact(rich_model(phase=PhaseState("rest", NOON)))

    assert (fact.text, fact.severity) == ("Rest (quiet)", Severity.DOUBT)
    assert fact.more == "Only alarms that concern safety speak."


def test_the_strip_names_a_phase_that_the_stand_does_not_have_by_its_name() -> None:
    fact = phase_fact(rich_model(phase=PhaseState("other", NOON)))

    assert (fact.text, fact.severity, fact.more) == ("other", Severity.CALM, "")


@pytest.mark.parametrize(
    ("name", "minutes", "text"),
    [("fill", 4.9, "4 of 10 min"), ("fill", 0.5, "0 of 10 min"), ("soak", 4, "4 min 00 s")],
)
def test_the_time_of_the_phase_is_set_beside_the_plan(
    name: str, minutes: float, text: str
) -> None:
    assert phase_time(rich_model(phase=PhaseState(name, NOON)), after(minutes)) == text


def test_a_plan_in_whole_hours_is_set_beside_hours_and_minutes() -> None:
    run = rich_model()
    run.index.phase["fill"] = type(run.index.phase["fill"])("fill", "Fill", "", "test", 7200.0)

    assert phase_time(run, after(61)) == "1 h 01 min of 2 h"


def test_modes_are_listed_with_what_differs_and_the_present_one_with_its_time() -> None:
    normal, loop_only = mode_rows(rich_model(), after(2))

    assert (normal.title, normal.left, normal.note, normal.is_now) == (
        "Normal", "now, for 1 min 58 s", "Both are held.", True,
    )  # fmt: skip
    assert (loop_only.left, loop_only.is_now) == ("", False)


def test_a_stand_without_modes_has_no_fact_of_it() -> None:
    assert mode_fact(model()) is None
    assert mode_rows(model(), after(1)) == ()
