"""Tests for monitor.figures_report.

Source: hand-worked here.
"""

from __future__ import annotations

import json

import pytest

from monitor.events import Event
from monitor.figures import RunJournal, alarm_figures
from monitor.figures_report import figures_document, figures_lines
from tests.monitor.figures.made import (
    DAY_S,
    HOUR_S,
    S,
    acknowledged,
    at,
    cleared,
    entered,
    raised,
)

#: 2026-03-01 12:00:00 UTC.
NOON = 1_772_366_400 * S


def run_of(*events: Event, end_s: float = HOUR_S, name: str = "run-a") -> RunJournal:
    """A run that begins at noon, with events in s from there."""
    moved = tuple(Event(row.t_ns + NOON, row.kind, row.subject, row.fields) for row in events)
    return RunJournal(name, NOON, NOON + round(end_s * S), moved)


def lines_of(*runs: RunJournal) -> list[str]:
    """Give the report of some runs."""
    return figures_lines(alarm_figures(runs))


def part(lines: list[str], title: str) -> list[str]:
    """Give the lines under a title; none when the title is not there."""
    if title not in lines:
        return []
    rest = lines[lines.index(title) + 1 :]
    return [line.strip() for line in rest[: rest.index("")]]


def cells(line: str) -> list[str]:
    """Take a line of columns apart."""
    return [cell.strip() for cell in line.split("  ") if cell.strip()]


def figure(lines: list[str], name: str) -> list[str]:
    """Give the cells of one figure."""
    return next(cells(line) for line in lines if line.startswith(name))


def test_the_heading_names_the_run_and_how_long_it_was() -> None:
    assert lines_of(run_of())[0] == "alarm figures of run-a: 1 h 00 min of data"


def test_several_runs_are_counted_and_their_times_added() -> None:
    heading = lines_of(run_of(), run_of(name="run-b"))[0]

    assert heading == "alarm figures of 2 runs: 2 h 00 min of data"


@pytest.mark.parametrize(("days", "is_said"), [(29.999, True), (30, False)])
def test_less_than_30_days_are_an_indication(days: float, is_said: bool) -> None:
    run = run_of(end_s=days * DAY_S)
    said = "LESS THAN 30 DAYS OF DATA: every figure is an indication only."

    assert (said in lines_of(run)) is is_said
    document = json.loads(figures_document(alarm_figures([run])))
    assert document["is_indication_only"] is is_said


def test_notes_stand_at_the_top() -> None:
    assert figures_lines(alarm_figures([run_of()]), ["run-a is open"])[1] == "run-a is open"


def test_each_figure_has_its_verdict_and_its_target_beside_it() -> None:
    lines = lines_of(run_of(*(raised(number) for number in range(11))))

    assert figure(lines, "most in any 10 min") == [
        "most in any 10 min",
        "11",
        "NOT MET",
        "at most 10",
    ]
    assert figure(lines, "alarms per day, average")[1:] == [
        "264",
        "over, manageable",
        "about 144, at most 288",
        "scaled up from less time",
    ]


def test_no_line_is_wider_than_a_terminal_of_120_columns() -> None:
    lines = lines_of(run_of(entered(0, "decompression"), raised(1, "PDT-301.disagreement")))

    assert max(len(line) for line in lines) <= 120


def test_the_most_frequent_are_listed_with_their_counts() -> None:
    lines = lines_of(run_of(raised(1, "a"), raised(2, "b"), raised(9, "b")))

    assert [cells(line) for line in part(lines, "most frequent: times shown")] == [
        ["2", "b"],
        ["1", "a"],
    ]


def test_what_there_is_none_of_has_no_list() -> None:
    titles = {line for line in lines_of(run_of(entered(0, "climb"))) if line[:1].isalpha()}

    assert "floods, the worst first" not in titles
    assert "stale, the longest first" not in titles
    assert "most frequent: times shown" not in titles
    assert "standing at the end, the longest first" not in titles
    assert "by run" not in titles
    assert {"people and alarms", "by phase", "words"} <= titles


def test_a_flood_is_told_with_its_time() -> None:
    lines = lines_of(run_of(*(raised(600 + number) for number in range(11))))

    assert cells(part(lines, "floods, the worst first")[0]) == [
        "since 2026-03-01 12:10:00 UTC",
        "10 min 00 s",
        "11 alarms",
    ]


def test_the_worst_flood_comes_first() -> None:
    events = [raised(number) for number in range(11)]
    events += [raised(1200 + number) for number in range(14)]
    lines = part(lines_of(run_of(*events)), "floods, the worst first")

    assert [cells(line)[-1] for line in lines] == ["14 alarms", "11 alarms"]


def test_a_flood_that_goes_on_says_so() -> None:
    lines = lines_of(run_of(*(raised(number) for number in range(11)), end_s=300))

    assert part(lines, "floods, the worst first")[0].endswith("11 alarms  goes on at the end")


