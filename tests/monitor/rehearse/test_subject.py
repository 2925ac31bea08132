"""Tests for monitor.rehearse.subject.

Source: hand-worked here.
"""

from __future__ import annotations

import math
from datetime import date
from typing import Any

import pytest

from monitor.alarms.plan import Priority
from monitor.rehearse.choices import NO_SIEVE, Choice, Sieve
from monitor.rehearse.subject import Subject, SuggestError, subject_of
from monitor.stand.limit_values import STARTING_POINTS
from monitor.stand.load import load_stand
from monitor.stand.model import Stand
from tests.monitor.replay.conftest import KIND

S = 1_000_000_000
CALIBRATION = "calibration = {"


@pytest.fixture
def load(new_stand: Any) -> Any:
    """Give what loads a stand that differs in some texts."""

    def loaded(*changes: tuple[str, str]) -> Stand:
        path = new_stand(*changes)
        return load_stand(path, {"pretended": KIND}, today=date(2020, 5, 1))

    return loaded


def test_a_limit_on_a_value_is_found_with_what_it_looks_at(load: Any) -> None:
    stand = load()
    found = subject_of(stand, "PT-1.high")

    assert (found.tag, found.column) == ("PT-1", stand.plan.channels.column["PT-1"])
    assert (found.unit, found.span) == ("bar", 16.0)
    assert found.present == Choice(1.0, NO_SIEVE, 0)
    assert found.may_filter
    assert found.may_delay
    assert found.respond_ns == math.inf


def test_in_front_of_a_filter_the_channel_is_followed(load: Any) -> None:
    low = "\n[channels.PT-1.limits.low]\nsetpoint = 1\npriority = 'low'\nresponse = 'x'\n"
    stand = load(
        (CALIBRATION, "filter = { median_of = 5 }\n" + CALIBRATION),
        ('response = "Vent."\n', 'response = "Vent."\n' + low),
    )
    found = subject_of(stand, "PT-1.high")

    assert found.column == stand.plan.channels.column["PT-1"]
    assert found.sieve == Sieve(median_of=5)
    assert found.shares == ("PT-1.low",)


def test_the_type_of_a_signal_is_that_of_its_unit_unless_it_is_stated(load: Any) -> None:
    by_unit = subject_of(load(), "PT-1.high")
    stated = subject_of(
        load((CALIBRATION, 'signal_type = "level"\n' + CALIBRATION)), "PT-1.high"
    )

    assert by_unit.published == STARTING_POINTS["pressure"]
    assert stated.published == STARTING_POINTS["level"]


@pytest.mark.parametrize(
    ("unit", "name"), [("degC", "temperature"), ("L/min", "flow"), ("kg/h", "flow"), ("kg", "")]
)
def test_a_unit_tells_the_type_of_a_signal(load: Any, unit: str, name: str) -> None:
    limit = "\n[channels.TT-1.limits.high]\nsetpoint = 50\npriority = 'low'\nresponse = 'x'\n"
    title = 'title = "Temperature"\nunit = "degC"'
    stand = load(
        (title, f'title = "Temperature"\nunit = "{unit}"'),
        (
            "range = [-10, 200]\nstale_after_s = 2\n",
            "range = [-10, 200]\nstale_after_s = 2\n" + limit,
        ),
    )

    assert subject_of(stand, "TT-1.high").published == STARTING_POINTS.get(name)


def test_the_time_to_respond_is_less_the_sensors_own(load: Any) -> None:
    stand = load(
        (CALIBRATION, "time_constant_s = 4\n" + CALIBRATION),
        ("setpoint = 10", "setpoint = 10\ntime_to_respond_s = 30"),
    )

    assert subject_of(stand, "PT-1.high").respond_ns == 26 * S


def test_an_alarm_of_top_priority_may_not_be_delayed(load: Any) -> None:
    found = subject_of(load(('priority = "high"', 'priority = "top"')), "PT-1.high")

    assert found.alarm.priority is Priority.TOP
    assert not found.may_delay


def test_a_figure_made_of_a_channel_has_its_own_column_and_no_filter(load: Any) -> None:
    rate = (
        "\n[channels.PT-1.limits.rate_of_rise]\nsetpoint = 2\nper = 'min'\nwindow_s = 30\n"
        "priority = 'low'\nresponse = 'x'\n"
    )
    stand = load(('response = "Vent."\n', 'response = "Vent."\n' + rate))
    found = subject_of(stand, "PT-1.rate_of_rise")

    assert found.column == next(
        limit.column for limit in stand.plan.limits if limit.id == "PT-1.rate_of_rise"
    )
    assert found.unit == "bar/min"
    assert not found.may_filter
    assert found.published is None


def refused(stand: Stand, limit: str) -> str:
    """Give why nothing can be suggested."""
    with pytest.raises(SuggestError) as caught:
        subject_of(stand, limit)
    return str(caught.value)


def test_a_limit_that_is_not_there_is_refused_with_the_nearest_name(load: Any) -> None:
    assert refused(load(), "PT-1.hihg") == (
        "no limit 'PT-1.hihg' in the new stand; did you mean 'PT-1.high'?"
    )


@pytest.mark.parametrize("limit", ["PT-1.stale", "PT-1.fault"])
def test_a_limit_without_a_value_is_refused(load: Any, limit: str) -> None:
    assert refused(load(), limit) == f"{limit} compares no value that could be noisy"


def test_a_subject_is_what_the_limit_says(load: Any) -> None:
    stand = load(("deadband = 1", "deadband = 2\non_delay_s = 3"))
    found: Subject = subject_of(stand, "PT-1.high")

    assert found.present == Choice(2.0, NO_SIEVE, 3 * S)
