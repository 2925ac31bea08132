"""Tests for monitor.channels.median.

Source: Width 3 of [2, 80, 6, 3, 1, 4, 5, 200, 5, 5] computed with scipy 1.17.1; away from its
start, which scipy fills up with zeros, the same as here. The rest hand-worked here, and
Python's statistics.median.
"""

from __future__ import annotations

import itertools
import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.channels.median import RunningMedian

NAN = float("nan")


def medians(width: int, values: list[float], cut: int = 0) -> list[float]:
    """Run one column, in two steps if *cut* is given."""
    running = RunningMedian(width)
    history, found = running.start(1), []
    for part in (values[:cut], values[cut:]):
        if part:
            column = np.array(part)[:, None]
            result, history = running.step(history, column, np.array([len(part)]))
            found += result[:, 0].tolist()
    return found


@pytest.mark.parametrize("width", [1, 3, 5, 7, 9])
def test_the_comparisons_find_the_middle_of_every_order(width: int) -> None:
    """By the 0-1 principle: comparisons that are right for zeros and ones are right for all."""
    rows = np.array(list(itertools.product([0.0, 1.0], repeat=width)))
    running = RunningMedian(width)

    # Each row of zeros and ones becomes a column of its own, whose last window is that row.
    result, _ = running.step(running.start(len(rows)), rows.T, np.full(len(rows), width))

    assert result[-1].tolist() == [float(sum(row) > width // 2) for row in rows.tolist()]


@given(
    st.sampled_from([3, 5, 11, 31]),
    st.lists(st.one_of(st.just(NAN), st.integers(-9, 9).map(float)), min_size=1, max_size=80),
    st.integers(0, 80),
)
def test_each_value_is_the_median_of_the_run_that_ends_there(
    width: int, values: list[float], cut: int
) -> None:
    expected, window = [], []
    for x in values:
        window = [] if x != x else [*window, x][-width:]
        expected.append(statistics.median(window) if window else NAN)

    np.testing.assert_array_equal(medians(width, values, cut), expected)


def test_spikes_are_thrown_out() -> None:
    found = medians(3, [2, 80, 6, 3, 1, 4, 5, 200, 5, 5])

    assert found[2:] == [6, 6, 3, 3, 4, 5, 5, 5]


def test_of_an_even_number_the_mean_of_the_middle_two_counts() -> None:
    assert medians(5, [1.0, 4.0, 10.0, 20.0]) == [1.0, 2.5, 4.0, 7.0]


def test_the_mean_of_the_largest_numbers_does_not_overflow() -> None:
    assert medians(3, [1.5e308, 1.7e308]) == [1.5e308, 1.6e308]


def test_a_bad_value_is_bad_and_what_was_before_it_is_forgotten() -> None:
    found = medians(3, [1.0, 1.0, 1.0, NAN, 9.0, 7.0])

    np.testing.assert_array_equal(found, [1.0, 1.0, 1.0, NAN, 9.0, 8.0])


def test_rows_beyond_the_count_of_a_column_are_not_taken() -> None:
    running = RunningMedian(3)
    value = np.array([[1.0, 1.0], [2.0, 99.0]])

    _, history = running.step(running.start(2), value, np.array([2, 1]))

    np.testing.assert_array_equal(history, [[1.0, NAN], [2.0, 1.0]])
