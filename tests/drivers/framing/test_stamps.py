"""Tests for drivers.framing.stamps.

Source: hand-worked here; the properties are the promise in the function's docstring.
"""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from drivers.framing.stamps import NEVER_NS, evenly_before_ns, rising_stamps

SECOND = 1_000_000_000
BEFORE = st.lists(st.integers(0, 10 * SECOND) | st.integers(0, 5), min_size=1, max_size=40)


def ints(*numbers: int) -> NDArray[np.int64]:
    """Give an array of int64."""
    return np.array(numbers, np.int64)


def test_one_row_that_is_as_old_as_its_arrival_gets_that_time() -> None:
    assert rising_stamps(1000, 10, ints(0)).tolist() == [1000]


def test_where_there_is_room_the_pattern_is_kept() -> None:
    stamps = rising_stamps(10 * SECOND, 0, evenly_before_ns(3, SECOND))

    assert stamps.tolist() == [8 * SECOND, 9 * SECOND, 10 * SECOND]


def test_without_a_row_before_there_is_always_room() -> None:
    assert rising_stamps(100, NEVER_NS, ints(500, 0)).tolist() == [-400, 100]


def test_where_it_does_not_fit_it_is_squeezed_evenly() -> None:
    # Three rows a second apart, 300 ms after the row before: 100 ms apart.
    stamps = rising_stamps(300, 0, evenly_before_ns(3, 1000))

    assert stamps.tolist() == [100, 200, 300]


def test_one_row_that_does_not_fit_gets_the_arrival() -> None:
    assert rising_stamps(300, 250, ints(100)).tolist() == [300]


def test_a_row_made_at_the_time_of_the_row_before_is_squeezed_too() -> None:
    assert rising_stamps(300, 200, ints(100, 0)).tolist() == [250, 300]


def test_rows_with_one_time_are_told_apart_by_nanoseconds() -> None:
    assert rising_stamps(1000, 10, ints(0, 0, 0)).tolist() == [998, 999, 1000]


def test_rows_that_go_back_are_put_in_order() -> None:
    assert rising_stamps(1000, 10, ints(100, 300, 0)).tolist() == [900, 901, 1000]


def test_a_clock_that_stands_still_is_overrun_by_as_few_ns_as_there_are_rows() -> None:
    assert rising_stamps(500, 500, ints(0, 0)).tolist() == [501, 502]


def test_even_spacing_ends_with_now() -> None:
    assert evenly_before_ns(4, 7).tolist() == [21, 14, 7, 0]


def test_no_rows_get_no_stamps() -> None:
    assert rising_stamps(500, 0, ints()).tolist() == []


@given(before=BEFORE, arrival=st.integers(0, 2**61), gap=st.integers(0, 20 * SECOND))
def test_stamps_rise_strictly_after_the_last_and_not_after_the_arrival(
    before: list[int], arrival: int, gap: int
) -> None:
    last = arrival - gap

    stamps = rising_stamps(arrival, last, np.array(before, np.int64))

    assert (np.diff(stamps) > 0).all()
    assert stamps[0] > last
    assert stamps[-1] <= max(arrival, last + len(before))


@given(before=BEFORE, gap=st.integers(11 * SECOND, 20 * SECOND))
def test_where_there_is_room_no_row_that_falls_in_order_is_moved(
    before: list[int], gap: int
) -> None:
    falling = np.array(sorted(set(before), reverse=True), np.int64)

    stamps = rising_stamps(10**18, 10**18 - gap, falling)

    assert (10**18 - stamps).tolist() == falling.tolist()
