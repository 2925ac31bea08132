"""Tests for monitor.stand.check_limits.

Source: hand-worked here; the good file is that of conftest. ANSI/ISA-18.2-2016
wants the higher priority to be the rarer one.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.errors import Problem

HIGH = "[channels.PT-101.limits.high]\nsetpoint = 150\n"
LOW = "[channels.PT-101.limits.low]\nsetpoint = 20\n"
LEAK = "setpoint_in = { leak = 160 }\n"
RESPOND = "time_to_respond_s = 60\n"


def limit(kind: str, setpoint: float, extra: str = "", tag: str = "PT-101") -> str:
    """Write another limit."""
    return (
        f"[channels.{tag}.limits.{kind}]\nsetpoint = {setpoint}\n"
        f'priority = "high"\nresponse = "Look."\n{extra}'
    )


@pytest.mark.parametrize(
    ("old", "new", "at", "key", "text"),
    [
        (
            "limits.high]",
            "limits.hgih]",
            "[channels.PT-101.limits.hgih]",
            "hgih",
            "unknown key; did you mean 'high'?",
        ),
        (
            "limits.high]",
            "limits.zzz]",
            "[channels.PT-101.limits.zzz]",
            "zzz",
            "unknown key; known are high_high, high, low, low_low, rate_of_rise, ",
        ),
        (
            HIGH,
            HIGH.replace("150", "201"),
            "setpoint = 201",
            "high.setpoint",
            "201 is outside the span from 0 to 200",
        ),
        (
            HIGH,
            HIGH.replace("150", '"x"'),
            'setpoint = "x"',
            "high.setpoint",
            "must be a number, is the text 'x'",
        ),
        (
            HIGH,
            HIGH.replace("150", "inf"),
            "setpoint = inf",
            "high.setpoint",
            "must be a finite number, is inf",
        ),
        (
            HIGH,
            HIGH.replace("setpoint = 150\n", ""),
            "[channels.PT-101.limits.high]",
            "high.setpoint",
            "missing; write setpoint = 0.0",
        ),
        (
            LEAK,
            "setpoint_in = { leak = 250 }\n",
            None,
            "high.setpoint_in.leak",
            "250 is outside the span from 0 to 200",
        ),
        (
            LEAK,
            "setpoint_in = { leek = 160 }\n",
            None,
            "high.setpoint_in.leek",
            "unknown phase 'leek'; did you mean 'leak'?; phases are fill, leak",
        ),
        (
            LEAK,
            "setpoint_in = { leak = 10 }\n",
            None,
            "high.setpoint_in.leak",
            "high 10 is not above low 20 in phase 'leak'",
        ),
        (
            'suppressed_in = ["fill"]\n',
            'suppressed_in = ["fil"]\n',
            None,
            "high.suppressed_in[1]",
            "unknown phase 'fil'; did you mean 'fill'?",
        ),
        (
            LOW,
            LOW.replace("20", "155"),
            "setpoint = 150",
            "high.setpoint",
            "high 150 is not above low 155",
        ),
        (
            LOW,
            LOW.replace("20", "150"),
            "setpoint = 150",
            "high.setpoint",
            "high 150 is not above low 150",
        ),
        (
            "deadband = 2\n",
            "deadband = -1\n",
            None,
            "high.deadband",
            "must be at least 0, is -1",
        ),
        (
            "deadband = 2\n",
            "deadband = 130\n",
            None,
            "high.deadband",
            "130 reaches from 150 to 20: it would never clear",
        ),
        (
            LOW,
            LOW + "deadband = 130\n",
            "deadband = 130",
            "low.deadband",
            "130 reaches from 20 to 150: it would never clear",
        ),
        (
            "on_delay_s = 5\n",
            "on_delay_s = -5\n",
            None,
            "high.on_delay_s",
            "must be at least 0, is -5",
        ),
        (
            "off_delay_s = 4\n",
            "off_delay_s = 1e7\n",
            None,
            "high.off_delay_s",
            "must be at most 864000, is 10000000.0",
        ),
        (
            'priority = "top"\n',
            'priority = "tpo"\n',
            None,
            "high.priority",
            "unknown 'tpo'; did you mean 'top'?; known are top, high, medium, low, journal",
        ),
        (
            'priority = "top"\n',
            "",
            "[channels.PT-101.limits.high]",
            "high.priority",
            'missing; write priority = "top" or "high" or "medium" or "low" or "journal"',
        ),
        (
            "latch = true\n",
            'latch = "yes"\n',
            None,
            "high.latch",
            "must be true or false, is the",
        ),
        (
            RESPOND,
            'on_bad = "ignore"\n',
            None,
            "high.on_bad",
            "unknown 'ignore'; known are hold, raise",
        ),
        (RESPOND, "bridge_s = -1\n", None, "high.bridge_s", "must be at least 0, is -1"),
        (
            RESPOND,
            "time_to_respond_s = 0\n",
            None,
            "high.time_to_respond_s",
            "must be more than 0",
        ),
    ],
)
def test_a_mistake_in_a_limit_is_told(
    old: str,
    new: str,
    at: str | None,
    key: str,
    text: str,
    mistake: Callable[..., tuple[int, Problem]],
) -> None:
    line, problem = mistake(old, new, at)

    assert (problem.line, problem.key) == (line, f"channels.PT-101.limits.{key}")
    assert problem.text.startswith(text)
    assert not problem.is_warning


def said_of(
    added: str, good: str, problems: Callable[..., list[Problem]]
) -> list[tuple[str, str, bool]]:
    """Add to the good file; give what is said."""
    return [(p.key, p.text, p.is_warning) for p in problems(good + added)]


@pytest.mark.parametrize(
    ("added", "key", "text"),
    [
        (limit("high_high", 150), "high_high.setpoint", "high_high 150 is not above high 150"),
        (limit("low_low", 20), "low.setpoint", "low 20 is not above low_low 20"),
        (
            limit("high_high", 155),
            "high.setpoint_in.leak",
            "high_high 155 is not above high 160 in phase 'leak'",
        ),
        (
            limit("high_high", 180, "on_delay_s = 6\n"),
            "high_high.on_delay_s",
            "6 s is longer than the 5 s of high; write at most 5",
        ),
        (
            limit("low_low", 10, "on_delay_s = 1\n"),
            "low_low.on_delay_s",
            "1 s is longer than the 0 s of low; write at most 0",
        ),
        (
            limit("high_high", 180, "deadband = 160\n"),
            "high_high.deadband",
            "160 reaches from 180 to 20: it would never clear",
        ),
    ],
)
def test_limits_that_contradict_each_other_are_told(
    added: str,
    key: str,
    text: str,
    good: str,
    problems: Callable[..., list[Problem]],
) -> None:
    (said,) = said_of(added, good, problems)

    assert (said[0].removeprefix("channels.PT-101.limits."), said[1]) == (key, text)


def test_setpoints_that_a_phase_moves_together_are_taken(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    added = limit("high_high", 155, "setpoint_in = { leak = 170 }\n")

    assert said_of(added, good, problems) == []


def test_a_delay_as_long_as_that_of_the_milder_limit_is_taken(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    assert said_of(limit("high_high", 180, "on_delay_s = 5\n"), good, problems) == []


@pytest.mark.parametrize(("kind", "setpoint"), [("high", 250), ("low", 0)])
def test_a_setpoint_at_the_end_of_the_range_can_never_come_true(
    kind: str, setpoint: float, good: str, problems: Callable[..., list[Problem]]
) -> None:
    text = good.replace("span = [0, 200]\ndecimals", "decimals")
    start = text.index(f"limits.{kind}]")
    value = {"high": "150", "low": "20"}[kind]
    text = text[:start] + text[start:].replace(
        f"setpoint = {value}", f"setpoint = {setpoint}", 1
    )

    (said,) = problems(text)

    assert said.key == f"channels.PT-101.limits.{kind}.setpoint"
    assert said.text.startswith(
        f"{setpoint} is the end of the range: beyond it the value is bad"
    )


def test_a_deadband_across_the_span_is_told_where_there_is_no_other_limit(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    (said,) = said_of(limit("high", 50, "deadband = 50\n", "TT-101"), good, problems)

    assert said[1] == "50 reaches from 50 to 0: it would never clear"


def test_the_alarm_of_a_sensor_can_be_adjusted_and_not_more(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    assert said_of('[channels.TT-101.limits.fault]\npriority = "low"\n', good, problems) == []

    (said,) = said_of("[channels.TT-101.limits.stale]\nsetpoint = 3\n", good, problems)

    assert said[0] == "channels.TT-101.limits.stale.setpoint"
    assert said[1].startswith("unknown key; known are ")


def test_a_computed_channel_cannot_be_stale_by_itself(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    (said,) = said_of("[channels.PDT-101.limits.stale]\n", good, problems)

    assert said == (
        "channels.PDT-101.limits.stale",
        "belongs to a measured channel only; its inputs have it",
        False,
    )
    assert said_of("[channels.PDT-101.limits.fault]\n", good, problems) == []


def test_an_alarm_later_than_the_time_to_respond_is_told(
    mistake: Callable[..., tuple[int, Problem]],
) -> None:
    line, problem = mistake(RESPOND, "time_to_respond_s = 6\n")

    assert (problem.line, problem.is_warning) == (line, True)
    assert problem.text == "6 s is shorter than sensor 0.1 + filter 1 + delay 5 = 6.1 s"


def test_an_alarm_just_in_time_is_no_matter(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    assert problems(good.replace(RESPOND, "time_to_respond_s = 6.1\n")) == []


def test_a_median_without_a_period_cannot_be_judged(
    mistake: Callable[..., tuple[int, Problem]],
) -> None:
    _, problem = mistake("period_s = 0.5\n", "", RESPOND.strip())

    assert problem.is_warning
    assert problem.text == "cannot be judged: write period_s, for the median's delay"


def test_a_wrong_phase_is_not_told_while_phases_are_wrong_themselves(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    said = problems(good.replace('[[phases]]\nname = "leak"', '[[phases]]\nnam = "leak"'))

    assert [problem.key for problem in said] == ["phases[2].nam"]


def test_the_phases_of_a_link_alarm_are_checked_where_there_is_one(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    table = '[instruments.panel.alarm]\npriority = "high"\non_delay_s = 3\n'

    assert problems(good.replace(table, "")) == []

    (said,) = problems(good.replace(table, table + 'suppressed_in = ["rest"]\n'))

    assert said.key == "instruments.panel.alarm.suppressed_in[1]"
    assert said.text == "unknown phase 'rest'; phases are fill, leak"


def test_the_window_of_a_rate_counts_for_the_time_to_respond(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    rate = 'per = "min"\nwindow_s = 30\ntime_to_respond_s = 31\n'

    (said,) = said_of(limit("rate_of_rise", 2, rate), good, problems)

    assert said[1] == (
        "31 s is shorter than sensor 0.1 + filter 1 + delay 0 + window 30 = 31.1 s"
    )
