"""Tests for monitor.channels.judge.

Source: Current-loop bands after NAMUR NE 43 (2003) by secondary texts (edges count as
failure) and from memory between; limit rule 11 in DEVELOPERS.md (saturation is a bound, not
bad). The rest hand-worked here.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.channels.draft import draft_of, held_at_start
from monitor.channels.judge import Judge
from monitor.channels.plan import (
    ChannelsPlan,
    CurrentLoop,
    Linear,
    Measured,
    PlatinumRtd,
    Polynomial,
    ThermocoupleK,
)
from monitor.samples import Quality
from tests.monitor.channels.made import NAN, START_NS, measured

Q = Quality
RISING, FALLING = CurrentLoop(0.0, 100.0), CurrentLoop(100.0, 0.0)
Verdict = tuple[float | None, int]


def judged(
    channel: Measured, raw: float, value: float, before: int = 0, *, rows: int = 1
) -> Verdict:
    """Judge one converted value in a column of *rows* rows; give what became of it."""
    plan = ChannelsPlan((channel,))
    draft = draft_of(held_at_start(plan, START_NS), 1, 1)
    draft.raw[0, 0], draft.grid.value[0, 0] = raw, value
    draft.grid.quality[0, 0], draft.grid.count[0] = before, rows
    Judge(plan.measured).judge_all(draft)
    left = float(draft.grid.value[0, 0])
    return None if np.isnan(left) else left, int(draft.grid.quality[0, 0])


@pytest.mark.parametrize(
    ("ma", "quality"),
    [
        (3.60, Q.CURRENT_FAULT),
        (3.61, Q.SATURATED_LOW),
        (3.79, Q.SATURATED_LOW),
        (3.80, Q.GOOD),
        (20.50, Q.GOOD),
        (20.51, Q.SATURATED_HIGH),
        (20.99, Q.SATURATED_HIGH),
        (21.00, Q.CURRENT_FAULT),
        (np.inf, Q.CURRENT_FAULT),
    ],
)
def test_a_loop_current_says_by_itself_what_it_is_worth(ma: float, quality: Quality) -> None:
    channel = measured("A", "gas.a", RISING, span=(0.0, 100.0))

    assert judged(channel, ma, 50.0)[1] == quality


@pytest.mark.parametrize(("ma", "quality"), [(3.7, Q.SATURATED_HIGH), (20.7, Q.SATURATED_LOW)])
def test_saturation_is_named_by_the_side_of_the_value(ma: float, quality: Quality) -> None:
    assert judged(measured("A", "gas.a", FALLING), ma, 1.0) == (1.0, quality)


def test_a_saturated_value_stays_and_a_failed_one_goes() -> None:
    channel = measured("A", "gas.a", RISING)

    assert judged(channel, 20.6, 103.75)[0] == 103.75
    assert judged(channel, 22.0, 112.5)[0] is None


def test_a_value_a_little_beyond_the_end_of_the_loop_is_no_broken_sensor() -> None:
    channel = measured("A", "gas.a", RISING, span=(0.0, 100.0))

    assert judged(channel, 3.9, -0.625) == (-0.625, Q.GOOD)
    assert judged(channel, 20.4, 102.5) == (102.5, Q.GOOD)


def test_a_range_that_ends_within_the_loops_own_counts() -> None:
    channel = measured("A", "gas.a", FALLING, span=(10.0, 60.0))

    assert judged(channel, 12.0, 50.0) == (50.0, Q.GOOD)
    assert judged(channel, 8.0, 75.0) == (None, Q.OUT_OF_RANGE)
    assert judged(channel, 19.0, 6.25) == (None, Q.OUT_OF_RANGE)


def test_saturation_is_a_bound_even_outside_a_narrow_range() -> None:
    channel = measured("A", "gas.a", RISING, span=(10.0, 60.0))

    assert judged(channel, 20.8, 105.0) == (105.0, Q.SATURATED_HIGH)


@pytest.mark.parametrize(
    ("value", "quality"),
    [(-0.1, Q.OUT_OF_RANGE), (0.0, Q.GOOD), (10.0, Q.GOOD), (10.1, Q.OUT_OF_RANGE)],
)
def test_a_value_outside_what_the_sensor_can_give_is_bad(
    value: float, quality: Quality
) -> None:
    channel = measured("A", "gas.a", span=(0.0, 10.0))

    assert judged(channel, value, value)[1] == quality


@pytest.mark.parametrize("value", [np.inf, -np.inf, 1.1e300, NAN])
@pytest.mark.parametrize("conversion", [Linear(), Polynomial((1.0, 2.0))])
def test_a_number_that_overflows_is_not_finite(
    value: float, conversion: Linear | Polynomial
) -> None:
    assert judged(measured("A", "gas.a", conversion), 1.0, value) == (None, Q.NOT_FINITE)


@pytest.mark.parametrize("conversion", [PlatinumRtd(), ThermocoupleK(20.0)])
def test_a_value_off_the_end_of_a_curve_is_out_of_range(
    conversion: PlatinumRtd | ThermocoupleK,
) -> None:
    assert judged(measured("A", "gas.a", conversion), 1.0, NAN) == (None, Q.OUT_OF_RANGE)


def test_what_is_bad_already_stays_as_it_is() -> None:
    channel = measured("A", "gas.a", RISING, span=(0.0, 100.0), is_overdue=True)

    assert judged(channel, NAN, NAN, Q.LINK_LOST) == (None, Q.LINK_LOST)


def test_an_overdue_calibration_makes_good_values_uncertain_and_leaves_others() -> None:
    overdue = measured("A", "gas.a", RISING, is_overdue=True)

    assert judged(overdue, 12.0, 50.0) == (50.0, Q.CALIBRATION_OVERDUE)
    assert judged(overdue, 3.7, -1.9) == (-1.9, Q.SATURATED_LOW)
    assert judged(overdue, 2.0, -12.5) == (None, Q.CURRENT_FAULT)


def test_a_column_without_rows_is_not_judged() -> None:
    assert judged(measured("A", "gas.a", RISING), 0.0, -25.0, rows=0) == (-25.0, Q.GOOD)


def test_a_thermocouple_that_waits_for_its_cold_junction_is_not_judged_yet() -> None:
    waiting = measured("A", "gas.a", ThermocoupleK(0.0, "T"), span=(0.0, 1.0))

    assert judged(waiting, 5.0, 5.0) == (5.0, Q.GOOD)


@pytest.mark.parametrize(
    ("conversion", "raw", "expected"),
    [
        (Linear(), [5.0, -1.0, 6.0], [Q.GOOD, Q.OUT_OF_RANGE, Q.GOOD]),
        (Linear(), [5.0, 101.0, 6.0], [Q.GOOD, Q.OUT_OF_RANGE, Q.GOOD]),
        (Linear(), [0.0, 101.0, 100.0], [Q.GOOD, Q.OUT_OF_RANGE, Q.GOOD]),
        (RISING, [5.0, 3.7, 6.0], [Q.GOOD, Q.SATURATED_LOW, Q.GOOD]),
        (RISING, [5.0, 20.7, 6.0], [Q.GOOD, Q.SATURATED_HIGH, Q.GOOD]),
    ],
)
def test_each_sample_of_a_column_is_judged_by_itself(
    conversion: Linear | CurrentLoop, raw: list[float], expected: list[Quality]
) -> None:
    plan = ChannelsPlan((measured("A", "gas.a", conversion, span=(0.0, 100.0)),))
    draft = draft_of(held_at_start(plan, START_NS), 3, 1)
    draft.raw[:, 0] = draft.grid.value[:, 0] = raw
    draft.grid.quality[:, 0], draft.grid.count[0] = 0, 3

    Judge(plan.measured).judge_all(draft)

    assert draft.grid.quality[:, 0].tolist() == expected


def test_only_the_bad_samples_of_a_column_are_cleared() -> None:
    plan = ChannelsPlan((measured("A", "gas.a", span=(0.0, 10.0)),))
    draft = draft_of(held_at_start(plan, START_NS), 3, 1)
    draft.raw[:, 0] = draft.grid.value[:, 0] = 1.0, 99.0, 3.0
    draft.grid.quality[:, 0], draft.grid.count[0] = 0, 3

    Judge(plan.measured).judge_all(draft)

    np.testing.assert_array_equal(draft.grid.value[:, 0], [1.0, NAN, 3.0])
    assert draft.grid.quality[:, 0].tolist() == [Q.GOOD, Q.OUT_OF_RANGE, Q.GOOD]
