"""Tests for monitor.terminal.table.

Source: hand-worked here.
"""

from __future__ import annotations

import pytest
from rich.console import Console, RenderableType

from monitor.display.state.aborts import abort_rows
from monitor.display.state.alarm_rows import alarm_rows
from monitor.display.state.band import Band
from monitor.display.state.model import Model
from monitor.display.state.rows import channel_rows
from monitor.events import Event
from monitor.link.messages import Change
from monitor.terminal.table import (
    Share,
    Table,
    abort_line,
    alarm_table,
    bar,
    channel_table,
    share,
)
from tests.monitor.display.made import alarm
from tests.monitor.display.rich import at_rest, rich_model
from tests.monitor.terminal.made import (
    HIGH,
    LOW,
    NOON,
    NS,
    RAISED,
    active,
    column,
    model,
    snapshot,
)


def drawn(
    run: Model | None, trouble: str = "", height: int = 30, mono_ns: int = 0
) -> list[str]:
    """Draw one picture; give its lines."""
    console = Console(width=140, height=height, force_terminal=False)
    pictures: list[RenderableType] = []
    Table(console, pictures.append).tick(run, mono_ns, trouble)
    with console.capture() as capture:
        console.print(pictures[-1])
    return capture.get().splitlines()


def line_of(lines: list[str], word: str) -> str:
    """Give the one line with *word* in it."""
    found = [line for line in lines if word in line]
    assert len(found) == 1, lines
    return found[0]


def test_a_channel_shows_value_unit_and_band() -> None:
    line = line_of(drawn(model()), "PT-1 ")

    assert "8.5 bar" in line
    assert "good" in line


def test_a_bad_value_is_never_shown_as_a_number() -> None:
    line = line_of(drawn(model()), "PT-2 ")

    assert "---" in line
    assert "stale" in line


def test_an_alarm_that_nobody_acknowledged_has_a_mark() -> None:
    loud = line_of(drawn(model(snapshot(alarms=[active(HIGH)]))), "Loop high")
    quiet = line_of(
        drawn(model(snapshot(alarms=[active(HIGH, is_acknowledged=True)]))), "Loop high"
    )

    assert loud.startswith("! high")
    assert quiet.startswith("  high")


def test_alarms_that_do_not_fit_are_counted() -> None:
    rows = alarm_rows(model(snapshot(alarms=[active(HIGH), active(LOW)])), NOON)
    console = Console(width=140)
    with console.capture() as capture:
        console.print(alarm_table(rows, 1))
    lines = capture.get().splitlines()

    assert lines[0].startswith("alarms (2, 1 more not shown)")
    assert len(lines) == 2


def test_a_channel_that_is_not_calm_is_not_what_is_left_out() -> None:
    rows = channel_rows(model(), [None, None], NOON + 10 * NS, is_frozen=False)
    shown = [row.tag for row in rows]
    console = Console(width=140)
    with console.capture() as capture:
        console.print(channel_table(rows, 1))
    lines = capture.get().splitlines()

    assert shown == ["PT-1", "PT-2"]
    assert lines[0].startswith("channel (1 more not shown)")
    assert lines[1].startswith("PT-2")


def test_events_are_told_in_sentences() -> None:
    lines = drawn(model(snapshot(events=[RAISED])))

    assert "12:00:05 PT-1: Loop high" in line_of(lines, "12:00:05")


def test_brackets_in_a_text_are_shown_as_they_are() -> None:
    event = Event(NOON, "action.note", "", {"detail": "see [bold]drawing[/bold] 7"})

    assert line_of(drawn(model(snapshot(events=[event]))), "see [bold]drawing[/bold] 7")


def test_a_watch_that_is_not_heard_stands_across_the_screen_and_its_clock_stands() -> None:
    lines = drawn(model(), "it died", mono_ns=60 * NS)

    assert line_of(lines, "NO WORD FROM THE WATCH: it died")
    assert "12:00:10 UTC" in lines[0]


