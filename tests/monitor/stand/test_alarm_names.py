"""Tests for monitor.stand.alarm_names.

Source: the plan that is compiled from the same file; paths hand-worked.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.alarms.plan import Priority
from monitor.limits.plan import Kind
from monitor.stand.alarm_names import alarm_names
from monitor.stand.model import Stand
from tests.monitor.stand.places_stand import PLACES, draft_of

ARMED = PLACES.replace("deadband = 1\non_delay", "arm_by_s = 60\ndeadband = 1\non_delay")


@pytest.mark.parametrize("text", [PLACES, ARMED], ids=["plain", "armed"])
def test_the_names_are_those_of_the_plan(text: str, load: Callable[[str], Stand]) -> None:
    compiled = {limit.id for limit in load(text).plan.limits}

    assert set(alarm_names(draft_of(text))) == compiled


def test_the_kinds_are_those_of_the_plan(load: Callable[[str], Stand]) -> None:
    compiled = {limit.id: limit.kind for limit in load(ARMED).plan.limits}

    assert {one.id: one.kind for one in alarm_names(draft_of(ARMED)).values()} == compiled


@pytest.mark.parametrize(
    ("name", "path"),
    [
        ("PT-301.low", ("channels", "PT-301", "limits", "low")),
        ("PT-301.low.arming", ("channels", "PT-301", "limits", "low", "arm_by_s")),
        ("PT-301.stale", ("channels", "PT-301", "limits", "stale")),
        ("link:panel.high", ("instruments", "panel", "alarm")),
        ("phase:hold.phase_overlong", ("phases", 2, "longest_s")),
        ("UA-401.combination", ("combinations", "UA-401")),
        ("UA-901.abort", ("abort", "UA-901")),
    ],
)
def test_each_has_the_place_at_which_it_is_written(
    name: str, path: tuple[str | int, ...]
) -> None:
    assert alarm_names(draft_of(ARMED))[name].path == path


def test_what_goes_with_another_alarm_or_a_phase_has_no_table_of_its_own() -> None:
    names = alarm_names(draft_of(ARMED)).values()

    assert [one.id for one in names if not one.is_written] == [
        "PT-301.low.arming",
        "phase:hold.phase_overlong",
        "phase:idle.phase_overlong",
    ]


def test_an_alarm_has_its_table() -> None:
    name = alarm_names(draft_of(PLACES))["PT-301.low"]

    assert (name.table.priority, name.table.response) == (
        Priority.TOP,
        "Open the make-up valve.",
    )


def test_the_alarm_of_a_link_has_the_table_of_the_instrument() -> None:
    text = PLACES.replace('"z1"]\n', '"z1"]\nalarm = { priority = "top" }\n')

    assert alarm_names(draft_of(text))["link:panel.high"].table.priority is Priority.TOP


def test_the_alarm_of_a_phase_has_its_priority() -> None:
    text = PLACES.replace("quiet = true\n", 'quiet = true\nalarm = { priority = "high" }\n')
    names = alarm_names(draft_of(text))

    assert [
        names[f"phase:{phase}.{Kind.PHASE_OVERLONG}"].table.priority
        for phase in ("hold", "idle")
    ] == [None, Priority.HIGH]
