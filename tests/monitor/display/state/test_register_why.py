"""Tests for monitor.display.state.register_why.

Source: hand-worked here; the fields of events are those that monitor.alarms writes.
"""

from __future__ import annotations

from monitor.display.state.model import Model
from monitor.display.state.register_why import Reason, Reasons
from monitor.events import Event
from monitor.link.messages import AlarmState, Change, ForcedState, PhaseState, Value
from monitor.samples import Quality
from tests.monitor.display.made import NOON, NS, alarm, column
from tests.monitor.display.rich import at_rest, rich_model

NOW = NOON + 65 * NS


def reasons(model: Model) -> Reasons:
    """Look at a run 65 s after noon."""
    return Reasons(model, NOW)


def why(model: Model, what: str, state: AlarmState) -> Reason:
    """Give the reason of an alarm of the rich stand."""
    made: Reason = getattr(reasons(model), what)(model.index.limits[state.id], state)
    return made


def test_out_of_service_tells_who_agreed_and_why_and_since_when() -> None:
    state = at_rest(
        "PT-1.low",
        service_reason="out of service by K. Vale and M. Ito: sent away",
        out_since_ns=NOON + 30 * NS,
    )

    assert why(rich_model(), "out_of_service", state) == Reason(
        "K. Vale and M. Ito: sent away", "12:00:30", "until returned"
    )


def test_a_shelf_tells_its_end() -> None:
    state = at_rest(
        "PT-1.low",
        shelf_reason="shelved by M. Ito: dry",
        shelved_since_ns=NOON + 40 * NS,
        shelved_until_ns=NOW + 90 * NS,
    )

    assert why(rich_model(), "shelved", state) == Reason(
        "M. Ito: dry", "12:00:40", "12:02:35, 1 min 30 s left"
    )


def test_the_newest_edit_of_a_limit_tells_who_and_why() -> None:
    first = Event(NOON + NS, "limit.edited", "PT-1.low", {"by": "K", "reason": "noise"})
    newest = Event(
        NOON + 2 * NS, "limit.edited", "PT-1.low", {"by": "K", "second": "M", "reason": "drift"}
    )
    other = Event(NOON + 3 * NS, "limit.edited", "PT-1.high", {"by": "X", "reason": "no"})

    told = why(rich_model(events=[first, newest, other]), "edited", at_rest("PT-1.low"))

    assert told == Reason("K and M: drift", "12:00:02", "end of the run")


def test_an_edit_that_the_journal_here_no_longer_tells_was_before_its_oldest_line() -> None:
    oldest = Event(NOON + 20 * NS, "action.note", "", {})

    told = why(rich_model(events=[oldest]), "edited", at_rest("PT-1.low"))

    assert (told.why, told.since) == ("see the journal", "before 12:00:20")
    assert why(rich_model(events=[]), "edited", at_rest("PT-1.low")).since == "before 12:01:05"


def test_a_limit_sleeps_since_the_run_began_or_since_its_phase() -> None:
    run = rich_model(phase=PhaseState("soak", NOON + 7 * NS, "normal", NOON))

    assert why(run, "asleep", at_rest("PT-2.low")).since == "12:00:00"
    assert why(run, "asleep", at_rest("PT-2.expected")).since == "12:00:07"


def test_a_consequence_tells_its_cause() -> None:
    state = at_rest("PT-1.low", cause="PT-1.low_low", suppressed_since_ns=NOON + 4 * NS)

    told = why(rich_model(alarm("PT-1.low_low", 4)), "behind", state)

    assert told == Reason(
        "consequence of PT-1 low-low", "12:00:04", "while PT-1 low-low stands"
    )


def test_what_is_not_known_is_left_out() -> None:
    told = why(rich_model(), "behind", at_rest("PT-1.low", cause="XX.high"))

    assert (told.why, told.since) == ("consequence of XX.high", "")


def test_what_a_phase_or_a_mode_suppresses_is_told_with_its_title() -> None:
    place = PhaseState("soak", NOON + 7 * NS, "loop_only", NOON + 9 * NS)
    run = rich_model(phase=place)
    since = {"suppressed_since_ns": NOON + 9 * NS}

    assert why(run, "by_design", at_rest("PT-1.rate_of_rise", **since)) == Reason(
        "by design in phase Soak", "12:00:09", "end of Soak"
    )
    assert why(run, "by_design", at_rest("PT-2.low", **since)) == Reason(
        "by design in mode Loop only", "12:00:09", "end of Loop only"
    )


def test_what_is_not_watched_tells_where_it_is() -> None:
    told = why(rich_model(), "unwatched", at_rest("PT-2.expected"))

    assert told == Reason("by design", "12:00:02", "watched in Soak")


def test_a_forced_value_tells_who_why_and_until_when() -> None:
    forced = ForcedState("PT-1", 5.0, NOON + NS, NOW + 90 * NS, "K. Vale", "M. Ito", "loose")

    assert reasons(rich_model()).forced(forced) == Reason(
        "K. Vale and M. Ito: loose", "12:00:01", "12:02:35, 1 min 30 s left"
    )


def test_what_was_overdue_when_this_window_opened_has_been_so_before_then() -> None:
    run = rich_model(values=[Value(NOON + 9 * NS, 5.0, Quality.CALIBRATION_OVERDUE)] * 3)

    told = reasons(run).overdue("PT-1")

    assert (told.since, told.until) == ("before 12:00:10", "until calibrated")


def test_what_becomes_overdue_now_tells_since_when() -> None:
    run = rich_model(values=[Value(NOON + 9 * NS, 5.0, 0)] * 3)
    overdue = int(Quality.CALIBRATION_OVERDUE)
    run.apply(
        Change(2, NOON + 12 * NS, [column(0, [5.0, 5.0], NOON + 11 * NS, quality=overdue)]), 0
    )

    assert reasons(run).overdue("PT-1").since == "12:00:11"
