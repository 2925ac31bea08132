"""Tests for monitor.display.state.trace.

Source: hand-worked here; columns are compared with a line worked out anew from all rows.
"""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from monitor.display.state.series import Series
from monitor.display.state.trace import MOST_COLUMNS, Line, Trace, Window
from monitor.samples import Floats

S = 1_000_000_000


def filled(count: int, step_ns: int = S, seed: int = 3) -> tuple[Series, Floats]:
    """Give a series of noise, one row each *step_ns* from 0 on."""
    value = np.random.default_rng(seed).normal(size=count)
    series = Series()
    series.append(np.arange(count, dtype=np.int64) * step_ns, value)
    return series, value


def same(a: Line, b: Line) -> bool:
    """Tell whether two lines are drawn alike."""
    return bool(np.array_equal(a.x_s, b.x_s) and np.array_equal(a.y, b.y, equal_nan=True))


def test_few_rows_are_drawn_as_they_are() -> None:
    series, value = filled(11)

    line = Trace().line(series, Window(10 * S, 10 * S, 10))

    assert line.x_s.tolist() == [float(x) for x in range(-10, 1)]
    assert line.y.tolist() == value.tolist()
    assert (line.low, line.high) == (value.min(), value.max())


def test_many_rows_give_two_points_a_column() -> None:
    series, value = filled(1001)

    line = Trace().line(series, Window(1000 * S, 1000 * S, 100))

    assert line.y.size == 2 * 101
    assert line.y[0] == value[:10].min()
    assert line.y[1] == value[:10].max()
    assert line.x_s[0] == -1000.0
    assert line.x_s[-1] == 0.0


def test_a_spike_of_one_row_cannot_vanish() -> None:
    series, _ = filled(100_000)
    series.append(np.array([100_000 * S]), np.array([123.0]))
    series.append(np.arange(100_001, 200_000) * S, np.zeros(99_999))

    line = Trace().line(series, Window(200_000 * S, 200_000 * S, 200))

    assert line.high == 123.0
    assert line.y.max() == 123.0


@given(steps=st.lists(st.integers(1, 400), min_size=2, max_size=12), gap=st.booleans())
def test_columns_kept_from_frame_to_frame_equal_columns_worked_out_anew(
    steps: list[int], gap: bool
) -> None:
    series, _ = filled(2000)
    kept, now = Trace(), 2000
    random = np.random.default_rng(5)
    for step in steps:
        value = random.normal(size=step)
        if gap:
            value[: step // 2] = np.nan
        series.append(np.arange(now, now + step, dtype=np.int64) * S, value)
        now += step
        window = Window(now * S - 1, 1500 * S, 150)
        drawn = kept.line(series, window)

        assert same(drawn, Trace().line(series, window))


def test_the_very_same_line_comes_back_while_nothing_changed() -> None:
    series, _ = filled(5000)
    trace, window = Trace(), Window(5000 * S, 4000 * S, 100)

    first = trace.line(series, window)

    assert trace.line(series, window) is first
    # Less than a column of pixels later, and no new row: nothing to draw.
    assert trace.line(series, Window(5000 * S + 1, 4000 * S, 100)) is first


def test_a_gap_between_many_rows_breaks_the_line() -> None:
    series, _ = filled(1000)
    value = np.zeros(1000)
    value[100:300] = np.nan
    series.append(np.arange(1000, 2000) * S, value)

    line = Trace().line(series, Window(1999 * S, 1900 * S, 100))

    broken = np.isnan(line.y)
    assert broken.any()
    assert not broken[-20:].any()


def test_a_row_alone_between_gaps_is_doubled_so_that_it_can_be_seen() -> None:
    series = Series()
    series.append(np.arange(5) * S, np.array([np.nan, 7.0, np.nan, 1.0, 2.0]))

    line = Trace().line(series, Window(4 * S, 10 * S, 10))

    assert line.y[np.isfinite(line.y)].tolist() == [7.0, 7.0, 1.0, 2.0]


def test_columns_without_rows_are_left_out() -> None:
    series, _ = filled(3000)
    series.append(np.array([9000 * S]), np.array([0.5]))

    line = Trace().line(series, Window(9000 * S, 9000 * S, 90))

    assert line.y.size < 2 * 91
    assert line.x_s[-1] == 0.0


def test_older_rows_put_in_front_are_drawn() -> None:
    series, _ = filled(0)
    series.append(np.arange(5000, 10_000, dtype=np.int64) * S, np.zeros(5000))
    trace, window = Trace(), Window(9999 * S, 9999 * S, 100)
    trace.line(series, window)

    series.put_before(np.arange(5000, dtype=np.int64) * S, np.full(5000, 9.0))

    assert trace.line(series, window).high == 9.0


def test_looking_back_and_returning_gives_the_lines_worked_out_anew() -> None:
    series, _ = filled(20_000)
    trace = Trace()
    for until in (20_000, 9_000, 9_500, 20_000):
        window = Window(until * S, 3000 * S, 120)

        assert same(trace.line(series, window), Trace().line(series, window))


def test_an_empty_series_gives_a_line_without_points() -> None:
    line = Trace().line(Series(), Window(10 * S, 10 * S, 10))

    assert line.y.size == 0
    assert np.isnan(line.low)


def test_columns_are_bounded_however_wide_the_screen_is() -> None:
    assert Window(0, 4 * MOST_COLUMNS, 10 * MOST_COLUMNS).column_ns == 4
    assert Window(0, 5, 0).column_ns == 5
