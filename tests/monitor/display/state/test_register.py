"""Tests for monitor.display.state.register.

Source: the rule that one register lists everything that is inhibited, with reason, expiry and
what watches instead; the cases are hand-worked here.
"""

from __future__ import annotations

import msgspec
import pytest

from monitor.display.state.register import (
    NOTHING_ELSE,
    RegisterRow,
    Section,
    inhibited_count,
    register_rows,
)
from monitor.display.state.severity import Severity
from monitor.link.messages import AlarmState, ForcedState, PhaseState, Value
from monitor.samples import Quality
from tests.monitor.display.made import NOON, NS, alarm
from tests.monitor.display.rich import at_rest, rich_model

NOW = NOON + 65 * NS
GOOD = [Value(NOON, 5.0, 0)] * 3


def rows(*alarms: AlarmState, **more: object) -> list[RegisterRow]:
    """Give the register without what the present phase never watches."""
    run = rich_model(*alarms, **({"values": GOOD} | more))
    listed = register_rows(run, NOW)
    return [row for row in listed if row.section is not Section.UNWATCHED]


def test_a_stand_at_rest_has_nothing_inhibited() -> None:
    assert rows() == []


@pytest.mark.parametrize(
    ("changes", "section"),
    [
        ({"is_out_of_service": True}, Section.OUT_OF_SERVICE),
        ({"is_shelved": True, "shelved_until_ns": NOW + NS}, Section.SHELVED),
        ({"is_edited": True}, Section.EDITED),
        ({"armed": "asleep"}, Section.ASLEEP),
        ({"is_suppressed": True, "cause": "PT-1.low_low"}, Section.BEHIND),
        ({"is_suppressed": True}, Section.BY_DESIGN),
    ],
)
def test_each_way_of_being_inhibited_is_listed_though_nothing_stands(
    changes: dict[str, object], section: Section
) -> None:
    (row,) = rows(at_rest("PT-1.low", **changes))

    assert (row.section, row.limit, row.what.partition(":")[0]) == (
        section, "PT-1.low", "PT-1 low",
    )  # fmt: skip


def test_what_is_inhibited_twice_is_listed_twice() -> None:
    both = rows(at_rest("PT-1.low", is_out_of_service=True, is_suppressed=True))

    assert [row.section for row in both] == [Section.OUT_OF_SERVICE, Section.BY_DESIGN]
    assert len({row.key for row in both}) == 2


def test_an_alarm_that_is_awake_or_was_never_asleep_is_not_listed() -> None:
    assert rows(at_rest("PT-2.low", armed="armed")) == []


def test_a_limit_that_only_goes_into_the_journal_is_not_listed() -> None:
    run = rich_model(at_rest("PT-1.low", is_suppressed=True), values=GOOD)
    place = run.index.limits["PT-1.low"]
    quiet = type(place.limit)(
        "PT-1.low", "low", "journal", "", "", 2.0, {}, 0.0, 0.0, 0.0, False, []
    )
    run.index.limits["PT-1.low"] = type(place)(quiet, place.channel, place.order)

    assert inhibited_count(run) == 0


FORCED = ForcedState("PT-2", 5.25, NOON, NOW + 60 * NS, "K. Vale", "M. Ito", "loose")


def test_a_forced_value_is_listed_with_what_it_is() -> None:
    (row,) = rows(forced=[FORCED])

    assert (row.section, row.what) == (Section.FORCED, "PT-2 PT-2 title: 5.25 bar")
    assert (row.limit, row.tag) == ("", "PT-2")


def test_an_overdue_calibration_is_listed() -> None:
    (row,) = rows(values=[GOOD[0], Value(NOON, 5.0, Quality.CALIBRATION_OVERDUE), GOOD[0]])

    assert (row.section, row.what, row.tag) == (Section.OVERDUE, "PT-2 PT-2 title", "PT-2")


def test_what_a_person_did_comes_before_what_is_by_design() -> None:
    listed = rows(
        at_rest("PT-1.high", is_suppressed=True), at_rest("PT-2.low", is_out_of_service=True)
    )

    assert [row.limit for row in listed] == ["PT-2.low", "PT-1.high"]


