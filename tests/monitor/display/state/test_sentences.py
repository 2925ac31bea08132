"""Tests for monitor.display.state.sentences.

Source: hand-worked here; the fields are those that monitor.alarms puts into its events.
"""

from __future__ import annotations

from typing import get_args

import pytest

from monitor.display.state.index import StandIndex
from monitor.display.state.sentences import event_line
from monitor.display.state.severity import Severity
from monitor.events import Event, EventKind, Field
from tests.monitor.display.made import NOON, NS, STAND
from tests.monitor.display.rich import STAND_RICH

INDEX = StandIndex(STAND)
RICH_INDEX = StandIndex(STAND_RICH)
T = NOON + 65 * NS


def text(kind: EventKind, subject: str = "", **fields: Field) -> str:
    """Give the sentence of an event."""
    return event_line(Event(T, kind, subject, fields), INDEX).text


RAISED: dict[str, Field] = {
    "onset_ns": NOON, "value": 8.54, "setpoint": 8.0, "quality": "good",
    "priority": "high", "message": "PT-1 high", "is_annunciated": True,
}  # fmt: skip


def test_an_alarm_is_told_with_value_and_limit() -> None:
    line = event_line(Event(T, "alarm.raised", "PT-1.high", RAISED), INDEX)

    assert line.text == "PT-1: PT-1 high – raised at 8.5 bar, limit 8.0 bar"
    assert line.time == "12:01:05"
    assert line.severity is Severity.HIGH


def test_what_is_out_of_the_ordinary_is_told() -> None:
    told = text("alarm.raised", "PT-1.high", **(RAISED | {
        "quality": "calibration overdue", "is_annunciated": False,
    }))  # fmt: skip

    assert told.endswith(", calibration overdue, not shown, because it is inhibited")


def test_an_alarm_that_was_not_shown_stands_back() -> None:
    event = Event(T, "alarm.raised", "PT-1.high", RAISED | {"is_annunciated": False})

    assert event_line(event, INDEX).severity is Severity.QUIET


def test_a_latch_is_told_when_the_condition_goes() -> None:
    told = text("alarm.cleared", "PT-1.high", value=7.0, state="latched, unacknowledged")

    assert told == "PT-1: PT-1 high – returned to normal at 7.0 bar, awaits reset"


def test_a_shelf_is_told_with_who_why_and_until_when() -> None:
    told = text("alarm.shelved", "PT-1.low", by="K. Vale", reason="repair", until_ns=T)

    assert told == "PT-1: PT-1 low – shelved, until 12:01:05 UTC, by K. Vale (repair)"


def test_a_link_alarm_is_told_without_a_value() -> None:
    assert text("alarm.raised", "link:panel.high", value=1.0) == (
        "panel: No link to panel – raised"
    )


@pytest.mark.parametrize(
    ("kind", "subject", "fields", "expected"),
    [
        (
            "phase.entered", "soak", {"by": "K. Vale", "reason": ""},
            "Phase Soak entered, by K. Vale",
        ),
        (
            "phase.entered", "fill", {"by": "start of run", "reason": ""},
            "Phase Fill entered at the start of the run",
        ),
        ("link.down", "panel", {"why": "port is gone", "cure": "plug it in"},
         "Link to panel LOST: port is gone; plug it in"),
        ("link.up", "panel", {"why": "", "cure": ""}, "Link to panel up"),
        ("action.note", "", {"by": "K. Vale", "text": "door open"},
         "Note: door open, by K. Vale"),
        ("action.refused", "PT-1.high", {"verb": "return_to_service", "by": "X", "why": "no"},
         "Refused to return to service PT-1.high: no, by X"),
        ("run.resumed", "", {"detail": "after a crash", "gap_ns": 65 * NS},
         "Run resumed: after a crash [gap 1 min 05 s]"),
        ("readings.dropped", "", {"rows": 12, "first_ns": T},
         "Readings dropped [rows 12, first 12:01:05]"),
        ("alarm.raised", "XX.high", {}, "XX.high: raised"),
        ("run.closed", "*", {"is_clean": True, "share": 0.25, "tool": "x"},
         "Run closed [is clean yes, share 0.25, tool x]"),
    ],
)  # fmt: skip
def test_each_family_has_its_sentence(
    kind: EventKind, subject: str, fields: dict[str, Field], expected: str
) -> None:
    assert text(kind, subject, **fields) == expected


