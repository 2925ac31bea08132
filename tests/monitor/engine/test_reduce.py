"""Tests for monitor.engine.reduce.

Source: hand-worked here.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.engine.reduce import grouped, reduced

NAN = float("nan")


def run(
    values: list[float], points: int, from_ns: int = 0, step_ns: int = 10
) -> list[tuple[int, float]]:
    t_ns = from_ns + np.arange(len(values), dtype=np.int64) * step_ns
    until_ns = from_ns + len(values) * step_ns
    kept_ns, kept = reduced(t_ns, np.array(values), from_ns, until_ns, points)
    return list(zip(kept_ns.tolist(), kept.tolist(), strict=True))


def test_few_rows_come_back_as_they_are() -> None:
    assert run([1.0, NAN, 3.0, 4.0], points=2)[0] == (0, 1.0)
    assert len(run([1.0, NAN, 3.0, 4.0], points=2)) == 4


def test_each_interval_keeps_its_extremes_in_their_order() -> None:
    assert run([2.0, 1.0, 5.0, 3.0, 9.0, 7.0, 8.0, 8.5], points=2) == [
        (10, 1.0),
        (20, 5.0),
        (40, 9.0),
        (50, 7.0),
    ]


def test_a_gap_stays_a_gap_at_its_place() -> None:
    kept = run([2.0, 1.0, NAN, NAN, 5.0, 3.0, 3.0, 3.0, 3.0, 3.0], points=1)

    assert [t for t, _ in kept] == [10, 20, 40]
    assert np.isnan(kept[1][1])


def test_an_interval_of_nothing_but_gaps_is_one_gap() -> None:
    kept = run([NAN, NAN, NAN, NAN, NAN], points=1)

    assert [t for t, _ in kept] == [0]
    assert np.isnan(kept[0][1])


def test_a_constant_is_one_row_an_interval() -> None:
    assert run([4.0] * 9, points=1) == [(0, 4.0)]


@pytest.mark.parametrize("seed", range(4))
def test_no_extreme_of_any_interval_is_lost(seed: int) -> None:
    values = np.random.default_rng(seed).normal(size=1_000)
    t_ns = np.arange(1_000, dtype=np.int64)

    kept_ns, kept = reduced(t_ns, values, 0, 1_000, 10)

    assert len(kept) <= 20
    for begin in range(0, 1_000, 100):
        inside = kept[(kept_ns >= begin) & (kept_ns < begin + 100)]
        assert inside.min() == values[begin : begin + 100].min()
        assert inside.max() == values[begin : begin + 100].max()


def test_a_span_of_years_does_not_overflow() -> None:
    t_ns = np.arange(100, dtype=np.int64) * 3_000_000_000_000_000

    kept_ns, _ = reduced(t_ns, np.arange(100.0), 0, 300_000_000_000_000_000, 4)

    assert len(kept_ns) == 8
    assert kept_ns[-1] == t_ns[-1]


def test_groups_say_where_their_extremes_are() -> None:
    groups = grouped(np.array([7, 7, 7, 9, 9]), np.array([3.0, 1.0, 3.0, NAN, NAN]))

    assert groups.start.tolist() == [0, 3]
    assert (groups.low[0], groups.high[0]) == (1.0, 3.0)
    assert (groups.low_at[0], groups.high_at[0]) == (1, 0)
    assert groups.has_number.tolist() == [True, False]


def test_groups_of_single_rows_are_their_own_extremes() -> None:
    groups = grouped(np.array([1, 2]), np.array([5.0, NAN]))

    assert groups.low_at.tolist() == groups.high_at.tolist() == [0, 1]
    assert groups.has_number.tolist() == [True, False]


def test_intervals_are_counted_from_the_begin_of_the_span() -> None:
    kept = run([1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0], points=3, from_ns=1_015)

    assert [value for _, value in kept] == [1.0, 3.0, 4.0, 6.0, 7.0, 9.0]


def test_as_many_rows_as_may_be_are_not_reduced() -> None:
    assert len(run([1.0, 2.0, 3.0, 4.0], points=2)) == 4
    assert len(run([1.0, 2.0, 3.0, 4.0, 5.0], points=2)) == 4
