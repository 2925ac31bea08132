"""Tests for monitor.rehearse.changes.

Source: hand-worked here.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.channels.plan import ChannelsPlan, Filtered, Linear, Measured
from monitor.limits.condition import parse_condition
from monitor.limits.plan import Kind, Limit
from monitor.pipeline import Plan
from monitor.rehearse.changes import changes

S = 1_000_000_000
LIMIT = Limit("A.high", 0, Kind.HIGH, setpoint=10.0, deadband=1.0)
ALARM = Alarm("A.high", "A", Priority.HIGH, "m")


def plan(limit: Limit = LIMIT, alarm: Alarm = ALARM, *filtered: Filtered) -> Plan:
    """Make a plan of one limit."""
    measured = Measured("A", "i", "a", Linear(), 9)
    return Plan(
        ChannelsPlan((measured,), filtered=filtered), (limit,), AlarmsPlan((alarm,), ("p",))
    )


@pytest.mark.parametrize(
    ("changed", "text"),
    [
        ({"setpoint": 9.5}, "setpoint 10 → 9.5"),
        ({"deadband": 0.0}, "deadband 1 → 0"),
        ({"on_delay_ns": 1_500_000_000}, "on delay 0 s → 1.5 s"),
        ({"n_of_m": (3, 5)}, "n of m none → 3 of 5"),
        ({"raises_on_bad": True}, "raises on bad no → yes"),
        ({"setpoint_in": {"hold": 3.0, "climb": 2.0}}, "setpoint in none → climb 2, hold 3"),
        ({"watched_in": frozenset({"hold", "climb"})}, "watched in none → climb, hold"),
        ({"is_arming": True}, "arming no → yes"),
        ({"condition": parse_condition("a or b")}, "condition None → 'a or b'"),
    ],
)
def test_what_changed_about_a_limit_is_written(changed: dict[str, Any], text: str) -> None:
    assert changes(plan(), plan(replace(LIMIT, **changed))) == {"A.high": (text,)}


def test_what_changed_about_an_alarm_is_written_and_its_texts_are_not() -> None:
    alarm = replace(ALARM, priority=Priority.TOP, suppressed_by=("B.low",), message="other")

    assert changes(plan(), plan(LIMIT, alarm)) == {
        "A.high": ("priority high → top", "suppressed by none → B.low")
    }


def test_another_filter_is_a_change_of_the_limit_behind_it() -> None:
    filtered = Filtered("A~filter", "A", median_of=5)

    found = changes(plan(), plan(replace(LIMIT, column=1), ALARM, filtered))

    assert found == {"A.high": ("filter none → median of 5",)}


def test_what_stands_elsewhere_in_the_plan_did_not_change() -> None:
    assert changes(plan(), plan(replace(LIMIT, column=7))) == {}


def test_a_limit_of_one_stand_only_did_not_change() -> None:
    other = plan(replace(LIMIT, id="B.high"), replace(ALARM, id="B.high"))

    assert changes(plan(), other) == {}