@pytest.mark.parametrize(
    ("kind", "subject", "fields", "expected"),
    [
        (
            "phase.lapsed", "fill", {},
            "Phase Fill lasts longer than it may: what it suppresses speaks again",
        ),
        (
            "phase.entered", "soak", {"by": "conditions", "reason": "PT-1 above 8"},
            "Phase Soak entered by itself (PT-1 above 8)",
        ),
        ("mode.entered", "loop_only", {"by": "K"}, "Mode Loop only entered, by K"),
        (
            "limit.armed", "PT-2.low", {"value": 4.0, "setpoint": 3.0},
            "PT-2: PT-2 low – awake: its value was inside the band at 4.0 bar, limit 3.0 bar",
        ),
        (
            "limit.edited", "PT-1.rate_of_rise",
            {"by": "K", "second": "M", "reason": "noise", "setpoint_from": 2.0,
             "setpoint_to": 2.5, "setpoint_in.soak_from": None, "setpoint_in.soak_to": 3.0,
             "on_delay_s_from": 0.0, "on_delay_s_to": 5.0},
            "PT-1: PT-1 rate_of_rise – edited: setpoint 2 bar/min to 2.5 bar/min, setpoint in "
            "soak none to 3 bar/min, on-delay 0 s to 5 s, by K and M (noise)",
        ),
        (
            "alarm.raised", "PT-1.rate_of_rise", {"value": 2.25, "setpoint": 2.0},
            "PT-1: PT-1 rate_of_rise – raised at 2.25 bar/min, limit 2 bar/min",
        ),
        ("alarm.realarmed", "PT-1.low", {}, "PT-1: PT-1 low – still stands, annunciated again"),
        (
            "alarm.first_out", "PT-1.low", {"group": "loss"},
            "PT-1: PT-1 low – first-out of loss",
        ),
        (
            "alarm.first_out", "PT-1.low", {"group": "loss", "with": "PT-1.low, PT-1.low_low"},
            "PT-1: PT-1 low – first-out of loss cannot be told: PT-1 low, PT-1 low-low came "
            "within one sample",
        ),
        (
            "alarm.suppressed", "PT-1.low", {"cause": "PT-1.low_low", "state": "normal"},
            "PT-1: PT-1 low – suppressed, behind PT-1 low-low",
        ),
        (
            "alarm.unsuppressed", "PT-1.low", {"cause": "PT-1.low_low"},
            "PT-1: PT-1 low – no longer suppressed, was behind PT-1 low-low",
        ),
        (
            "alarm.acknowledged", "PT-1.low", {"by": "K", "with": "PT-1.low_low"},
            "PT-1: PT-1 low – acknowledged with PT-1 low-low, by K",
        ),
        ("action.lamp_test", "", {"by": "K"}, "Lamp test, by K"),
        (
            "value.forced", "PT-1", {"by": "K", "reason": "wet", "value": 5.25, "until_ns": T},
            "PT-1: forced by hand to 5.25 bar, until 12:01:05 UTC, by K (wet)",
        ),
        ("value.released", "XX", {"by": "end of its time"},
         "XX: forced no more, by end of its time"),
        ("alarm.raised", "PT-2.late", {"value": 1.0}, "PT-2: PT-2 late – raised"),
    ],
)  # fmt: skip
def test_what_the_limit_engine_says_has_its_sentence(
    kind: EventKind, subject: str, fields: dict[str, Field], expected: str
) -> None:
    assert event_line(Event(T, kind, subject, fields), RICH_INDEX).text == expected


@pytest.mark.parametrize("kind", get_args(EventKind))
def test_no_kind_of_event_is_left_without_words(kind: EventKind) -> None:
    told = text(kind, "PT-1.high")

    assert told
    assert kind not in told


@pytest.mark.parametrize(
    ("kind", "subject", "severity"),
    [
        ("alarm.annunciated", "PT-1.low", Severity.MEDIUM),
        ("alarm.realarmed", "PT-1.low", Severity.MEDIUM),
        ("alarm.suppressed", "PT-1.low", Severity.QUIET),
        ("condition.on", "PT-1.low", Severity.QUIET),
        ("phase.lapsed", "fill", Severity.DOUBT),
        ("limit.edited", "PT-1.low", Severity.DOUBT),
        ("value.forced", "PT-1", Severity.DOUBT),
        ("alarm.cleared", "PT-1.high", Severity.CALM),
        ("alarm.raised", "PT-2.high", Severity.CALM),
        ("alarm.raised", "XX.high", Severity.CALM),
        ("link.down", "panel", Severity.BAD),
        ("recording.stopped", "", Severity.BAD),
        ("action.refused", "", Severity.DOUBT),
    ],
)
def test_only_what_is_abnormal_is_coloured(
    kind: EventKind, subject: str, severity: Severity
) -> None:
    assert event_line(Event(T, kind, subject, {}), INDEX).severity is severity
