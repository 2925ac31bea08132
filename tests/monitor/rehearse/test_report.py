"""Tests for monitor.rehearse.report.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.rehearse.compare import Difference, LimitOutcome, Only
from monitor.rehearse.occurrences import Occurrence
from monitor.rehearse.report import MOST_LISTED, report_lines
from monitor.rehearse.run import RunOutcome

S = 1_000_000_000
#: 2020-05-01T12:00:00Z.
NOON_NS = 1_588_334_400 * S


def at(raised_s: float, end_s: float, shown_s: float | None = -1) -> Occurrence:
    """Make an occurrence in seconds after noon, shown when it is raised unless said."""
    raised_ns = NOON_NS + round(raised_s * S)
    shown_ns = raised_ns if shown_s == -1 else None
    if shown_s is not None and shown_s >= 0:
        shown_ns = NOON_NS + round(shown_s * S)
    return Occurrence(raised_ns, NOON_NS + round(end_s * S), True, shown_ns)


def outcome(*limits: LimitOutcome, notes: tuple[str, ...] = (), **changed: str) -> RunOutcome:
    """Make the outcome of a run of an hour."""
    changes = {name.replace("_", ".", 1): (text,) for name, text in changed.items()}
    return RunOutcome("run-1", NOON_NS, NOON_NS + 3600 * S, limits, changes, notes)


def row(limit: str, *pairs: tuple[Occurrence | None, Occurrence | None]) -> LimitOutcome:
    """Make the outcome of a limit that both stands have."""
    return LimitOutcome(limit, Only.BOTH, tuple(Difference(old, new) for old, new in pairs))


def test_where_nothing_differs_one_line_says_so() -> None:
    same = row("A.high", (at(1, 2), at(1, 2)))

    assert report_lines([outcome(same), outcome(row("B.low"))]) == [
        "2 runs, 2 h 00 min: nothing differs; 1 alarm is the same under both stands"
    ]


def test_several_alarms_that_are_the_same_are_counted() -> None:
    same = row("A.high", (at(1, 2), at(1, 2)), (at(3, 4), at(3, 4)))

    assert report_lines([outcome(same)])[0].endswith("2 alarms are the same under both stands")


def test_the_table_has_a_row_for_each_limit_that_differs() -> None:
    lines = report_lines(
        [
            outcome(
                row("A.high", (at(4, 30), at(2, 30)), (None, at(50, 51)), (at(60, 61), None)),
                row("B.low", (at(4, 30), at(4, 30))),
                A_high="setpoint 10 → 9",
            )
        ]
    )

    assert lines[0] == "1 run, 1 h 00 min: 1 of 2 limits differ in their alarms"
    assert lines[2:4] == [
        "limit   was  is  gained  lost  earlier   later  what is changed",
        "A.high  2    2   1       1     1 by 2 s  0      setpoint 10 → 9",
    ]


def test_runs_are_put_together_limit_by_limit() -> None:
    first = outcome(row("A.high", (at(10, 30), at(8, 30))))
    second = outcome(row("A.high", (at(10, 30), at(5, 30)), (at(99, 100), at(99, 100))))

    (line,) = (x for x in report_lines([first, second]) if x.startswith("A.high"))

    assert line.split("  ")[0] == "A.high"
    assert "2 by 2 s to 5 s" in line
    assert line.split()[1:3] == ["3", "3"]


def test_each_difference_is_told_with_its_time() -> None:
    lines = report_lines(
        [
            outcome(
                row(
                    "A.high",
                    (at(12, 30), at(9.5, 33)),
                    (None, at(50, 51, None)),
                    (at(60, 62), None),
                    (at(70, 80), at(70, 79)),
                    (at(90, 99), at(91, 99)),
                )
            )
        ]
    )

    assert lines[lines.index("run-1 (times in UTC)") + 1 :] == [
        "  12:00:09.5  A.high  earlier by 2.5 s (was 12:00:12.0), ends 3 s later",
        "  12:00:50.0  A.high  gained, stood 1 s, not shown",
        "  12:01:00.0  A.high  lost, stood 2 s",
        "  12:01:10.0  A.high  ends 1 s earlier",
        "  12:01:31.0  A.high  later by 1 s (was 12:01:30.0)",
    ]


def test_what_people_are_shown_otherwise_is_told() -> None:
    lines = report_lines(
        [
            outcome(
                row(
                    "A.high",
                    (at(1, 9, None), at(1, 9)),
                    (at(20, 29), at(20, 29, None)),
                    (at(40, 49, 45), at(40, 49, 42)),
                )
            )
        ]
    )

    assert lines[-3:] == [
        "  12:00:01.0  A.high  shown now",
        "  12:00:20.0  A.high  not shown now",
        "  12:00:40.0  A.high  shown 3 s earlier",
    ]
    assert any("1 shown now; 1 not shown now" in line for line in lines)


def test_being_shown_earlier_because_it_is_raised_earlier_is_told_once() -> None:
    (*_, line) = report_lines([outcome(row("A.high", (at(4, 9), at(2, 9))))])

    assert line == "  12:00:02.0  A.high  earlier by 2 s (was 12:00:04.0)"


def test_an_alarm_that_stands_at_the_end_under_one_stand_only_is_told() -> None:
    old, new = at(1, 9), Occurrence(NOON_NS + S, NOON_NS + 9 * S, False, NOON_NS + S)

    assert report_lines([outcome(row("A.high", (old, new)))])[-1].endswith("ends otherwise")


def test_a_limit_of_one_stand_only_has_no_number_under_the_other() -> None:
    lines = report_lines(
        [
            outcome(
                LimitOutcome("A.high", Only.NEW, (Difference(None, at(1, 2)),)),
                LimitOutcome("B.high", Only.OLD, (Difference(at(1, 2), None),)),
            )
        ]
    )

    assert [line.split()[:3] for line in lines[3:5]] == [
        ["A.high", "-", "1"],
        ["B.high", "1", "-"],
    ]
    assert lines[3].endswith("new limit")
    assert lines[4].endswith("limit taken out")


def test_what_was_changed_and_made_no_difference_is_named() -> None:
    lines = report_lines([outcome(row("A.high"), A_high="setpoint 10 → 9")])

    assert lines[-2:] == [
        "changed, and these runs show no difference:",
        "  A.high: setpoint 10 → 9",
    ]


def test_notes_of_a_run_stand_with_it() -> None:
    lines = report_lines([outcome(row("A.high"), notes=("has no phase 'climb'",))])

    assert lines[-2:] == ["run-1 (times in UTC)", "  note: has no phase 'climb'"]


def test_a_long_list_is_cut_and_counted() -> None:
    many = row("A.high", *((None, at(10 * n, 10 * n + 1)) for n in range(MOST_LISTED + 3)))

    lines = report_lines([outcome(many)])

    assert lines[-1] == "  and 3 more; --json lists them all"
    assert sum("gained, stood" in line for line in lines) == MOST_LISTED