def test_the_clock_runs_on_while_the_watch_is_heard() -> None:
    assert "12:01:10 UTC" in drawn(model(), mono_ns=60 * NS)[0]


def test_before_the_first_word_the_screen_says_what_it_waits_for() -> None:
    assert drawn(None, "no watch answers") == ["Waiting for the watch. no watch answers"]


def test_a_rising_value_has_an_arrow() -> None:
    run = model()
    first_ns = NOON + 11 * NS
    rising = column(0, [2 + 0.1 * k for k in range(60)], first_ns)
    run.apply(Change(2, first_ns + 60 * NS, [rising]), 0)

    assert "↑↑" in line_of(drawn(run), "PT-1 ")


@pytest.mark.parametrize("height", [12, 24, 60])
def test_the_picture_is_not_higher_than_the_terminal(height: int) -> None:
    run = model(snapshot(alarms=[active(HIGH), active(LOW)], events=[RAISED] * 100))

    assert len(drawn(run, height=height)) <= height


@pytest.mark.parametrize(
    ("height", "alarms", "channels", "expected"),
    [
        (24, 0, 10, Share(0, 10, 8)),
        (24, 20, 10, Share(6, 9, 3)),
        (24, 2, 40, Share(2, 13, 3)),
        (5, 9, 9, Share(2, 1, 3)),
    ],
)
def test_the_lines_are_shared_out(
    height: int, alarms: int, channels: int, expected: Share
) -> None:
    assert share(height, alarms, channels) == expected


@pytest.mark.parametrize(
    ("band", "expected"),
    [
        (Band(0.0, 0, 0.0, 1.0, ()), "●──────────────"),
        (Band(0.5, 0, 0.0, 1.0, ()), "───────●───────"),
        (Band(1.0, 1, 0.0, 0.5, ()), "────────······▶"),
        (Band(0.0, -1, 0.5, 1.0, ()), "◀······────────"),
        (Band(None, 0, 0.0, 1.0, ()), "───────────────"),
    ],
)
def test_the_bar_marks_the_value_and_what_is_beyond_a_limit(band: Band, expected: str) -> None:
    assert bar(band) == expected


def test_phase_and_mode_stand_side_by_side_with_what_is_inhibited() -> None:
    quiet = at_rest("PT-1.low", is_out_of_service=True)

    second = drawn(rich_model(quiet))[1]

    assert "phase Fill for 0 of 10 min   mode Normal" in second
    assert second.rstrip().endswith("2 inhibited")


def test_criteria_that_are_not_met_take_one_quiet_line() -> None:
    assert "abort: 1 of 1 not met" in drawn(rich_model())


def test_a_criterion_that_is_met_names_its_safe_state() -> None:
    met = abort_line(abort_rows(rich_model(alarm("UA-9.abort")), NOON + 10 * NS))

    assert str(met).startswith(
        "abort: Loop is lost MET since 12:00:05, not acknowledged: Vent and close"
    )


def test_a_stand_without_criteria_has_no_line_of_them() -> None:
    assert not [line for line in drawn(model()) if line.startswith("abort")]


def test_consequences_are_folded_under_their_cause() -> None:
    quiet = alarm("PT-1.low", is_suppressed=True, is_annunciated=False, cause="PT-1.low_low")

    lines = drawn(rich_model(alarm("PT-1.low_low", first_out="first"), quiet))

    assert "first-out, PT-1 low_low, +1 behind it" in line_of(lines, "+1 behind it")
    assert not [line for line in lines if "behind PT-1" in line]


@pytest.mark.parametrize("height", [13, 24])
def test_with_criteria_the_picture_is_not_higher_than_the_terminal_either(height: int) -> None:
    alarms = [alarm(one) for one in ("PT-1.high", "PT-1.low", "PT-2.stale", "UA-9.abort")]

    assert len(drawn(rich_model(*alarms, events=[RAISED] * 100), height=height)) <= height
