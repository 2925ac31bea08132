"""Tests for monitor.terminal.lines.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.events import Event
from monitor.terminal.lines import STATUS_EVERY_NS, Lines
from tests.monitor.display.rich import at_rest, rich_model
from tests.monitor.terminal.made import HIGH, NOON, RAISED, STARTED, active, model, snapshot


def test_each_event_is_a_line_with_its_time() -> None:
    written: list[str] = []
    Lines(written.append).news(model(), [STARTED])

    assert written == ["12:00:00 Run started"]


def test_an_alarm_says_how_urgent_it_is_in_letters() -> None:
    written: list[str] = []
    Lines(written.append).news(model(), [RAISED])

    assert written[0].startswith("12:00:05 HIGH PT-1: Loop high")


def test_the_state_is_told_every_ten_seconds() -> None:
    written: list[str] = []
    lines, run = Lines(written.append), model()
    for mono_ns in (0, STATUS_EVERY_NS - 1, STATUS_EVERY_NS):
        lines.tick(run, mono_ns, "")

    assert len(written) == 2
    assert written[0] == (
        "-- 12:00:10 UTC | run 10 s | Fill for 10 s | recording | link up | alarms: none"
    )


def test_the_state_counts_alarms_and_names_what_is_wrong() -> None:
    written: list[str] = []
    run = model(snapshot(alarms=[active(HIGH)], state="stopped", is_up=False))
    Lines(written.append).tick(run, 0, "")

    assert "NOT RECORDING | link down" in written[0]
    assert "alarms: 1 high (1 not acknowledged)" in written[0]


def test_silence_of_the_watch_is_told_once_and_so_is_its_end() -> None:
    written: list[str] = []
    lines = Lines(written.append)
    for trouble in ("it died", "it died", "", ""):
        lines.tick(None, 0, trouble)

    assert written == ["NO WORD FROM THE WATCH: it died", "The watch is heard."]


def test_no_state_is_told_while_nothing_is_heard() -> None:
    written: list[str] = []
    Lines(written.append).tick(model(), STATUS_EVERY_NS, "it died")

    assert not [line for line in written if line.startswith("--")]


def test_mode_and_what_is_inhibited_are_told_where_there_are_any() -> None:
    written: list[str] = []
    quiet = at_rest("PT-1.low", is_out_of_service=True)
    Lines(written.append).tick(rich_model(quiet), 0, "")

    assert "| mode Normal |" in written[0]
    assert written[0].endswith("| 2 inhibited")


def test_what_was_not_shown_is_not_marked() -> None:
    written: list[str] = []
    hidden = Event(NOON, "alarm.raised", "PT-1.high", {"is_annunciated": False})
    Lines(written.append).news(model(), [hidden])

    assert written[0].startswith("12:00:00 PT-1: Loop high")
