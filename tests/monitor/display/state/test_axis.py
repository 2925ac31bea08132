"""Tests for monitor.display.state.axis.

Source: hand-worked here.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.display.state.axis import (
    Range,
    close_range,
    round_step,
    run_span_s,
    time_ticks,
    value_ticks,
)


@pytest.mark.parametrize(
    ("run_s", "span_s"),
    [(0, 60), (60, 60), (61, 120), (1500, 1800), (5401, 7200), (86400, 86400), (86401, 172800)],
)
def test_a_chart_of_the_whole_run_has_a_round_length(run_s: float, span_s: int) -> None:
    assert run_span_s(run_s) == span_s


@pytest.mark.parametrize(
    ("width", "pieces", "step"),
    [(10, 5, 2.0), (1, 4, 0.25), (110, 4, 50.0), (0, 4, 1.0), (float("nan"), 4, 1.0)],
)
def test_a_step_is_round(width: float, pieces: int, step: float) -> None:
    assert round_step(width, pieces) == step


def test_time_runs_from_minus_the_span_to_now() -> None:
    assert time_ticks(60, 2) == ((0.0, "now"), (-30.0, "−30 s"), (-60.0, "−1 min"))


def test_the_right_end_of_a_held_chart_says_its_time() -> None:
    assert time_ticks(60, 1, "12:00:00")[0] == (0.0, "12:00:00")


@given(span_s=st.integers(10, 10**6), pieces=st.integers(2, 20))
def test_there_are_never_more_pieces_of_time_than_asked_for(span_s: int, pieces: int) -> None:
    assert len(time_ticks(span_s, pieces)) <= max(pieces, span_s // 86400) + 1


def test_values_are_labelled_with_the_decimals_that_the_step_needs() -> None:
    assert value_ticks(Range(-0.5, 0.5), 4) == (
        (-0.5, "−0.50"), (-0.25, "−0.25"), (0.0, "0.00"), (0.25, "0.25"), (0.5, "0.50"),
    )  # fmt: skip


def test_whole_steps_have_whole_labels() -> None:
    assert [text for _, text in value_ticks(Range(0, 100), 4)] == ["0", "25", "50", "75", "100"]


def test_a_close_up_takes_the_data_with_a_margin_to_round_numbers() -> None:
    chosen = close_range(38.1, 39.0, None, 0.1)

    assert chosen == Range(38.0, 39.5)


def test_a_close_up_never_fills_the_chart_with_less_than_the_least() -> None:
    chosen = close_range(5.0, 5.0, None, 2.0)

    assert chosen.width >= 2.0
    assert chosen.low < 5.0 < chosen.high


@given(
    low=st.floats(-1e6, 1e6),
    width=st.floats(0, 1e6),
    least=st.floats(1e-3, 1e3),
)
def test_a_close_up_holds_its_data(low: float, width: float, least: float) -> None:
    chosen = close_range(low, low + width, None, least)

    assert chosen.low <= low
    assert chosen.high >= low + width


def test_a_range_is_kept_while_the_data_is_in_it_and_fills_enough_of_it() -> None:
    now = Range(0.0, 10.0)

    assert close_range(3.0, 7.0, now, 0.1) is now
    assert close_range(3.0, 3.5, now, 0.1) != now
    assert close_range(3.0, 10.5, now, 0.1) != now