def test_what_stands_is_told_with_its_time_and_begin() -> None:
    lines = lines_of(run_of(raised(60, "PT-1.high", "top")))

    assert cells(part(lines, "standing at the end, the longest first")[0]) == [
        "PT-1.high",
        "top",
        "59 min 00 s",
        "since 2026-03-01 12:01:00 UTC",
    ]


def test_of_several_runs_each_has_an_end() -> None:
    lines = lines_of(run_of(raised(60)), run_of(raised(120), name="run-b"))

    assert len(part(lines, "standing at the end of its run, the longest first")) == 2


def test_stale_chattering_and_fleeting_alarms_are_named() -> None:
    events = [raised(number, "b") for number in range(3)]
    events += [raised(10, "c"), cleared(11, "c"), raised(20, "a")]
    lines = lines_of(run_of(*events, end_s=2 * DAY_S))

    assert [cells(line)[0] for line in part(lines, "stale, the longest first")] == [
        "b",
        "c",
        "a",
    ]
    assert [cells(line) for line in part(lines, "chattering: times shown in doing so")] == [
        ["3", "b"]
    ]
    assert [cells(line) for line in part(lines, "fleeting: times")] == [["1", "c"]]


@pytest.mark.parametrize(("count", "last"), [(10, None), (11, "and 1 more; --json has all")])
def test_a_long_list_is_cut_and_says_so(count: int, last: str | None) -> None:
    events = [raised(number, f"a{number}") for number in range(count)]
    lines = part(lines_of(run_of(*events)), "standing at the end, the longest first")

    assert len(lines) == count
    assert (lines[-1] == last) is (last is not None)


def test_how_people_answered_is_told() -> None:
    events = [
        raised(0, "a"),
        acknowledged(10, "a"),
        raised(20, "b"),
        acknowledged(50, "b"),
        at(60, "alarm.realarmed", "b", is_annunciated=True),
        at(70, "alarm.shelved", "b"),
        at(71, "alarm.out_of_service", "a"),
        at(72, "alarm.suppressed", "c"),
        raised(80, "c", is_annunciated=False),
        raised(90, "d"),
    ]

    assert part(lines_of(run_of(*events, end_s=100)), "people and alarms") == [
        "not acknowledged at the end: 1",
        "acknowledged twice: median after 20 s, at the latest after 30 s",
        "stood longest: a, 1 min 11 s",
        "stood in all: 2 min 11 s of alarm time",
        "shown anew because they went on standing: once",
        "shelved once, taken out of service once, hidden by design once",
        "came while inhibited, so not shown then: once",
    ]


def test_with_no_alarm_nothing_is_said_of_answers() -> None:
    assert part(lines_of(run_of()), "people and alarms") == [
        "not acknowledged at the end: 0",
        "shown anew because they went on standing: never",
        "shelved never, taken out of service never, hidden by design never",
        "came while inhibited, so not shown then: never",
    ]


def test_phases_are_told_with_their_time_and_their_alarms() -> None:
    events = [
        entered(0, "climb"),
        raised(10, "a", "top"),
        raised(20, "a", "top"),
        raised(30, "b"),
        raised(40, "c"),
        entered(300, "hold"),
    ]
    lines = part(lines_of(run_of(*events, end_s=900)), "by phase")

    assert [cells(line) for line in lines[1:]] == [
        ["climb", "5 min 00 s", "4", "8.00", "4", "2/0/0/2", "a twice"],
        ["hold", "10 min 00 s", "0", "0.00", "0", "0/0/0/0"],
    ]


def test_runs_are_told_apart_where_there_are_several() -> None:
    lines = lines_of(run_of(raised(1)), run_of(name="run-b", end_s=0))

    assert [cells(line)[:4] for line in part(lines, "by run")[1:]] == [
        ["run-a", "1 h 00 min", "1", "0.17"],
        ["run-b", "0 s", "0", "---"],
    ]


def test_a_run_without_a_phase_says_so() -> None:
    assert part(lines_of(run_of()), "by phase")[1].startswith("(no phase)")


def test_the_document_has_the_same_numbers() -> None:
    report = alarm_figures([run_of(raised(1, "a", "high"), end_s=600)])
    document = json.loads(figures_document(report, ["run-a is open"]))

    assert document["notes"] == ["run-a is open"]
    assert document["total"]["load"]["activations"] == 1
    assert document["total"]["load"]["per_hour"] == 6.0
    assert document["runs"][0]["name"] == "run-a"
    assert document["phases"][0]["lasted_ns"] == 600 * S
    assert document["assessment"][1] == {
        "figure": "alarms per hour, average",
        "value": 6.0,
        "text": "6.00",
        "target": "about 6, at most 12",
        "verdict": "met",
        "note": "scaled up from less time",
    }