def test_what_watches_instead_is_the_rest_of_the_channel_that_may_speak() -> None:
    (row,) = [
        row
        for row in rows(
            at_rest("PT-1.high", is_out_of_service=True),
            at_rest("PT-1.low", is_suppressed=True),
            at_rest("PT-1.high_high", setpoint=9.5),
        )
        if row.limit == "PT-1.high"
    ]

    assert row.instead == "high-high 9.5 bar, low-low 1.0 bar, rises too fast 2 bar/min"
    assert row.severity is Severity.CALM


def test_it_is_in_doubt_where_only_the_quality_is_still_watched() -> None:
    late = at_rest("PT-2.late", is_suppressed=True)
    (row,) = [
        one for one in rows(at_rest("PT-2.low", armed="asleep"), late) if "low" in one.what
    ]

    assert (row.instead, row.severity) == ("stale, sensor fault", Severity.DOUBT)


def test_a_limit_that_only_notices_a_stuck_value_does_not_watch_how_high_it_is() -> None:
    run = rich_model(at_rest("PT-2.low", is_out_of_service=True), values=GOOD)
    late = run.index.limits["PT-2.late"]
    stuck = msgspec.structs.replace(late.limit, kind="stuck")
    assert late.channel is not None
    channel = msgspec.structs.replace(late.channel, limits=[stuck])
    low = run.index.limits["PT-2.low"]
    run.index.limits["PT-2.low"] = type(low)(low.limit, channel, low.order)

    row = register_rows(run, NOW)[0]

    assert row.severity is Severity.DOUBT


def test_it_is_said_where_nothing_else_watches() -> None:
    ids = ("PT-2.stale", "PT-2.fault", "PT-2.low", "PT-2.late")
    listed = rows(*(at_rest(one, is_out_of_service=True) for one in ids))

    assert {(row.instead, row.severity) for row in listed} == {(NOTHING_ELSE, Severity.DOUBT)}


def test_an_alarm_of_no_channel_has_nothing_beside_it() -> None:
    (row,) = rows(alarm("link:panel.high", is_shelved=True, shelved_until_ns=NOW))

    assert (row.instead, row.severity) == ("", Severity.CALM)


def test_an_edit_is_listed_with_what_the_stand_file_says() -> None:
    edits = {"setpoint": 1.5, "setpoint_in.soak": 1.0, "on_delay_s": 5.0}
    (row,) = rows(at_rest("PT-1.low", is_edited=True, edits=edits))

    assert row.what == (
        "PT-1 low: setpoint 2 bar to 1.5 bar, setpoint in soak none to 1 bar, "
        "on-delay 0 s to 5 s"
    )
    assert row.severity is Severity.CALM


def test_what_is_watched_in_other_phases_only_is_listed_last_and_not_counted() -> None:
    run = rich_model(at_rest("PT-1.low", is_suppressed=True), values=GOOD)

    listed = register_rows(run, NOW)

    assert [row.section for row in listed] == [Section.BY_DESIGN, Section.UNWATCHED]
    assert listed[1].limit == "PT-2.expected"
    assert inhibited_count(run) == 1


def test_how_long_another_phase_may_last_is_not_listed() -> None:
    run = rich_model(values=GOOD)
    place = run.index.limits["PT-2.expected"]
    limit = msgspec.structs.replace(place.limit, kind="phase_overlong")
    run.index.limits["PT-2.expected"] = type(place)(limit, None, place.order)

    assert register_rows(run, NOW) == ()


def test_what_is_watched_in_this_phase_is_not_listed() -> None:
    run = rich_model(values=GOOD, phase=PhaseState("soak", NOON))

    assert register_rows(run, NOW) == ()


def test_the_count_is_that_of_the_rows() -> None:
    run = rich_model(
        at_rest("PT-1.low", is_suppressed=True, is_out_of_service=True),
        values=[Value(NOON, 1.0, Quality.CALIBRATION_OVERDUE), *GOOD[1:]],
        forced=[FORCED],
    )

    listed = [one for one in register_rows(run, NOW) if one.section is not Section.UNWATCHED]

    assert inhibited_count(run) == len(listed) == 4
