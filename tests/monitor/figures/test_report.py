"""Tests for monitor.figures.report.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.events import Event
from monitor.figures.report import RunJournal, alarm_figures
from tests.monitor.figures.made import S, cleared, entered, journal, raised

FIRST = journal(
    [
        entered(0, "climb"),
        raised(10, "a"),
        entered(100, "hold"),
        raised(110, "b"),
        raised(120, "b"),
    ],
    600,
)
SECOND = journal([entered(0, "hold"), raised(5, "c"), entered(50, "climb")], 200, "run-b")


def test_each_run_has_its_figures_and_all_together() -> None:
    report = alarm_figures([FIRST, SECOND])

    assert [(row.name, row.load.activations) for row in report.runs] == [
        ("run-a", 3),
        ("run-b", 1),
    ]
    assert (report.total.load.activations, report.total.lasted_ns // S) == (4, 800)


def test_a_phase_is_taken_over_all_its_visits_and_runs() -> None:
    phases = alarm_figures([FIRST, SECOND]).phases

    assert [
        (row.name, row.stretches, row.lasted_ns // S, row.load.activations) for row in phases
    ] == [("climb", 2, 250, 1), ("hold", 2, 550, 3)]


def test_the_order_in_which_events_are_given_does_not_matter() -> None:
    turned = journal(reversed(FIRST.events), 600)

    assert alarm_figures([turned]) == alarm_figures([FIRST])


def test_events_of_one_instant_are_taken_as_they_stand() -> None:
    raised_last = journal([cleared(10), raised(10)], 60)
    cleared_last = journal([raised(10), cleared(10)], 60)

    assert len(alarm_figures([raised_last]).total.standing.at_end) == 1
    assert len(alarm_figures([cleared_last]).total.standing.at_end) == 0


def test_a_journal_that_goes_further_than_the_record_makes_the_run_longer() -> None:
    late = RunJournal("run-a", 10 * S, 20 * S, (raised(5), raised(30)))

    assert alarm_figures([late]).total.lasted_ns == 25 * S


def test_without_events_a_run_is_quiet_time() -> None:
    nothing: tuple[Event, ...] = ()
    report = alarm_figures([RunJournal("run-a", 10 * S, 20 * S, nothing)])

    assert (report.total.lasted_ns, report.total.load.per_10_min) == (10 * S, 0)
    assert [row.name for row in report.phases] == [""]


def test_an_end_before_the_start_is_no_time() -> None:
    assert alarm_figures([RunJournal("run-a", 10 * S, 5 * S, ())]).total.lasted_ns == 0
