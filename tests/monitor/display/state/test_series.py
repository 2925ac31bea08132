"""Tests for monitor.display.state.series.

Source: minimum and maximum worked out over all rows by plain numpy in the test.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.display.state.series import FACTOR, Series
from monitor.samples import Floats, Ints


def rows(count: int, seed: int = 1) -> tuple[Ints, Floats]:
    """Give rows of noise, one each ns."""
    return np.arange(count, dtype=np.int64), np.random.default_rng(seed).normal(size=count)


def test_few_rows_come_back_as_they_were() -> None:
    t_ns, value = rows(50)
    series = Series()
    series.append(t_ns, value)

    window = series.window(10, 20, 100)

    assert window.is_raw
    assert window.t_ns.tolist() == list(range(10, 21))
    assert window.low.tolist() == value[10:21].tolist()


@given(
    pieces=st.lists(st.integers(0, 70), min_size=1, max_size=40),
    most=st.integers(1, 60),
    kept=st.sampled_from([32, 64, 1024]),
)
def test_no_extreme_is_lost_whatever_the_pieces_and_the_level(
    pieces: list[int], most: int, kept: int
) -> None:
    t_ns, value = rows(sum(pieces))
    series, start = Series(kept), 0
    for piece in pieces:
        series.append(t_ns[start : start + piece], value[start : start + piece])
        start += piece

    window = series.window(0, len(t_ns), most)

    if len(t_ns):
        first = int(window.t_ns[0])
        assert window.low.min() == value[first:].min()
        assert window.high.max() == value[first:].max()
        assert series.appended == len(t_ns)


def test_the_finest_level_with_few_enough_entries_is_chosen() -> None:
    series = Series()
    series.append(*rows(FACTOR * FACTOR * 4))

    sizes = [series.window(0, 10**9, most).t_ns.size for most in (1024, 1023, 64, 63)]

    assert sizes == [1024, 64, 64, 4]


def test_rows_not_yet_folded_are_there_all_the_same() -> None:
    series = Series()
    t_ns, value = rows(FACTOR * 3 + 5)
    value[-1] = 99.0
    series.append(t_ns, value)

    window = series.window(0, 10**9, 20)

    assert window.t_ns.size == 3 + 5
    assert window.high.max() == 99.0


def test_memory_is_bounded_and_old_rows_live_on_in_the_next_level() -> None:
    series = Series(kept=64)
    t_ns, value = rows(64 * 16)
    value[3] = 50.0
    series.append(t_ns, value)

    whole = series.window(0, 10**9, 1000)

    assert not whole.is_raw
    assert whole.high.max() == 50.0
    assert series.window(1000, 10**9, 1000).is_raw


def test_a_gap_is_remembered_by_the_level_above() -> None:
    series = Series()
    t_ns, value = rows(FACTOR * 4)
    value[FACTOR + 2] = np.nan
    series.append(t_ns, value)

    window = series.window(0, 10**9, 4)

    assert window.has_gap.tolist() == [False, True, False, False]
    assert np.isfinite(window.low).all()


def test_older_rows_go_in_front_and_rows_that_are_here_already_are_left_out() -> None:
    series = Series()
    series.append(np.array([100, 110]), np.array([1.0, 2.0]))

    done = series.put_before(np.array([80, 90, 100, 105]), np.array([7.0, 8.0, 9.0, 9.5]))

    window = series.window(0, 200, 100)
    assert done
    assert window.t_ns.tolist() == [80, 90, 100, 110]
    assert window.low.tolist() == [7.0, 8.0, 1.0, 2.0]
    assert series.remade == 1


def test_rows_after_those_in_front_follow_on() -> None:
    series = Series()
    series.put_before(np.array([1, 2]), np.array([1.0, 2.0]))
    series.append(np.array([3]), np.array([3.0]))

    assert series.window(0, 9, 9).t_ns.tolist() == [1, 2, 3]
    assert series.last_t_ns() == 3


def test_it_is_too_late_for_older_rows_when_some_were_dropped() -> None:
    series = Series(kept=32)
    series.append(*rows(100))

    assert not series.put_before(np.array([-5]), np.array([0.0]))
    assert series.remade == 0


def test_an_empty_series_gives_an_empty_window() -> None:
    series = Series()

    assert series.window(0, 10, 5).t_ns.size == 0
    assert series.last_t_ns() == 0


def test_an_entry_that_straddles_the_beginning_is_included() -> None:
    series = Series()
    t_ns, value = rows(FACTOR * 8)
    value[20] = 77.0
    series.append(t_ns, value)

    window = series.window(18, 10**9, 10)

    assert window.high.max() == 77.0


@pytest.mark.parametrize("other", [Series(), Series(64)])
def test_each_series_has_a_number_of_its_own(other: Series) -> None:
    assert Series().serial != other.serial
