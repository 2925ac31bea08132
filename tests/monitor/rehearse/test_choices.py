"""Tests for monitor.rehearse.choices.

Source: hand-worked here; the starting points for pressure (2 %, 15 s) are the published ones.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.rehearse.choices import (
    MOST,
    NO_SIEVE,
    Choice,
    Ground,
    Sieve,
    choices_of,
    rounded_up,
)
from monitor.stand.limit_values import STARTING_POINTS

S = 1_000_000_000
PRESENT = Choice(1.0, NO_SIEVE, 2 * S)
GROUND = Ground(
    PRESENT,
    scatter=0.5,
    period_ns=S // 10,
    spike_rows=2,
    spike_ns=S // 5,
    span=200.0,
    published=STARTING_POINTS["pressure"],
)


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (0.0123, 0.013),
        (0.3, 0.3),
        (3.0, 3.0),
        (3.01, 3.1),
        (99.1, 100.0),
        (1234.0, 1300.0),
        (0, 0),
    ],
)
def test_figures_are_rounded_up_as_a_person_writes_them(value: float, expected: float) -> None:
    assert rounded_up(value) == expected


@given(st.floats(1e-9, 1e9))
def test_rounding_up_never_goes_down_and_adds_a_tenth_at_most(value: float) -> None:
    assert value * (1 - 1e-9) <= rounded_up(value) <= value * 1.1


def test_the_present_choice_comes_first() -> None:
    assert choices_of(GROUND)[0] == PRESENT


def test_the_deadbands_are_by_the_noise_and_the_published_one() -> None:
    found = {one.deadband for one in choices_of(replace(GROUND, published=None))}
    published = {one.deadband for one in choices_of(GROUND)}

    # Six and three standard deviations; 2 % of 200.
    assert found == {1.0, 3.0, 1.5}
    assert 4.0 in published


def test_the_delays_are_none_the_present_one_longer_than_spikes_and_the_published_one() -> None:
    assert {one.on_delay_ns for one in choices_of(GROUND)} == {0, 2 * S, 3 * S // 10, 15 * S}


def test_the_median_is_wider_than_two_spikes_and_the_lag_five_periods() -> None:
    found = {one.sieve for one in choices_of(GROUND)}

    assert found == {NO_SIEVE, Sieve(median_of=5), Sieve(lag_ns=S // 2)}


@pytest.mark.parametrize(("rows", "width"), [(0, 3), (1, 3), (4, 9), (50, 9)])
def test_the_window_of_a_median_is_odd_and_bounded(rows: int, width: int) -> None:
    found = {one.sieve.median_of for one in choices_of(replace(GROUND, spike_rows=rows))}

    assert found == {0, width}


def test_top_priority_is_never_told_to_wait() -> None:
    found = choices_of(replace(GROUND, may_delay=False))

    # The present one, which has a delay that was written, is tried but nothing like it.
    assert {one.on_delay_ns for one in found[1:]} == {0}


def test_a_figure_made_of_a_channel_gets_no_filter() -> None:
    present = replace(PRESENT, sieve=Sieve(mean_ns=S))
    found = choices_of(replace(GROUND, present=present, may_filter=False))

    assert {one.sieve for one in found} == {Sieve(mean_ns=S)}


def test_without_a_figure_for_the_noise_none_is_made_up() -> None:
    found = choices_of(replace(GROUND, scatter=math.nan, published=None))

    assert {one.deadband for one in found} == {1.0}


def test_a_signal_without_noise_gets_no_deadband_of_nothing() -> None:
    found = choices_of(replace(GROUND, scatter=0.0, published=None))

    assert {one.deadband for one in found} == {1.0}


def test_counting_samples_is_tried_as_it_is_and_not_mixed_with_a_delay() -> None:
    present = replace(PRESENT, n_of_m=(3, 5), on_delay_ns=0)
    found = choices_of(replace(GROUND, present=present))

    assert [one.n_of_m for one in found if one.n_of_m[1]] == [(3, 5)]


@given(
    st.builds(
        Ground,
        st.builds(
            Choice,
            st.floats(0, 10),
            st.builds(Sieve, st.sampled_from([0, 5]), st.integers(0, 3) | st.just(0)),
            st.integers(0, 3),
        ),
        scatter=st.floats(0, 5),
        period_ns=st.integers(0, S),
        spike_rows=st.integers(0, 9),
        spike_ns=st.integers(0, 9 * S),
        span=st.floats(0, 100),
        published=st.none() | st.sampled_from(list(STARTING_POINTS.values())),
    )
)
def test_there_are_never_too_many_choices_and_none_twice(ground: Ground) -> None:
    found = choices_of(ground)

    assert len(found) <= MOST
    assert len(set(found)) == len(found)


@pytest.mark.parametrize(
    ("choice", "seconds"),
    [
        (Choice(1, NO_SIEVE, 2 * S), 2.0),
        # Two samples behind the middle of five, half of a mean, the constant of a lag.
        (Choice(1, Sieve(median_of=5), 0), 0.2),
        (Choice(1, Sieve(mean_ns=10 * S), S), 6.0),
        (Choice(1, Sieve(lag_ns=3 * S), S), 4.0),
        (Choice(1, NO_SIEVE, 0, (3, 5)), 0.2),
    ],
)
def test_the_delay_of_a_choice_is_that_of_its_filter_and_its_own(
    choice: Choice, seconds: float
) -> None:
    assert choice.delay_ns(S // 10) / S == seconds
