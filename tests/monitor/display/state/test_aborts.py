"""Tests for monitor.display.state.aborts.

Source: hand-worked here, on a criterion that joins two limits.
"""

from __future__ import annotations

import pytest

from monitor.display.state.aborts import AbortRow, abort_rows
from monitor.display.state.severity import Severity
from monitor.link.messages import AbortInfo, AlarmState, PhaseState, Value
from tests.monitor.display.made import NOON, NS, alarm, model
from tests.monitor.display.rich import at_rest, rich_model

NOW = NOON + 65 * NS


def row(*alarms: AlarmState, **more: object) -> AbortRow:
    """Give the row of the criterion."""
    (made,) = abort_rows(rich_model(*alarms, **more), NOW)
    return made


def test_a_criterion_at_rest_says_what_it_waits_for_and_what_it_calls_for() -> None:
    made = row()

    assert (made.title, made.state, made.severity) == ("Loop is lost", "not met", Severity.CALM)
    assert made.when == "PT-1 low-low and not PT-1 low"
    assert (made.safe_state, made.met) == ("Vent and close", "0 of 2")


@pytest.mark.parametrize(
    ("changes", "state", "severity"),
    [
        ({}, "MET since 12:00:05, not acknowledged", Severity.TOP),
        ({"is_acknowledged": True}, "MET since 12:00:05", Severity.TOP),
        (
            {"is_active": False, "is_latched": True, "is_acknowledged": True},
            "gone, awaits reset",
            Severity.TOP,
        ),
        ({"is_out_of_service": True}, "met, but out of service", Severity.DOUBT),
        (
            {"is_active": False, "is_acknowledged": True, "is_out_of_service": True},
            "out of service",
            Severity.DOUBT,
        ),
    ],
)
def test_a_criterion_that_is_met_or_inhibited_says_so(
    changes: dict[str, object], state: str, severity: Severity
) -> None:
    made = row(alarm("UA-9.abort", **changes))

    assert (made.state, made.severity) == (state, severity)


def test_each_input_says_how_it_stands_with_value_and_limit() -> None:
    made = row(alarm("PT-1.low_low", setpoint=1.5))

    low_low, low = made.inputs
    assert (low_low.name, low_low.state, low_low.is_standing) == (
        "PT-1 low-low",
        "STANDS",
        True,
    )
    assert (low_low.value, low_low.limit) == ("8.5 bar", "1.5 bar")
    assert (low.state, made.met) == ("no", "1 of 2")


def test_an_input_without_a_valid_value_shows_none() -> None:
    values = [Value(NOON, None, 0x83), Value(NOON, None, 0x83), Value(NOON, 1.0, 0)]

    assert row(values=values).inputs[0].value == "---"


def looking_at(limit_id: str, *alarms: AlarmState, **more: object) -> AbortRow:
    """Give a criterion that looks at one other limit."""
    run = rich_model(*alarms, **more)
    run.index.stand.aborts[:] = [AbortInfo("UA-9.abort", "T", limit_id, [limit_id], "S")]
    try:
        (made,) = abort_rows(run, NOW)
    finally:
        run.index.stand.aborts[:] = ABORTS
    return made


ABORTS = list(rich_model().index.stand.aborts)


@pytest.mark.parametrize(
    ("limit_id", "state"),
    [("PT-2.expected", "not watched now"), ("PT-2.low", "asleep"), ("XX.high", "unknown")],
)
def test_an_input_that_cannot_speak_says_why(limit_id: str, state: str) -> None:
    made = looking_at(limit_id, at_rest("PT-2.low", armed="asleep"))

    assert made.inputs[0].state == state


def test_an_input_is_watched_in_its_phase() -> None:
    made = looking_at("PT-2.expected", phase=PhaseState("soak", NOON))

    assert (made.inputs[0].state, made.inputs[0].value) == ("no", "")


def test_a_stand_without_criteria_lists_none() -> None:
    assert abort_rows(model(), NOW) == ()
