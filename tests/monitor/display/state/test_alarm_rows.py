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
    state_text,
    wants_attention,
)
from monitor.link.messages import AlarmState, PhaseState
from monitor.samples import Quality
from tests.monitor.display.made import NOON, NS, alarm, model
from tests.monitor.display.rich import rich_model

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
        ({}, "unacknowledged"),
        ({"is_acknowledged": True}, "active"),
        ({"is_active": False}, "gone, unacknowledged"),
        ({"is_active": False, "is_acknowledged": True}, "gone"),
        ({"is_active": False, "is_latched": True}, "latched, unacknowledged"),
        (
            {"is_active": False, "is_latched": True, "is_acknowledged": True},
            "gone, awaits reset",
        ),
        ({"is_suppressed": True}, "suppressed by phase"),
        ({"is_out_of_service": True}, "out of service"),
        (
            {"is_shelved": True, "shelved_until_ns": NOW + 90 * NS},
            "shelved, 1 min left",
        ),
    ],
)
def test_each_state_has_its_words(changes: dict[str, object], text: str) -> None:
    assert state_text(model(), alarm("PT-1.high", **changes), NOW) == text


def behind(alarm_id: str, cause: str, at_s: float = 6.0, **more: object) -> AlarmState:
    """Describe an alarm that is quiet because another one stands."""
    quiet = {"is_suppressed": True, "is_annunciated": False, "cause": cause}
    return alarm(alarm_id, at_s, **(quiet | more))


def rich_rows(*alarms: AlarmState, opened: tuple[str, ...] = ()) -> tuple[AlarmRow, ...]:
    """List alarms of the rich stand."""
    return alarm_rows(rich_model(*alarms), NOW, opened)


def test_consequences_are_counted_at_their_cause_and_not_listed() -> None:
    (row,) = rich_rows(
        alarm("PT-1.low_low"),
        behind("PT-1.low", "PT-1.low_low"),
        behind("PT-2.low", "PT-1.low"),
    )

    assert (row.id, row.behind, row.behind_text) == ("PT-1.low_low", 2, "+2 behind it")


def test_an_opened_cause_has_its_consequences_below_it_in_their_order() -> None:
    listed = rich_rows(
        alarm("PT-1.low_low", 1),
        alarm("PT-1.high_high", 2),
        behind("PT-1.low", "PT-1.low_low"),
        behind("PT-2.expected", "PT-1.low_low"),
        opened=("PT-1.low_low",),
    )

    assert [(row.id, row.is_behind) for row in listed] == [
        ("PT-1.high_high", False),
        ("PT-1.low_low", False),
        ("PT-2.expected", True),
        ("PT-1.low", True),
    ]
    assert listed[1].behind_text == "−2 behind it"


def test_a_consequence_whose_cause_is_not_listed_stands_by_itself() -> None:
    (row,) = rich_rows(behind("PT-1.low", "PT-1.low_low"))

    assert (row.state, row.is_behind, row.is_inhibited) == ("behind PT-1 low-low", False, True)


def test_causes_in_a_ring_hide_nothing() -> None:
    listed = rich_rows(behind("PT-1.low", "PT-2.low"), behind("PT-2.low", "PT-1.low"))

    assert [row.id for row in listed] == ["PT-1.low", "PT-2.low"]


def test_what_a_person_inhibits_is_listed_by_itself_though_it_is_a_consequence() -> None:
    listed = rich_rows(
        alarm("PT-1.low_low"), behind("PT-1.low", "PT-1.low_low", is_out_of_service=True)
    )

    assert [(row.id, row.behind) for row in listed] == [("PT-1.low_low", 0), ("PT-1.low", 0)]


def test_first_out_and_abort_are_told_in_words_as_well() -> None:
    abort, first = rich_rows(
        alarm("UA-9.abort", 9),
        alarm("PT-1.low", first_out="undetermined", is_acknowledged=True),
    )

    assert (abort.is_abort, abort.words) == (True, "abort, Loop is lost")
    assert first.words == "first-out cannot be told, PT-1 low"


def test_the_mode_is_named_where_it_suppresses() -> None:
    run = rich_model(phase=PhaseState("fill", NOON, "loop_only", NOON))
    quiet = alarm("PT-2.low", is_suppressed=True)

    assert state_text(run, quiet, NOW) == "suppressed by mode"


def test_a_flag_has_no_value_and_a_rate_has_its_own_unit() -> None:
    rate, late = rich_rows(alarm("PT-1.rate_of_rise", value=2.5), alarm("PT-2.late", value=1.0))

    assert (rate.value, late.value) == ("2.5 bar/min", "")


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
