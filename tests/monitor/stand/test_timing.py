"""Tests for monitor.stand.timing.

Source: hand-worked here: a median of n samples follows a step in its middle sample.
"""

from __future__ import annotations

import tomllib
from datetime import date

import pytest

from monitor.limits.plan import Kind
from monitor.stand.draft import Draft, read_draft
from monitor.stand.locate import locate
from monitor.stand.report import Report
from monitor.stand.timing import (
    bridge_s,
    clock_of,
    delay_s,
    filter_of_s,
    filter_s,
    lag_s,
    period_s,
    sensor_s,
    source_of,
)

TEXT = """
[channels.A]
period_s = 0.5
time_constant_s = 2
filter = { median_of = 5 }
[channels.B]
time_constant_s = 30
stale_after_s = 7
filter = { median_of = 5 }
[channels.C]
formula = "a + b"
inputs = { b = "B", a = "A" }
clock = "A"
filter = { lag_s = 3 }
[channels.D]
formula = "c"
inputs = { c = "C" }
time_constant_s = 1
[channels.E]
formula = "b"
inputs = { b = "B" }
period_s = 2
[channels.CIRCLE]
formula = "x"
inputs = { x = "CIRCLE" }
[channels.LOST]
formula = "x"
inputs = { x = "NONE" }
[channels.MEAN]
filter = { mean_s = 8 }
[channels.VOTE]
vote = ["B", "A"]
[channels.EMPTY]
formula = "x"
"""


@pytest.fixture
def draft() -> Draft:
    found = Draft(Report("f", locate(TEXT)), {}, {}, date(2026, 1, 1), tomllib.loads(TEXT))
    read_draft(found)
    return found


def test_the_clock_is_the_first_input_unless_it_is_named(draft: Draft) -> None:
    clocks = {tag: clock_of(channel) for tag, channel in draft.channels.items()}

    assert (clocks["C"], clocks["D"], clocks["EMPTY"]) == ("A", "C", None)


def test_a_computed_channel_follows_the_rows_of_a_measured_one(draft: Draft) -> None:
    sources = {tag: source_of(draft, channel) for tag, channel in draft.channels.items()}

    assert {tag: found.tag if found else None for tag, found in sources.items()} == {
        "A": "A",
        "B": "B",
        "C": "A",
        "D": "A",
        "E": "B",
        "CIRCLE": None,
        "LOST": None,
        "MEAN": "MEAN",
        "VOTE": "B",
        "EMPTY": None,
    }


def test_the_period_is_that_of_the_rows(draft: Draft) -> None:
    periods = [period_s(draft, draft.channels[tag]) for tag in "ABCDE"]

    assert periods == [0.5, None, 0.5, 0.5, 2]


def test_a_filter_is_late_by_its_lag_or_by_half_its_window(draft: Draft) -> None:
    late = [filter_s(draft, draft.channels[tag]) for tag in "ABCD"]

    assert late == [1.0, None, 3, 0.0]


def test_a_computed_channel_is_as_slow_as_its_slowest_input(draft: Draft) -> None:
    slow = {tag: sensor_s(draft, channel) for tag, channel in draft.channels.items()}

    assert [slow[tag] for tag in "ABCDE"] == [2, 30, 30, 30, 30]
    assert (slow["CIRCLE"], slow["LOST"]) == (0, 0)


def test_bad_data_is_bridged_for_two_periods_or_until_stale(draft: Draft) -> None:
    bridges = {tag: bridge_s(draft, channel) for tag, channel in draft.channels.items()}

    assert [bridges[tag] for tag in "ABCDE"] == [1, 7, 1, 1, 4]
    assert bridges["LOST"] == 5


def test_a_moving_average_is_late_by_half_its_window(draft: Draft) -> None:
    assert filter_s(draft, draft.channels["MEAN"]) == 4


def test_a_vote_is_as_slow_as_its_slowest_sensor(draft: Draft) -> None:
    assert sensor_s(draft, draft.channels["VOTE"]) == 30


LIMITS = """
[channels.A]
period_s = 0.5
time_constant_s = 2
filter = { median_of = 5 }
[channels.A.limits.high]
priority = "low"
setpoint = 1
n_of_m = [3, 5]
[channels.A.limits.low]
priority = "low"
setpoint = 0
on_delay_s = 7
[channels.A.limits.rate_of_rise]
priority = "low"
setpoint = 1
per = "s"
window_s = 30
[channels.A.limits.stale]
[channels.A.limits.stuck]
priority = "low"
for_s = 60
[channels.B.limits.high]
priority = "low"
setpoint = 1
n_of_m = [3, 5]
"""


@pytest.fixture
def limits() -> Draft:
    found = Draft(Report("f", locate(LIMITS)), {}, {}, date(2026, 1, 1), tomllib.loads(LIMITS))
    read_draft(found)
    return found


@pytest.mark.parametrize(
    ("kind", "seconds"),
    [(Kind.HIGH, 3.0), (Kind.RATE_OF_RISE, 18.0), (Kind.STALE, 0.0), (Kind.STUCK, 2.0)],
)
def test_an_onset_is_late_by_sensor_filter_and_half_the_window(
    kind: Kind, seconds: float, limits: Draft
) -> None:
    channel = limits.channels["A"]

    assert lag_s(limits, channel, channel.limits[kind]) == seconds


@pytest.mark.parametrize(
    ("tag", "kind", "seconds"),
    [("A", Kind.HIGH, 1.0), ("A", Kind.LOW, 7.0), ("B", Kind.HIGH, None)],
)
def test_counted_samples_take_their_periods_where_these_are_known(
    tag: str, kind: Kind, seconds: float | None, limits: Draft
) -> None:
    channel = limits.channels[tag]

    assert delay_s(limits, channel, kind, channel.value_limits()[kind]) == seconds


def test_a_filter_delays_no_limit_that_looks_behind_it(limits: Draft) -> None:
    channel = limits.channels["A"]
    late = {
        kind: filter_of_s(limits, channel, table)
        for kind, table in channel.value_limits().items()
    }

    assert (late[Kind.HIGH], late[Kind.STUCK]) == (1.0, 0.0)
