"""Tests for monitor.stand.figures.

Source: hand-worked here; the good file is that of conftest. The one-sided quantile of the
normal distribution for 95 % is 1.6449 (any table of it).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from monitor.channels.plan import (
    Computed,
    Filtered,
    NoStart,
    OffProfile,
    Slope,
    Take,
    TimeTo,
    Unchanged,
    Voted,
)
from monitor.limits.plan import Limit
from monitor.stand.model import Stand
from tests.monitor.stand.kinds_stand import limit, with_more

S = 1_000_000_000
RATE = 'setpoint = 2; per = "min"; window_s = 30'
Load = Callable[..., Stand]


def looked_at(stand: Stand, name: str) -> str:
    """Give the tag of the column that a limit looks at."""
    found: Limit = next(one for one in stand.plan.limits if one.id == name)
    return next(tag for tag, at in stand.plan.channels.column.items() if at == found.column)


def hidden(stand: Stand, tag: str) -> object:
    """Give the row of a hidden column."""
    plan = stand.plan.channels
    return next(
        row for row in (*plan.computed, *plan.filtered, *plan.derived) if row.tag == tag
    )


def formula(stand: Stand, tag: str) -> Computed:
    """Give the row of a hidden formula."""
    row = hidden(stand, tag)
    assert isinstance(row, Computed)
    return row


def test_rates_over_one_window_share_a_slope_of_what_is_filtered(good: str, load: Load) -> None:
    added = limit("PT-101", "rate_of_rise", RATE) + limit("PT-101", "rate_of_fall", RATE)
    stand = load(good + added)

    assert stand.plan.channels.derived == (
        Slope("PT-101~rate-30-min", "PT-101~filter", 30 * S, 60 * S),
    )
    assert looked_at(stand, "PT-101.rate_of_rise") == "PT-101~rate-30-min"
    assert looked_at(stand, "PT-101.rate_of_fall") == "PT-101~rate-30-min"


@pytest.mark.parametrize(("per", "per_s"), [("s", 1), ("min", 60), ("h", 3600)])
def test_a_rate_is_per_second_minute_or_hour(
    per: str, per_s: int, good: str, load: Load
) -> None:
    rise = limit("PT-102", "rate_of_rise", RATE.replace("min", per))
    fall = limit("PT-102", "rate_of_fall", RATE.replace("30", "60"))

    assert load(good + rise + fall).plan.channels.derived == (
        Slope(f"PT-102~rate-30-{per}", "PT-102", 30 * S, per_s * S),
        Slope("PT-102~rate-60-min", "PT-102", 60 * S, 60 * S),
    )


def test_the_distance_from_a_number_is_computed(good: str, load: Load) -> None:
    stand = load(good + limit("PT-102", "deviation", "from = 38; setpoint = 1"))
    row = formula(stand, "PT-102~deviation")

    assert (row.inputs, row.clock) == ((("x", "PT-102"),), "PT-102")
    assert row.formula.evaluate({"x": np.array([37.0, 40.0])}).tolist() == [1.0, 2.0]
    assert looked_at(stand, "PT-102.deviation") == "PT-102~deviation"


def test_the_distance_from_a_number_is_one_of_the_filtered_value(good: str, load: Load) -> None:
    stand = load(good + limit("PT-101", "deviation", "from = 38; setpoint = 1"))

    assert hidden(stand, "PT-101~deviation") == OffProfile(
        "PT-101~deviation", "PT-101~filter", ((0, 38.0),), is_over_run=True, is_absolute=True
    )


def test_the_distance_from_a_channel_is_in_the_unit_of_the_first(good: str, load: Load) -> None:
    added = limit("PT-102", "deviation", 'from = "PT-103"; setpoint = 1; largest_skew_s = 3')
    row = formula(load(with_more(good) + added), "PT-102~deviation")

    assert row.inputs == (("x", "PT-102"), ("y", "PT-103"))
    assert (row.clock, row.largest_skew_ns) == ("PT-102", 3 * S)
    # 1.01 bar are 101 kPa.
    got = row.formula.evaluate({"x": np.array([100.0]), "y": np.array([1.01])})
    assert got == pytest.approx([1.0])


def test_the_difference_of_two_channels_is_filtered_before_its_sign_is_dropped(
    good: str, load: Load
) -> None:
    stand = load(good + limit("PT-101", "deviation", 'from = "PT-102"; setpoint = 1'))
    row = formula(stand, "PT-101~difference")

    assert row.formula.text == "x - y"
    assert row.largest_skew_ns == 2 * S
    assert hidden(stand, "PT-101~difference~filter") == Filtered(
        "PT-101~difference~filter", "PT-101~difference", 5
    )
    assert hidden(stand, "PT-101~deviation") == OffProfile(
        "PT-101~deviation",
        "PT-101~difference~filter",
        ((0, 0.0),),
        is_over_run=True,
        is_absolute=True,
    )


def test_a_profile_counts_the_phase_and_a_budget_the_run(good: str, load: Load) -> None:
    profile = 'profile = [[0, 101.3], [600, 38]]; setpoint = 1; watched_in = ["leak"]'
    budget = "plan = [[0, 0], [0.5, 20]]; setpoint = 5"
    stand = load(
        good + limit("PT-102", "deviation", profile) + limit("PT-101", "budget", budget)
    )

    assert hidden(stand, "PT-102~deviation") == OffProfile(
        "PT-102~deviation", "PT-102", ((0, 101.3), (600 * S, 38.0)), is_absolute=True
    )
    assert hidden(stand, "PT-101~budget") == OffProfile(
        "PT-101~budget", "PT-101~filter", ((0, 0.0), (S // 2, 20.0)), is_over_run=True
    )


def test_a_state_is_compared_as_measured(good: str, load: Load) -> None:
    row = formula(load(with_more(good) + limit("ZS-101", "state", "is = 1")), "ZS-101~state")

    assert row.formula.evaluate({"x": np.array([0.0, 1.0])}).tolist() == [0.0, 1.0]


@pytest.mark.parametrize(
    ("keys", "bound", "is_upper"),
    [
        ('reaches = "high"', 150.0, True),
        ('reaches = "low"', 20.0, False),
        ('reaches = 70; toward = "up"', 70.0, True),
        ('reaches = 70; toward = "down"', 70.0, False),
    ],
)
def test_a_forecast_looks_at_the_filtered_value_on_its_way_to_a_bound(
    keys: str, bound: float, is_upper: bool, good: str, load: Load
) -> None:
    keys += "; within_s = 300; window_s = 60; confidence = 0.95"
    row = hidden(load(good + limit("PT-101", "time_to_limit", keys)), "PT-101~time_to_limit")

    assert isinstance(row, TimeTo)
    assert (row.source, row.window_ns) == ("PT-101~filter", 60 * S)
    assert (row.bound, row.is_upper) == (bound, is_upper)
    assert row.normal_quantile == pytest.approx(1.6449, abs=1e-4)


def test_a_stuck_sensor_is_looked_for_behind_the_filter(good: str, load: Load) -> None:
    stand = load(good + limit("PT-101", "stuck", "for_s = 60; band = 0.1"))

    assert hidden(stand, "PT-101~stuck") == Unchanged("PT-101~stuck", "PT-101", 0.1)
    assert looked_at(stand, "PT-101.stuck") == "PT-101~stuck"


def test_late_and_missed_share_a_column_and_overlong_needs_none(good: str, load: Load) -> None:
    stand = load(
        with_more(good)
        + limit("ZS-101", "late", "after_s = 60")
        + limit("ZS-101", "missed", "after_s = 90")
        + limit("ZS-101", "overlong", "longest_s = 45")
    )

    assert stand.plan.channels.derived == (NoStart("ZS-101~no_start", "ZS-101"),)
    assert looked_at(stand, "ZS-101.late") == "ZS-101~no_start"
    assert looked_at(stand, "ZS-101.missed") == "ZS-101~no_start"
    assert looked_at(stand, "ZS-101.overlong") == "ZS-101"


VOTED = (
    limit("PT-100", "high", "setpoint = 150")
    + limit("PT-100", "low_low", "setpoint = 9")
    + limit("PT-100", "disagreement", "setpoint = 5")
    + limit("PT-100", "rate_of_rise", RATE)
    + limit("PT-100", "expected", 'above = 50; within_s = 9; watched_in = ["leak"]')
)


@pytest.mark.parametrize(
    ("kind", "tag"),
    [
        ("high", "PT-100~upper"),
        ("low_low", "PT-100~lower"),
        ("disagreement", "PT-100~spread"),
        ("rate_of_rise", "PT-100~rate-30-min"),
        ("expected", "PT-100~upper"),
        ("fault", "PT-100"),
    ],
)
def test_limits_on_a_vote_look_at_their_side_of_it(
    kind: str, tag: str, good: str, load: Load
) -> None:
    assert looked_at(load(with_more(good) + VOTED), f"PT-100.{kind}") == tag


def test_what_is_expected_below_looks_at_the_lower_side(good: str, load: Load) -> None:
    added = limit("PT-100", "expected", 'below = 50; within_s = 9; watched_in = ["leak"]')

    assert looked_at(load(with_more(good) + added), "PT-100.expected") == "PT-100~lower"


def test_each_side_of_a_vote_is_filtered_by_itself(good: str, load: Load) -> None:
    text = with_more(good).replace(
        'title = "Voted"', 'title = "Voted"\nfilter = { mean_s = 4 }'
    )
    stand = load(text + VOTED)

    assert looked_at(stand, "PT-100.high") == "PT-100~upper~filter"
    assert hidden(stand, "PT-100~upper~filter") == Filtered(
        "PT-100~upper~filter", "PT-100~upper", mean_ns=4 * S
    )
    assert hidden(stand, "PT-100~upper") == Voted(
        "PT-100~upper", ("PT-101", "PT-102"), 1, 2 * S, Take.UPPER
    )
