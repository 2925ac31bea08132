"""Tests for monitor.display.state.alarm_rows.

Source: hand-worked here; the order is that of the issue: unacknowledged, priority, time.
"""

from __future__ import annotations

import pytest

from monitor.display.state.alarm_rows import (
    AlarmRow,
    PriorityCount,
    alarm_rows,
    alarm_summary,
    response,
    state_text,
    wants_attention,
)
from monitor.link.messages import AlarmState
from monitor.samples import Quality
from tests.monitor.display.made import NOON, NS, alarm, limit, model

NOW = NOON + 65 * NS


def rows(*alarms: AlarmState) -> tuple[AlarmRow, ...]:
    """List alarms of the small run a minute after noon."""
    return alarm_rows(model(alarms=list(alarms)), NOW)


def test_unacknowledged_goes_before_priority_and_priority_before_time() -> None:
    listed = rows(
        alarm("PT-1.high_high", 1, is_acknowledged=True),
        alarm("PT-1.low", 30),
        alarm("PT-2.stale", 40),
        alarm("PT-1.high", 2),
        alarm("link:panel.high", 9),
    )

    assert [row.id for row in listed] == [
        "link:panel.high",
        "PT-1.high",
        "PT-1.low",
        "PT-2.stale",
        "PT-1.high_high",
    ]


def test_inhibited_alarms_stand_below_all_others_and_do_not_want_attention() -> None:
    shelved = alarm("PT-1.high_high", is_shelved=True, is_annunciated=False)

    listed = rows(shelved, alarm("PT-2.stale", is_acknowledged=True))

    assert [row.id for row in listed] == ["PT-2.stale", "PT-1.high_high"]
    assert listed[1].is_inhibited
    assert not listed[1].is_unacknowledged


def test_a_row_says_what_where_since_when_and_at_which_value() -> None:
    (row,) = rows(alarm("PT-1.high"))

    assert (row.tag, row.message, row.time, row.age, row.value) == (
        "PT-1", "PT-1 high", "12:00:05", "1 min 00 s", "8.5 bar",
    )  # fmt: skip
    assert row.is_unacknowledged


def test_an_alarm_about_quality_says_which() -> None:
    (row,) = rows(alarm("PT-2.fault", value=None, quality=Quality.CURRENT_FAULT))

    assert (row.message, row.value) == ("Sensor fault: loop current fault", "")


def test_an_alarm_about_staleness_does_not_say_it_twice() -> None:
    (row,) = rows(alarm("PT-2.stale", value=None, quality=Quality.STALE))

    assert row.message == "Value stale"


def test_a_link_alarm_has_no_value() -> None:
    (row,) = rows(alarm("link:panel.high"))

    assert (row.tag, row.value) == ("panel", "")


@pytest.mark.parametrize(
    "quiet",
    [
        AlarmState("PT-1.high"),
        AlarmState("PT-1.high", is_suppressed=True),
        alarm("PT-2.high"),
    ],
)
def test_what_is_normal_or_only_for_the_journal_is_not_listed(quiet: AlarmState) -> None:
    assert rows(quiet) == ()


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({}, "active, not acknowledged"),
        ({"is_acknowledged": True}, "active"),
        ({"is_active": False}, "gone, not acknowledged"),
        ({"is_active": False, "is_acknowledged": True}, "gone"),
        ({"is_active": False, "is_latched": True}, "gone, awaits reset, not acknowledged"),
        (
            {"is_active": False, "is_latched": True, "is_acknowledged": True},
            "gone, awaits reset",
        ),
        ({"is_suppressed": True}, "suppressed in this phase"),
        ({"is_out_of_service": True}, "out of service"),
        (
            {"is_shelved": True, "shelved_until_ns": NOW + 90 * NS},
            "shelved, 1 min 30 s left",
        ),
    ],
)
def test_each_state_has_its_words(changes: dict[str, object], text: str) -> None:
    assert state_text(alarm("PT-1.high", **changes), NOW) == text


@pytest.mark.parametrize(
    ("changes", "wants"),
    [({}, True), ({"is_acknowledged": True}, False), ({"is_annunciated": False}, False)],
)
def test_attention_is_wanted_by_what_is_annunciated_and_not_acknowledged(
    changes: dict[str, object], wants: bool
) -> None:
    assert wants_attention(alarm("PT-1.high", **changes)) is wants


def test_only_a_latch_whose_condition_is_gone_can_be_reset() -> None:
    gone, stands = rows(
        alarm("PT-1.high", is_latched=True, is_active=False),
        alarm("PT-1.low", is_latched=True),
    )

    assert (gone.can_reset, stands.can_reset) == (True, False)


def test_the_summary_counts_by_priority_what_stands_and_what_wants_attention() -> None:
    listed = rows(
        alarm("PT-1.high"),
        alarm("link:panel.high", is_acknowledged=True),
        alarm("PT-1.low", is_shelved=True),
    )

    assert alarm_summary(listed) == (
        PriorityCount("top", 0, 0),
        PriorityCount("high", 1, 2),
        PriorityCount("medium", 0, 0),
        PriorityCount("low", 0, 0),
    )


def test_the_response_says_what_the_limit_is_in_this_phase_and_what_to_do() -> None:
    told = response(
        model(alarms=[alarm("PT-1.high", inhibit_reason="by K. Vale")]), "PT-1.high"
    )

    assert told is not None
    assert told.title == "PT-1 high"
    assert told.facts == (
        "PT-1 · high · priority high · limit 8.0 bar · raised at 8.5 bar · by K. Vale"
    )
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
