"""Tests for monitor.figures.rates.

Source: the hand-worked check of alarm figures that goes with ANSI/ISA-18.2-2016, 16.4
(activations at 0, 30, 60, 90, 120, 150, 200, 240, 300, 360, 420 and 700 s: 11 and 1 in bins of
10 min, at most 11 in any 10 min, a flood that ends in the second bin); the rest hand-worked
here.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.figures.rates import (
    WINDOW_NS,
    Flood,
    chatter,
    counts_in_bins,
    floods,
    most_in_window,
)
from tests.monitor.figures.made import S

WORKED_S = (0, 30, 60, 90, 120, 150, 200, 240, 300, 360, 420, 700)
WORKED = [t_s * S for t_s in WORKED_S]

#: Whole seconds, so that edges of windows are met.
times = st.lists(st.integers(0, 5000).map(lambda t_s: t_s * S), max_size=60).map(sorted)


def test_the_worked_check_has_eleven_in_the_first_bin_and_one_in_the_second() -> None:
    assert counts_in_bins(WORKED, 0, 1200 * S) == [11, 1]


def test_the_worked_check_has_at_most_eleven_in_any_10_min() -> None:
    assert most_in_window(WORKED, WINDOW_NS) == 11


def test_the_worked_check_has_one_flood_that_ends_in_the_second_bin() -> None:
    assert floods("run", [11, 1], 0, 1200 * S) == [Flood("run", 0, 600 * S, 11, is_over=True)]


def test_bins_begin_with_the_run() -> None:
    assert counts_in_bins([650 * S], 100 * S, 1300 * S) == [1, 0]


@pytest.mark.parametrize(("t_s", "counts"), [(599.999, [1, 0]), (600, [0, 1])])
def test_a_bin_holds_its_first_instant_and_not_its_last(t_s: float, counts: list[int]) -> None:
    assert counts_in_bins([round(t_s * S)], 0, 1200 * S) == counts


@pytest.mark.parametrize(("end_s", "bins"), [(0, 0), (1, 1), (600, 1), (600.5, 2), (1200, 2)])
def test_the_last_bin_may_be_shorter(end_s: float, bins: int) -> None:
    assert len(counts_in_bins([], 0, round(end_s * S))) == bins


@pytest.mark.parametrize(("end_s", "counts"), [(1200, [0, 1]), (0, [1])])
def test_what_happens_at_the_very_end_counts_in_the_last_bin(
    end_s: int, counts: list[int]
) -> None:
    assert counts_in_bins([end_s * S], 0, end_s * S) == counts


@pytest.mark.parametrize(("last_s", "most"), [(599.999, 2), (600, 1)])
def test_two_that_are_10_min_apart_are_in_no_window(last_s: float, most: int) -> None:
    assert most_in_window([0, round(last_s * S)], WINDOW_NS) == most


def test_a_window_may_begin_anywhere() -> None:
    burst = [(540 + 10 * number) * S for number in range(12)]

    assert counts_in_bins(burst, 0, 1200 * S) == [6, 6]
    assert most_in_window(burst, WINDOW_NS) == 12


@pytest.mark.parametrize(
    ("counts", "periods"),
    [
        ([10], []),
        ([11], [(0, 600)]),
        ([0, 11, 5, 4], [(600, 1800)]),
        ([11, 5, 10, 5, 3, 2], [(0, 2400)]),
        ([11, 4, 11, 4], [(0, 600), (1200, 1800)]),
    ],
)
def test_a_flood_begins_above_ten_and_ends_below_five(
    counts: list[int], periods: list[tuple[int, int]]
) -> None:
    found = floods("run", counts, 0, len(counts) * WINDOW_NS)

    assert [(row.since_ns // S, row.until_ns // S) for row in found] == periods


def test_a_flood_counts_what_came_in_it() -> None:
    assert [row.activations for row in floods("run", [3, 11, 7, 2], 0, 2400 * S)] == [18]


def test_a_flood_may_go_on_at_the_end() -> None:
    assert floods("run", [0, 12, 6], 0, 1800 * S) == [
        Flood("run", 600 * S, 1800 * S, 18, is_over=False)
    ]


def test_a_last_bin_that_is_too_short_does_not_end_a_flood() -> None:
    assert floods("run", [12, 0], 0, 630 * S) == [Flood("run", 0, 630 * S, 12, is_over=False)]


def test_a_last_bin_that_is_too_short_can_begin_one() -> None:
    assert floods("run", [0, 12], 0, 630 * S) == [
        Flood("run", 600 * S, 630 * S, 12, is_over=False)
    ]


@pytest.mark.parametrize(
    ("times_s", "count"),
    [
        ([0, 59], 0),
        ([0, 30, 59.999], 3),
        ([0, 30, 60], 0),
        ([0, 20, 40, 80], 3),
        ([0, 20, 40, 70, 300], 4),
        ([0, 1, 2, 500, 501, 502], 6),
        ([0, 40, 80, 120], 0),
    ],
)
def test_three_in_less_than_a_minute_chatter(times_s: list[float], count: int) -> None:
    assert chatter([round(t_s * S) for t_s in times_s]) == count


@given(times)
def test_bins_hold_everything(rows: list[int]) -> None:
    assert sum(counts_in_bins(rows, 0, 5000 * S)) == len(rows)


@given(times)
def test_no_bin_holds_more_than_the_fullest_window(rows: list[int]) -> None:
    fullest = max(counts_in_bins(rows, 0, 5400 * S))

    assert fullest <= most_in_window(rows, WINDOW_NS) <= 2 * fullest


@given(times)
def test_the_fullest_window_is_what_counting_from_each_time_gives(rows: list[int]) -> None:
    slow = max((sum(0 <= t - first < WINDOW_NS for t in rows) for first in rows), default=0)

    assert most_in_window(rows, WINDOW_NS) == slow


@given(st.lists(st.integers(0, 15), max_size=30))
def test_floods_lie_in_the_data_one_after_the_other(counts: list[int]) -> None:
    end_ns = len(counts) * WINDOW_NS
    found = floods("run", counts, 0, end_ns)
    edges = [edge for row in found for edge in (row.since_ns, row.until_ns)]

    assert edges == sorted(edges)
    assert all(0 <= edge <= end_ns for edge in edges)
    assert all(row.activations > 10 for row in found)
