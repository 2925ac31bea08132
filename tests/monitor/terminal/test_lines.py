"""Tests for monitor.terminal.lines.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.terminal.lines import STATUS_EVERY_NS, Lines
from tests.monitor.terminal.made import HIGH, RAISED, STARTED, active, model, snapshot


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
        "-- 12:00:10 UTC | run 10 s | Fill for 10 s | recording | all 1 links up | alarms: none"
    )


def test_the_state_counts_alarms_and_names_what_is_wrong() -> None:
    written: list[str] = []
    run = model(snapshot(alarms=[active(HIGH)], state="stopped", is_up=False))
    Lines(written.append).tick(run, 0, "")

    assert "NOT RECORDING | 1 of 1 links down" in written[0]
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
