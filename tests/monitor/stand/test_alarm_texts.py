"""Tests for monitor.stand.alarm_texts.

Source: hand-worked here; the good file is that of conftest.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.stand.model import Stand
from tests.monitor.stand.kinds_stand import limit, with_more

FORECAST = "within_s = 300; window_s = 60"
WATCHED = 'watched_in = ["leak"]'
RATE = 'setpoint = 2; per = "min"; window_s = 30; setpoint_in = { leak = 3 }'


@pytest.mark.parametrize(
    ("tag", "kind", "keys", "message", "figure"),
    [
        ("PT-101", "high_high", "setpoint = 190", "Vessel pressure very high", "190 kPa"),
        ("ZS-101", "high", "setpoint = 0.5", "Valve high", "0.5"),
        (
            "PT-101",
            "rate_of_rise",
            RATE,
            "Vessel pressure rises too fast",
            "2 kPa/min; leak 3",
        ),
        (
            "PT-101",
            "rate_of_fall",
            RATE,
            "Vessel pressure falls too fast",
            "2 kPa/min; leak 3",
        ),
        (
            "TT-101",
            "deviation",
            "from = 38; setpoint = 0.5",
            "Vessel temperature is off 38 °C",
            "0.5 K off 38 °C",
        ),
        (
            "PT-101",
            "deviation",
            'from = "PT-102"; setpoint = 0.5',
            "Vessel pressure is off PT-102",
            "0.5 kPa off PT-102",
        ),
        (
            "PT-101",
            "deviation",
            f"profile = [[0, 101], [600, 38]]; setpoint = 0.5; {WATCHED}",
            "Vessel pressure is off its profile",
            "0.5 kPa off its profile",
        ),
        (
            "PT-100",
            "disagreement",
            "setpoint = 5",
            "Voted: the sensors disagree",
            "5 kPa apart",
        ),
        (
            "PT-101",
            "budget",
            "plan = [[0, 0], [60, 20]]; setpoint = 5",
            "Vessel pressure: more than planned by now",
            "5 kPa over plan",
        ),
        (
            "ZS-101",
            "state",
            "is = 1; n_of_m = [2, 3]",
            "Valve is 1, which it must not be",
            "is 1, 2 of 3 samples",
        ),
        (
            "PT-101",
            "time_to_limit",
            f'reaches = "low"; {FORECAST}',
            "Vessel pressure on its way to low",
            "300 s to low",
        ),
        (
            "PT-101",
            "time_to_limit",
            f'reaches = 9; toward = "down"; {FORECAST}',
            "Vessel pressure on its way to 9 kPa",
            "300 s to 9 kPa",
        ),
        (
            "PT-101",
            "stuck",
            "for_s = 60; band = 0.1",
            "Vessel pressure has not changed for 60 s",
            "within 0.1 kPa",
        ),
        (
            "ZS-101",
            "stuck",
            "for_s = 60",
            "Valve has not changed for 60 s",
            "unchanged",
        ),
        ("ZS-101", "late", "after_s = 60", "Valve late: not begun for 60 s", "not begun"),
        ("ZS-101", "missed", "after_s = 90", "Valve missed: not begun for 90 s", "not begun"),
        ("ZS-101", "overlong", "longest_s = 45", "Valve on for longer than 45 s", "on"),
        (
            "ZS-101",
            "expected",
            f"above = 0.5; within_s = 9; {WATCHED}",
            "Valve expected and absent",
            "above 0.5",
        ),
        (
            "TT-101",
            "expected",
            f"below = 20; within_s = 9; {WATCHED}",
            "Vessel temperature expected and absent",
            "below 20 °C",
        ),
    ],
)
def test_each_kind_says_what_is_wrong_and_what_it_compares(
    tag: str,
    kind: str,
    keys: str,
    message: str,
    figure: str,
    good: str,
    load: Callable[..., Stand],
) -> None:
    stand = load(with_more(good) + limit(tag, kind, keys))
    name = f"{tag}.{kind}"

    assert [one.message for one in stand.plan.alarms.alarms if one.id == name] == [message]
    assert [one.figure for one in stand.limit_times if one.id == name] == [figure]


def test_a_written_message_counts(good: str, load: Callable[..., Stand]) -> None:
    added = limit("PT-101", "stuck", 'for_s = 60; message = "Frozen"')
    stand = load(good + added)

    assert [a.message for a in stand.plan.alarms.alarms if a.id == "PT-101.stuck"] == ["Frozen"]
