"""Tests for monitor.stand.check_kinds.

Source: hand-worked here; the good file is that of conftest.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.errors import Problem
from tests.monitor.stand.kinds_stand import limit, with_more

RATE = 'setpoint = 2; per = "min"; window_s = 30'
FORECAST = "within_s = 300; window_s = 60"


def said_of(
    added: str, good: str, problems: Callable[..., list[Problem]]
) -> list[tuple[str, str, bool]]:
    """Add to the good file; give what is said."""
    said = problems(with_more(good) + added)
    return [(p.key.removeprefix("channels."), p.text, p.is_warning) for p in said]


@pytest.mark.parametrize(
    ("tag", "kind", "keys"),
    [
        ("PT-101", "rate_of_rise", RATE),
        ("PT-101", "rate_of_fall", RATE + "; deadband = 0.5; setpoint_in = { leak = 1 }"),
        ("PT-101", "deviation", "from = 38; setpoint = 0.5; deadband = 0.1"),
        ("PT-101", "deviation", 'from = "PT-103"; setpoint = 2; largest_skew_s = 1'),
        (
            "PT-101",
            "deviation",
            'profile = [[0, 101.3], [600, 38]]; setpoint = 0.5; watched_in = ["leak"]',
        ),
        ("PT-100", "disagreement", 'setpoint = 5; deadband = "2 %"'),
        ("ZS-101", "state", "is = 1"),
        ("PT-101", "time_to_limit", 'reaches = "high"; ' + FORECAST),
        ("PT-101", "time_to_limit", 'reaches = 10; toward = "down"; ' + FORECAST),
        ("PT-101", "budget", "plan = [[0, 0], [3600, 20]]; setpoint = 0"),
        ("PT-101", "stuck", "for_s = 60; band = 0.1"),
        ("ZS-101", "late", "after_s = 1900"),
        ("ZS-101", "missed", "after_s = 2400"),
        ("ZS-101", "overlong", "longest_s = 45"),
        ("ZS-101", "expected", 'above = 0.5; within_s = 60; watched_in = ["leak"]'),
        ("TT-101", "expected", 'below = 20; within_s = 60; watched_in = ["leak"]'),
    ],
)
def test_every_kind_is_taken_as_it_is_meant(
    tag: str, kind: str, keys: str, good: str, problems: Callable[..., list[Problem]]
) -> None:
    errors = [x for x in said_of(limit(tag, kind, keys), good, problems) if not x[2]]

    assert errors == []


@pytest.mark.parametrize(
    ("tag", "kind", "keys", "key", "text"),
    [
        (
            "PT-101",
            "rate_of_fall",
            RATE.replace("= 2", "= -2"),
            "setpoint",
            "-2 is not above 0; write how much, without a sign",
        ),
        (
            "PT-101",
            "rate_of_rise",
            RATE + "; setpoint_in = { leak = 0 }",
            "setpoint_in.leak",
            "0 is not above 0; write how much, without a sign",
        ),
        (
            "PT-101",
            "rate_of_rise",
            RATE + '; deadband = "2 %"',
            "deadband",
            "of a rate is a number in kPa/min: the span is none of a rate",
        ),
        (
            "PT-101",
            "rate_of_rise",
            RATE.replace("min", "day"),
            "per",
            "unknown 'day'; known are h, min, s",
        ),
        (
            "TT-101",
            "high",
            'setpoint = 30; deadband = "2"',
            "deadband",
            "'2' is neither a number in °C nor a part of the span as \"2 %\"",
        ),
        (
            "TT-101",
            "high",
            "setpoint = 30; deadband = true",
            "deadband",
            "must be a number or a text in quotes, is true",
        ),
        (
            "PT-101",
            "deviation",
            "from = 38; setpoint = 0.5; deadband = 0.5",
            "deadband",
            "0.5 is not below the setpoint 0.5: it would never clear",
        ),
        (
            "PT-101",
            "deviation",
            "from = 38; setpoint = 2; setpoint_in = { leak = 1 }; deadband = 1.5",
            "deadband",
            "1.5 is not below the setpoint 1: it would never clear",
        ),
        (
            "PT-101",
            "deviation",
            "setpoint = 1",
            "",
            'write either from = a number or "TAG", or profile = [[s, value]]',
        ),
        (
            "PT-101",
            "deviation",
            'setpoint = 1; from = 3; profile = [[0, 1], [1, 2]]; watched_in = ["leak"]',
            "",
            'write either from = a number or "TAG", or profile = [[s, value]]',
        ),
        (
            "PT-101",
            "deviation",
            "setpoint = 1; from = 201",
            "from",
            "201 is outside the span from 0 to 200",
        ),
        (
            "PT-101",
            "deviation",
            'setpoint = 1; from = "PT-101"',
            "from",
            "PT-101 is this channel itself",
        ),
        (
            "PT-101",
            "deviation",
            'setpoint = 1; from = "PT-109"',
            "from",
            "unknown channel 'PT-109'; did you mean 'PT-103'?",
        ),
        (
            "PT-101",
            "deviation",
            'setpoint = 1; from = "TT-101"',
            "from",
            "TT-101 is in '°C', which measures something else than 'kPa'",
        ),
        (
            "PT-101",
            "deviation",
            "setpoint = 1; from = 3; largest_skew_s = 2",
            "largest_skew_s",
            "belongs to a deviation from another channel",
        ),
        (
            "PT-101",
            "deviation",
            "setpoint = 1; profile = [[0, 1], [1, 2]]",
            "watched_in",
            "missing; a profile counts the seconds of a phase: name the phases",
        ),
        (
            "PT-101",
            "deviation",
            'setpoint = 1; profile = [[0, 1]]; watched_in = ["leak"]',
            "profile",
            "needs two points at least: [[0, 101.3], [600, 38]]",
        ),
        (
            "PT-101",
            "deviation",
            'setpoint = 1; profile = [[-1, 1], [1, 2]]; watched_in = ["leak"]',
            "profile[1]",
            "-1 s is before the beginning",
        ),
        (
            "PT-101",
            "budget",
            "setpoint = 1; plan = [[0, 0], [60, 1], [60, 2]]",
            "plan[3]",
            "60 s is not after 60 s, the point before it",
        ),
        (
            "PT-101",
            "budget",
            "setpoint = 1; plan = [[0, 0], [1e-10, 1]]",
            "plan[2]",
            "1e-10 s is not after 0 s, the point before it",
        ),
        (
            "PT-101",
            "budget",
            "setpoint = 1; plan = [[0, 0], [1e308, 1]]",
            "plan[2]",
            "1e+308 s is more than 864000",
        ),
        (
            "PT-101",
            "budget",
            "setpoint = -1; plan = [[0, 0], [60, 1]]",
            "setpoint",
            "-1 is below 0; write how much beyond the plan",
        ),
        (
            "PT-101",
            "disagreement",
            "setpoint = 1",
            "",
            "belongs to a voted channel only; for two channels write a deviation from one",
        ),
        ("ZS-101", "state", "is = 2", "is", "2 is outside the span from 0 to 1"),
        (
            "PT-101",
            "time_to_limit",
            "reaches = 10; " + FORECAST,
            "toward",
            'missing; write from which side it is reached: "up" or "down"',
        ),
        (
            "PT-101",
            "time_to_limit",
            'reaches = 201; toward = "up"; ' + FORECAST,
            "reaches",
            "201 is outside the span from 0 to 200",
        ),
        (
            "PT-101",
            "time_to_limit",
            'reaches = "low"; toward = "down"; ' + FORECAST,
            "toward",
            "follows from 'low'; take it out",
        ),
        (
            "PT-101",
            "time_to_limit",
            'reaches = "low_low"; ' + FORECAST,
            "reaches",
            "PT-101 has no limit 'low_low' on its value; did you mean 'low'?",
        ),
        (
            "PT-102",
            "time_to_limit",
            'reaches = "high"; ' + FORECAST,
            "reaches",
            "PT-102 has no limit 'high' on its value; there are none",
        ),
        (
            "PT-101",
            "time_to_limit",
            'reaches = "low"; confidence = 1; ' + FORECAST,
            "confidence",
            "must be less than 1, is 1",
        ),
        (
            "PT-101",
            "stuck",
            "for_s = 0.5",
            "for_s",
            "0.5 s is not longer than the 0.5 s between two readings; write at least 1",
        ),
        (
            "ZS-101",
            "expected",
            'within_s = 60; watched_in = ["leak"]',
            "",
            "write either above or below, with a number",
        ),
        (
            "ZS-101",
            "expected",
            'above = 0.5; below = 0.5; within_s = 60; watched_in = ["leak"]',
            "",
            "write either above or below, with a number",
        ),
        (
            "ZS-101",
            "expected",
            'above = 1.5; within_s = 60; watched_in = ["leak"]',
            "above",
            "1.5 is outside the span from 0 to 1",
        ),
        (
            "ZS-101",
            "expected",
            "above = 0.5; within_s = 60",
            "watched_in",
            "missing; name the phases or modes in which it has to come",
        ),
        (
            "ZS-101",
            "late",
            "after_s = 60; on_delay_s = 3",
            "on_delay_s",
            "unknown key; did you mean 'off_delay_s'?",
        ),
    ],
)
def test_a_mistake_in_a_kind_is_told(
    tag: str,
    kind: str,
    keys: str,
    key: str,
    text: str,
    good: str,
    problems: Callable[..., list[Problem]],
) -> None:
    said = said_of(limit(tag, kind, keys), good, problems)

    assert (f"{tag}.limits.{kind}{'.' if key else ''}{key}", text, False) in said
    assert sum(not is_warning for *_, is_warning in said) == 1


def test_a_forecast_for_a_setpoint_that_moves_is_told(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    added = limit("PT-101", "time_to_limit", 'reaches = "high"; ' + FORECAST)

    (said,) = said_of(added, good, problems)

    assert said == (
        "PT-101.limits.time_to_limit.reaches",
        "high has another setpoint in leak; the forecast is for 150 everywhere",
        True,
    )


def test_a_forecast_for_a_limit_that_is_wrong_itself_is_not_told_twice(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    text = good.replace("setpoint = 20\n", 'setpoint = "20"\n')
    added = limit("PT-101", "time_to_limit", 'reaches = "low"; ' + FORECAST)

    assert [key for key, *_ in said_of(added, text, problems)] == ["PT-101.limits.low.setpoint"]


def test_a_phase_that_a_profile_misspells_is_not_told_as_missing(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    keys = 'setpoint = 1; profile = [[0, 1], [1, 2]]; watched_in = ["leek"]'
    said = said_of(limit("PT-101", "deviation", keys), good, problems)

    assert [text for key, text, _ in said if "watched_in" in key] == [
        "unknown phase 'leek'; did you mean 'leak'?; phases are fill, leak"
    ]
