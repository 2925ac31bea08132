"""Tests for monitor.stand.check_setpoints.

Source: hand-worked here on the file of places_stand: a mode's setpoint goes before a phase's.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.errors import Problem
from tests.monitor.stand.places_stand import PLACES, one_problem

Problems = Callable[..., list[Problem]]

CLIMB = "setpoint_in = { climb = 25 }\n"
LOOP = "setpoint_in = { loop_only = 50 }\n"
HIGH = 'deadband = 1\npriority = "medium"\n'


def test_nothing_is_said_about_the_good_file(problems: Problems) -> None:
    assert problems(PLACES) == []


def test_a_low_of_a_phase_above_a_high_of_a_mode_is_told(problems: Problems) -> None:
    line, problem = one_problem(
        problems, CLIMB, "setpoint_in = { climb = 55 }\n", "setpoint_in = { loop_only"
    )

    assert (problem.line, problem.key, problem.text) == (
        line,
        "channels.PT-301.limits.high.setpoint_in.loop_only",
        "high 50 is not above low 55 in 'climb' with 'loop_only': a mode's setpoint goes "
        "before "
        "a phase's",
    )


def test_equal_setpoints_are_told(problems: Problems) -> None:
    text = PLACES.replace(CLIMB, "setpoint_in = { climb = 50 }\n")

    assert [problem.text[:28] for problem in problems(text)] == ["high 50 is not above low 50 "]


def test_a_high_that_does_not_move_is_told_at_its_setpoint(problems: Problems) -> None:
    text = PLACES.replace(LOOP, "").replace(
        CLIMB, "setpoint_in = { climb = 10, normal = 61 }\n"
    )

    # The mode alone crosses too, and is told there.
    assert [problem.key for problem in problems(text)] == [
        "channels.PT-301.limits.low.setpoint_in.normal"
    ]


def test_a_mode_that_moves_both_is_in_order_in_every_phase(problems: Problems) -> None:
    text = PLACES.replace(CLIMB, "setpoint_in = { climb = 55, loop_only = 45 }\n")

    assert problems(text) == []


@pytest.mark.parametrize("key", ["watched_in", "suppressed_in"])
def test_only_where_both_are_watched_can_they_cross(key: str, problems: Problems) -> None:
    text = PLACES.replace(CLIMB, "setpoint_in = { climb = 55 }\n")
    text = text.replace(HIGH, f'{HIGH}{key} = ["hold"]\n').replace(
        'suppressed_in = ["ground"]\n', ""
    )

    assert bool(problems(text)) == (key == "suppressed_in")


def test_what_crosses_in_general_is_told_once(problems: Problems) -> None:
    text = PLACES.replace("setpoint = 60\n", "setpoint = 30\n")

    assert [problem.text for problem in problems(text)] == ["high 30 is not above low 30"]


def test_low_low_and_low_are_looked_at_too(problems: Problems) -> None:
    text = PLACES.replace(
        "[channels.PT-301.limits.high]",
        "[channels.PT-301.limits.low_low]\nsetpoint = 20\nsetpoint_in = { normal = 26 }\n"
        'priority = "top"\nresponse = "Shut."\n[channels.PT-301.limits.high]',
    )

    assert [(problem.key, problem.text) for problem in problems(text)] == [
        (
            "channels.PT-301.limits.low.setpoint_in.climb",
            "low 25 is not above low_low 26 in 'climb' with 'normal': a mode's setpoint goes "
            "before a phase's",
        )
    ]


def deadband(high: float, low: float = 1) -> str:
    """Give the file with other deadbands."""
    old = "deadband = 1\non_delay_s = 3\n"
    text = PLACES.replace(HIGH, HIGH.replace("= 1", f"= {high}"))
    return text.replace(old, old.replace("= 1", f"= {low}"))


@pytest.mark.parametrize(("high", "is_told"), [(19.9, False), (20, True), (29, True)])
def test_a_deadband_of_a_high_that_reaches_the_low_of_a_mode_is_told(
    high: float, is_told: bool, problems: Problems
) -> None:
    said = [(problem.key, problem.text) for problem in problems(deadband(high))]

    told = (
        "channels.PT-301.limits.high.deadband",
        f"{high:g} reaches from 50 to 30 in 'ground' with 'loop_only': it would never clear "
        "there",
    )
    assert said == ([told] if is_told else [])


def test_a_deadband_of_a_low_that_reaches_the_high_of_a_mode_is_told(
    problems: Problems,
) -> None:
    said = [(problem.key, problem.text) for problem in problems(deadband(1, 20))]

    assert said == [
        (
            "channels.PT-301.limits.low.deadband",
            "20 reaches from 30 to 50 in 'ground' with 'loop_only': it would never clear there",
        )
    ]


def test_a_deadband_that_is_too_wide_in_general_is_told_in_general_too(
    problems: Problems,
) -> None:
    keys = {problem.key for problem in problems(deadband(30))}

    assert keys == {"channels.PT-301.limits.high.deadband"}


def test_where_the_other_side_is_not_watched_the_span_is_the_end(problems: Problems) -> None:
    text = deadband(25).replace(CLIMB, f'{CLIMB}watched_in = ["climb", "normal"]\n')

    assert [problem.text for problem in problems(text)] == [
        "25 reaches from 50 to 25 in 'climb' with 'loop_only': it would never clear there"
    ]


def test_a_deadband_that_reaches_the_end_of_the_span_is_told(problems: Problems) -> None:
    start = PLACES.index("[channels.PT-301.limits.low]")
    end = PLACES.index("[channels.PT-301.limits.high]")
    text = deadband(55).replace(PLACES[start:end], "")
    text = text.replace('low = "PT-301.low"', 'low = "PT-301.high"')

    assert [problem.text for problem in problems(text)] == [
        "55 reaches from 50 to 0 in 'ground' with 'loop_only': it would never clear there"
    ]


def test_a_part_of_the_span_is_a_deadband_too(problems: Problems) -> None:
    text = PLACES.replace(HIGH, HIGH.replace("= 1", '= "19 %"'))

    assert [problem.text[:20] for problem in problems(text)] == ["20.9 reaches from 50"]


def test_a_deadband_with_a_mistake_is_told_alone(problems: Problems) -> None:
    text = PLACES.replace(HIGH, HIGH.replace("= 1", '= "wide"'))

    assert [problem.key for problem in problems(text)] == [
        "channels.PT-301.limits.high.deadband"
    ]


def test_without_a_span_no_deadband_is_judged(problems: Problems) -> None:
    text = deadband(25).replace("span = [0, 110]\nperiod_s = 1\nfilter", "period_s = 1\nfilter")

    assert [problem.key for problem in problems(text)] == ["channels.PT-301.span"]
