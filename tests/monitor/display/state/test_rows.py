"""Tests for monitor.display.state.rows.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.display.state.rows import ChannelRow, channel_rows
from monitor.display.state.severity import Severity
from monitor.link.messages import Value
from monitor.samples import Quality
from tests.monitor.display.made import NOON, NS, alarm, model, snapshot

NOW = NOON + 10 * NS + NS // 2
TRENDS: list[int | None] = [1, 1, None]


def rows(*, is_frozen: bool = False, now_ns: int = NOW, **more: object) -> list[ChannelRow]:
    """Build the rows of the small run."""
    return list(channel_rows(model(**more), TRENDS, now_ns, is_frozen=is_frozen))


def test_a_good_value_is_calm() -> None:
    row = rows()[0]

    assert (row.tag, row.value, row.unit, row.quality) == ("PT-1", "8.5", "bar", "good")
    assert row.severity is Severity.CALM
    assert row.trend == 1


def test_a_bad_value_is_never_shown_as_a_number_and_says_why_and_for_how_long() -> None:
    row = rows()[1]

    assert (row.value, row.quality) == ("---", "stale 4 s")
    assert row.severity is Severity.BAD
    assert row.trend is None
    assert row.band.at is None


def test_an_uncertain_value_is_shown_with_its_doubt() -> None:
    row = rows()[2]

    assert (row.value, row.quality) == ("20.0", "calibration overdue")
    assert row.severity is Severity.DOUBT


def test_a_good_value_that_gets_old_tells_its_age() -> None:
    row = rows(now_ns=NOW + 7 * NS)[0]

    assert row.quality == "7 s old"


def test_an_uncertain_value_that_gets_old_tells_both() -> None:
    assert rows(now_ns=NOW + 7 * NS)[2].quality == "calibration overdue, 7 s old"


def test_what_is_old_is_measured_in_real_time_and_the_lag_does_not_count() -> None:
    late = NOW + 40 * NS

    assert rows(now_ns=late, speed=20.0)[0].quality == "good"
    assert rows(now_ns=NOW + 3 * NS)[0].quality == "good"
    assert rows(now_ns=NOW + 3 * NS + 1)[0].quality == "3 s old"


def test_without_the_engine_every_value_is_of_the_past_and_tells_its_age() -> None:
    good, bad, doubtful = rows(is_frozen=True)

    assert (good.severity, good.quality, good.trend) == (Severity.FROZEN, "0 s old", None)
    assert bad.severity is Severity.BAD
    assert doubtful.severity is Severity.FROZEN


def test_a_channel_that_never_had_a_value_waits() -> None:
    values = [Value(0, None, Quality.WAITING)] * 3

    assert rows(values=values)[0].quality == "waiting for first value"


def test_an_unknown_quality_byte_is_shown_as_it_is() -> None:
    values = [*snapshot().values]
    values[0] = Value(NOW, None, 0xEE)

    assert rows(values=values)[0].quality == "quality 0xee 0 s"


def test_the_most_urgent_alarm_stands_beside_the_value() -> None:
    both = [
        alarm("PT-1.low", is_acknowledged=True),
        alarm("PT-1.high_high", is_acknowledged=True),
    ]

    row = rows(alarms=both)[0]

    assert (row.alarm, row.is_unacknowledged, row.is_active) == ("top", False, True)


def test_a_channel_wants_attention_while_any_of_its_alarms_does() -> None:
    both = [alarm("PT-1.low"), alarm("PT-1.high_high", is_acknowledged=True)]

    row = rows(alarms=both)[0]

    assert (row.alarm, row.is_unacknowledged, row.is_active) == ("top", True, True)


def test_an_alarm_that_is_gone_never_hides_one_that_is_active() -> None:
    both = [
        alarm("PT-1.low", is_acknowledged=True),
        alarm("PT-1.high_high", is_active=False),
    ]

    row = rows(alarms=both)[0]

    assert (row.alarm, row.is_unacknowledged, row.is_active) == ("medium", True, True)


def test_an_alarm_whose_condition_is_gone_still_marks_the_channel() -> None:
    row = rows(alarms=[alarm("PT-1.high", is_active=False)])[0]

    assert (row.alarm, row.is_unacknowledged, row.is_active) == ("high", True, False)


def test_an_alarm_that_is_not_annunciated_does_not_mark_the_channel() -> None:
    row = rows(alarms=[alarm("PT-1.high", is_annunciated=False)])[0]

    assert (row.alarm, row.is_unacknowledged) == ("", False)
