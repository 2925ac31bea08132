"""Tests for monitor.figures.

Source: the hand-worked check of alarm figures that goes with ANSI/ISA-18.2-2016, 16.4:
activations at 0, 30, 60, 90, 120, 150, 200, 240, 300, 360, 420 and 700 s. In bins of 10 min,
[0, 600) and [600, 1200), there are 11 and 1: the first is a flood (11 > 10) and 50 % of the
bins; at most 11 lie in any 10 min; the flood ends in the second bin (1 < 5). The properties are
stated here.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.events import Event
from monitor.figures import Report, RunJournal, Verdict, alarm_figures, assess
from monitor.figures.figures import Figures
from tests.monitor.figures.made import S, acknowledged, at, cleared, entered, journal, raised

WORKED_S = (0, 30, 60, 90, 120, 150, 200, 240, 300, 360, 420, 700)
WORKED = journal((raised(t_s, f"alarm-{number}") for number, t_s in enumerate(WORKED_S)), 1200)


def test_the_worked_check_has_half_of_its_bins_above_ten() -> None:
    load = alarm_figures([WORKED]).total.load

    assert (load.activations, load.bins, load.bins_above) == (12, 2, 1)
    assert (load.share_above, load.most_in_bin, load.most_in_window) == (0.5, 11, 11)


def test_the_worked_check_has_a_flood_that_ends_in_the_second_bin() -> None:
    floods = alarm_figures([WORKED]).total.floods

    assert [(row.since_ns // S, row.until_ns // S, row.is_over) for row in floods.periods] == [
        (0, 600, True)
    ]


def test_the_worked_check_misses_the_targets_for_peaks_and_floods() -> None:
    verdicts = {row.figure: row.verdict for row in assess(alarm_figures([WORKED]).total)}

    assert verdicts["most in any 10 min"] is Verdict.MISSED
    assert verdicts["10 min with more than 10"] is Verdict.MISSED
    assert verdicts["time in flood"] is Verdict.MISSED


def happening(subject: str) -> st.SearchStrategy[Event]:
    """Something that befalls an alarm within 2 h, in whole s."""
    t_s = st.integers(0, 7200)
    name = st.just(subject)
    priority = st.sampled_from(["top", "high", "medium", "low"])
    return st.one_of(
        st.builds(raised, t_s, name, priority, is_annunciated=st.booleans()),
        st.builds(cleared, t_s, name, st.sampled_from(["normal", "returned, unacknowledged"])),
        st.builds(acknowledged, t_s, name),
        st.builds(
            at,
            t_s,
            st.sampled_from(
                [
                    "alarm.shelved",
                    "alarm.unshelved",
                    "alarm.suppressed",
                    "alarm.unsuppressed",
                    "alarm.out_of_service",
                    "alarm.returned_to_service",
                    "alarm.annunciated",
                    "alarm.realarmed",
                    "alarm.reset",
                    "condition.on",
                ]
            ),
            name,
        ),
    )


events = st.lists(
    st.one_of(
        happening("a"),
        happening("b"),
        st.builds(entered, st.integers(0, 7200), st.sampled_from(["climb", "hold", "abort"])),
    ),
    max_size=60,
)
#: No two events of one time, so that their order in the journal says nothing.
apart = events.map(lambda rows: [*{row.t_ns: row for row in rows}.values()])


def sums(rows: tuple[Figures, ...]) -> dict[str, int]:
    """Add up what can be added up."""
    return {
        "lasted": sum(row.lasted_ns for row in rows),
        "activations": sum(row.load.activations for row in rows),
        "realarms": sum(row.load.realarms for row in rows),
        "low": sum(row.priorities[-1].activations for row in rows),
        "top": sum(row.priorities[0].activations for row in rows),
        "fleeting": sum(alarm.count for row in rows for alarm in row.nuisance.fleeting),
        "standing": sum(row.standing.lasted_ns for row in rows),
        "acknowledged": sum(row.answers.acknowledged for row in rows),
        "shelved": sum(row.inhibited.shelved for row in rows),
        "out of service": sum(row.inhibited.out_of_service for row in rows),
        "suppressed": sum(row.inhibited.suppressed for row in rows),
        "hidden": sum(row.inhibited.hidden for row in rows),
    }


@given(events, events)
def test_counts_add_up_over_phases_and_over_runs(
    first: list[Event], second: list[Event]
) -> None:
    report = alarm_figures([journal(first, 7200), journal(second, 7200, "run-b")])

    assert sums((report.total,)) == sums(report.runs) == sums(report.phases)


@given(events, st.data())
def test_the_order_of_events_does_not_matter_beyond_their_time(
    rows: list[Event], data: st.DataObject
) -> None:
    # Events of one time are taken as they stand, so they keep their order here.
    groups: dict[int, list[Event]] = {}
    for row in rows:
        groups.setdefault(row.t_ns, []).append(row)
    mixed = data.draw(st.permutations(list(groups.values())))

    given_so = alarm_figures([journal(rows, 7200)])
    given_otherwise = alarm_figures([journal([row for group in mixed for row in group], 7200)])

    assert given_otherwise == given_so


@given(events, st.integers(-(10**18), 10**18))
def test_another_begin_shifts_times_and_nothing_else(rows: list[Event], by_ns: int) -> None:
    here = journal(rows, 7200)
    there = RunJournal(
        here.name,
        here.start_ns + by_ns,
        here.end_ns + by_ns,
        tuple(
            Event(row.t_ns + by_ns, row.kind, row.subject, row.fields) for row in here.events
        ),
    )
    first, second = alarm_figures([here]).total, alarm_figures([there]).total

    assert (second.load, second.priorities, second.frequent) == (
        first.load,
        first.priorities,
        first.frequent,
    )
    assert [row.lasted_ns for row in second.standing.at_end] == [
        row.lasted_ns for row in first.standing.at_end
    ]


@given(apart)
def test_shares_lie_between_none_and_all(rows: list[Event]) -> None:
    total = alarm_figures([journal(rows, 7200)]).total
    shares = [total.load.share_above, total.floods.share, total.frequent.share]
    shares += [row.share for row in total.priorities]

    assert all(share is None or 0 <= share <= 1 for share in shares)


@given(events)
def test_what_is_not_shown_does_not_count(rows: list[Event]) -> None:
    hidden = [
        Event(row.t_ns, row.kind, row.subject, {**row.fields, "is_annunciated": False})
        for row in rows
        if row.kind != "alarm.annunciated"
    ]
    total = alarm_figures([journal(hidden, 7200)]).total

    assert (total.load.activations, total.standing.lasted_ns) == (0, 0)
    assert (total.nuisance.fleeting, total.answers.acknowledged) == ((), 0)


@given(events)
def test_a_run_given_twice_doubles_its_counts_and_keeps_its_averages(rows: list[Event]) -> None:
    once: Report = alarm_figures([journal(rows, 7200)])
    twice: Report = alarm_figures([journal(rows, 7200), journal(rows, 7200, "run-b")])

    doubled = {name: 2 * count for name, count in sums((once.total,)).items()}

    assert sums((twice.total,)) == doubled
    assert twice.total.load.per_hour == pytest.approx(once.total.load.per_hour)
    assert replace(twice.total.nuisance, chattering=(), fleeting=(), stale=()) == replace(
        once.total.nuisance, chattering=(), fleeting=(), stale=()
    )
