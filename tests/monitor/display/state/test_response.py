"""Tests for monitor.display.state.response.

Source: hand-worked here.
"""

from __future__ import annotations

import pytest

from monitor.display.state.response import Response, response
from monitor.link.messages import AlarmState
from tests.monitor.display.made import alarm, limit, model
from tests.monitor.display.rich import at_rest, rich_model


def test_the_response_says_what_the_limit_is_in_this_phase_and_what_to_do() -> None:
    told = response(model(alarms=[alarm("PT-1.high")]), "PT-1.high")

    assert told is not None
    assert told.title == "PT-1 high"
    assert told.facts == ("PT-1 · high · priority high · limit 8.0 bar · raised at 8.5 bar")
    assert told.text == "Do this for PT-1."


def test_a_limit_without_a_response_says_so() -> None:
    made = model()
    place = made.index.limits["PT-1.low"]
    bare = limit("PT-1", "low", response="", message="")
    made.index.limits["PT-1.low"] = type(place)(bare, place.channel, 2)

    told = response(made, "PT-1.low")

    assert told is not None
    assert (told.title, told.text) == (
        "PT-1.low",
        "The stand file gives no response for this alarm.",
    )


def test_an_alarm_the_stand_does_not_have_has_no_response() -> None:
    assert response(model(), "XX.high") is None


def told(alarm_id: str, *alarms: AlarmState) -> Response:
    """Give the response of an alarm of the rich stand."""
    made = response(rich_model(*alarms), alarm_id)
    assert made is not None
    return made


def test_the_limit_is_the_one_in_force_and_says_when_it_was_edited() -> None:
    made = told("PT-1.high", at_rest("PT-1.high", setpoint=6.5, is_edited=True))

    assert "limit 6.5 bar, edited" in made.facts


def test_a_limit_with_a_unit_of_its_own_tells_it() -> None:
    assert "limit 2 bar/min" in told("PT-1.rate_of_rise").facts


def test_an_abort_criterion_tells_its_safe_state() -> None:
    made = told("UA-9.abort", alarm("UA-9.abort"))

    assert made.safe_state == "Vent and close"
    assert "abort criterion" in made.facts


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"first_out": "first"}, "First-out of loss"),
        ({"first_out": "undetermined"}, "First-out of loss cannot be told"),
        ({"is_suppressed": True, "cause": "PT-1.low_low"}, "Quiet: behind PT-1 low-low"),
        ({"shelf_reason": "shelved by K: wet"}, "Shelved by K: wet"),
        ({"service_reason": "out of service by K: dry"}, "Out of service by K: dry"),
        ({}, "Comes again each 10 min while it stands"),
        ({"is_active": False, "armed": "asleep"}, "Asleep until its value"),
    ],
)
def test_what_else_there_is_to_know_is_told(changes: dict[str, object], expected: str) -> None:
    assert expected in told("PT-1.low", alarm("PT-1.low", **changes)).more


def test_consequences_are_named_and_too_many_of_them_counted() -> None:
    ids = ["PT-1.low", "PT-1.high", "PT-1.rate_of_rise", "PT-2.stale", "PT-2.fault"]
    ids += ["PT-1.high_high", "link:panel.high", "PT-2.expected"]
    behind = [
        alarm(one, second, is_suppressed=True, cause="PT-1.low_low")
        for second, one in enumerate(ids)
    ]

    more = told("PT-1.low_low", *behind).more

    assert more.startswith("Behind it: PT-1 low 12:00:00, PT-1 high 12:00:01")
    assert more.endswith(" and 2 more")


def test_a_consequence_that_does_not_stand_is_not_named() -> None:
    resting = at_rest("PT-1.low", is_suppressed=True, cause="PT-1.low_low")

    assert told("PT-1.low_low", resting).more == ""
