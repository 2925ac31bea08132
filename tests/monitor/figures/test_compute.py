"""Tests for monitor.figures.compute.

Source: hand-worked here; stale above 24 h and chattering from three in a minute are those of
ANSI/ISA-18.2-2016, 16.4, by secondary texts.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from monitor.events import Event
from monitor.figures.compute import figures_of
from monitor.figures.figures import AlarmCount, Answers, Figures, Inhibited, PriorityCount
from monitor.figures.follow import follow
from tests.monitor.figures.made import DAY_S, HOUR_S, S, acknowledged, at, cleared, raised


def figures(*runs: tuple[Sequence[Event], float]) -> Figures:
    """Give the figures of runs, each with its end in s."""
    stretches = [
        follow(f"run-{number}", events, 0, round(end_s * S))
        for number, (events, end_s) in enumerate(runs, 1)
    ]
    return figures_of("all", stretches)


def burst(
    count: int, since_s: float = 0, every_s: float = 1, subject: str = "a"
) -> list[Event]:
    """Raise an alarm again and again."""
    return [raised(since_s + every_s * number, subject) for number in range(count)]


def test_averages_are_activations_by_time() -> None:
    load = figures((burst(3), 2 * HOUR_S)).load

    assert (load.activations, load.per_10_min, load.per_hour, load.per_day) == (
        3,
        0.25,
        1.5,
        36,
    )


def test_a_run_without_time_has_no_averages_and_no_shares() -> None:
    found = figures(([], 0))

    assert (found.load.per_10_min, found.load.per_hour, found.load.per_day) == (
        None,
        None,
        None,
    )
    assert (found.load.share_above, found.floods.share, found.frequent.share) == (
        None,
        None,
        None,
    )
    assert (found.load.bins, found.load.most_in_bin, found.load.most_in_window) == (0, 0, 0)


def test_no_stretch_at_all_is_no_time() -> None:
    found = figures()

    assert (found.stretches, found.lasted_ns, found.nuisance.stale_on_worst_day) == (0, 0, 0)


def test_what_is_shown_anew_is_counted_apart() -> None:
    events = [
        raised(1),
        at(2, "alarm.realarmed", "a", is_annunciated=True),
        at(3, "alarm.realarmed", "a", is_annunciated=True),
    ]
    load = figures((events, 600)).load

    assert (load.activations, load.realarms) == (1, 2)


def test_bins_with_more_than_ten_are_counted() -> None:
    events = [*burst(10), *burst(11, 600), *burst(12, 1800)]
    load = figures((events, 2400)).load

    assert (load.bins, load.bins_above, load.share_above) == (4, 2, 0.5)
    assert (load.most_in_bin, load.most_in_window) == (12, 12)


def test_bins_and_windows_do_not_reach_from_one_run_into_the_next() -> None:
    load = figures((burst(8, 590), 600), (burst(8), 600)).load

    assert (load.bins, load.bins_above, load.most_in_window) == (2, 0, 8)


def test_time_in_flood_is_a_share_of_all_time() -> None:
    floods = figures((burst(11), 1800), ([], 1200)).floods

    assert [(row.run, row.since_ns, row.until_ns // S) for row in floods.periods] == [
        ("run-1", 0, 600)
    ]
    assert (floods.lasted_ns // S, floods.share) == (600, 0.2)


def test_priorities_are_counted_by_activations_from_top_to_low() -> None:
    events = [
        raised(1, "a", "low"),
        raised(2, "a", "low"),
        raised(3, "b", "medium"),
        raised(4, "c", "top"),
    ]

    assert figures((events, 600)).priorities == (
        PriorityCount("top", 1, 0.25),
        PriorityCount("high", 0, 0.0),
        PriorityCount("medium", 1, 0.25),
        PriorityCount("low", 2, 0.5),
    )


def test_the_ten_most_frequent_come_by_count_and_then_by_id() -> None:
    names = "lkjihgfedcba"
    events = [raised(number, name) for number, name in enumerate(names)]
    frequent = figures(([*events, raised(20, "g"), raised(21, "g")], 600)).frequent

    assert frequent.ten[:3] == (AlarmCount("g", 3), AlarmCount("a", 1), AlarmCount("b", 1))
    assert (len(frequent.ten), frequent.different) == (10, 12)
    assert frequent.share == 12 / 14


def test_only_one_alarm_by_itself_chatters() -> None:
    both = [*burst(2, 0, 10, "a"), *burst(2, 1, 10, "b")]
    events = sorted([*both, *burst(4, 100, 10, "c")], key=lambda event: event.t_ns)

    assert figures((events, 600)).nuisance.chattering == (AlarmCount("c", 4),)


@pytest.mark.parametrize(("lasted_s", "fleeting"), [(9.999, (AlarmCount("a", 1),)), (10, ())])
def test_what_is_gone_within_10_s_is_fleeting(
    lasted_s: float, fleeting: tuple[AlarmCount, ...]
) -> None:
    events = [raised(5), cleared(5 + lasted_s)]

    assert figures((events, 600)).nuisance.fleeting == fleeting


@pytest.mark.parametrize(("until_s", "stale"), [(DAY_S + 10, 0), (DAY_S + 10.001, 1)])
def test_what_is_annunciated_for_more_than_24_h_is_stale(until_s: float, stale: int) -> None:
    events = [raised(10), cleared(until_s, state="normal")]
    nuisance = figures((events, 3 * DAY_S)).nuisance

    assert (len(nuisance.stale), nuisance.stale_on_worst_day) == (stale, stale)


def test_an_alarm_that_is_gone_and_not_acknowledged_becomes_stale_too() -> None:
    assert len(figures(([raised(10), cleared(20)], 2 * DAY_S)).nuisance.stale) == 1


def test_the_worst_day_is_the_one_with_most_stale_alarms() -> None:
    events = [
        # Stale on the second day (from noon), the third, and not the fourth.
        raised(0.5 * DAY_S, "a"),
        # Stale on the third and fourth day.
        raised(1.25 * DAY_S, "b"),
        # Stale from the third day's end to the end, on the fourth day only.
        raised(2 * DAY_S, "c"),
        raised(2 * DAY_S + 1, "d"),
        cleared(3 * DAY_S, "a", "normal"),
    ]
    nuisance = figures((events, 4 * DAY_S)).nuisance

    assert [row.subject for row in nuisance.stale] == ["b", "a", "c", "d"]
    assert nuisance.stale_on_worst_day == 3


def test_days_are_those_of_one_run() -> None:
    stays = ([raised(0, "a")], 1.5 * DAY_S)

    assert figures(stays, stays).nuisance.stale_on_worst_day == 1


def test_what_stands_at_the_end_is_told_with_its_time_the_longest_first() -> None:
    events = [
        raised(100, "a"),
        raised(200, "b", "top"),
        raised(300, "c"),
        cleared(350, "c"),
    ]
    standing = figures((events, 600)).standing

    assert [(row.subject, row.priority, row.lasted_ns // S) for row in standing.at_end] == [
        ("a", "low", 500),
        ("b", "top", 400),
    ]
    assert standing.longest == standing.at_end[0]
    assert standing.lasted_ns // S == 500 + 400 + 50


def test_the_longest_may_be_over() -> None:
    events = [raised(0, "a"), cleared(400, "a"), raised(500, "b")]
    longest = figures((events, 600)).standing.longest

    assert longest is not None
    assert (longest.subject, longest.is_over, longest.lasted_ns // S) == ("a", True, 400)


def test_without_alarms_none_stood_longest() -> None:
    assert figures(([], 600)).standing.longest is None


@pytest.mark.parametrize(
    ("waited_s", "median_s", "longest_s"),
    [([7], 7, 7), ([1, 9], 5, 9), ([1, 2, 30], 2, 30), ([1, 2, 4, 30], 3, 30)],
)
def test_times_to_acknowledge(waited_s: list[int], median_s: int, longest_s: int) -> None:
    events = []
    for number, wait_s in enumerate(reversed(waited_s)):
        name, since_s = f"a{number}", 100 * number
        events += [raised(since_s, name), acknowledged(since_s + wait_s, name)]

    assert figures((events, 600)).answers == Answers(
        len(waited_s), median_s * S, longest_s * S, 0
    )


def test_what_nobody_acknowledged_is_counted_at_the_end() -> None:
    events = [raised(1, "a"), raised(2, "b"), acknowledged(3, "b"), raised(4, "c")]
    events += [cleared(5, "c"), raised(6, "d"), cleared(7, "d", "normal")]

    assert figures((events, 600)).answers.waiting_at_end == 2


def test_what_kept_alarms_from_being_shown_is_counted() -> None:
    events = [
        raised(1, "a"),
        at(2, "alarm.shelved", "a"),
        at(3, "alarm.shelved", "b"),
        at(4, "alarm.out_of_service", "c"),
        at(5, "alarm.suppressed", "a"),
        raised(6, "b", is_annunciated=False),
        raised(7, "c", is_annunciated=False),
        raised(8, "d", is_annunciated=False),
        at(9, "alarm.unshelved", "b"),
    ]

    assert figures((events, 600)).inhibited == Inhibited(
        shelved=2, out_of_service=1, suppressed=1, hidden=3
    )


def test_several_runs_are_taken_together() -> None:
    found = figures(([raised(1)], 600), ([raised(2), raised(3)], 1200))

    assert (found.name, found.stretches, found.lasted_ns // S) == ("all", 2, 1800)
    assert (found.load.activations, found.load.per_10_min) == (3, 1.0)
    assert found.frequent.ten == (AlarmCount("a", 3),)
