"""Tests for monitor.stand.check_alarms.

Source: hand-worked here; the good file is that of conftest. ANSI/ISA-18.2-2016
wants the higher priority to be the rarer one.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.errors import Problem


def limit(kind: str, setpoint: float, extra: str = "", tag: str = "PT-101") -> str:
    """Write another limit."""
    return (
        f"[channels.{tag}.limits.{kind}]\nsetpoint = {setpoint}\n"
        f'priority = "high"\nresponse = "Look."\n{extra}'
    )


def said_of(
    added: str, good: str, problems: Callable[..., list[Problem]]
) -> list[tuple[str, str, bool]]:
    """Add to the good file; give what is said."""
    return [(p.key, p.text, p.is_warning) for p in problems(good + added)]


def test_an_alarm_without_a_response_is_told(
    mistake: Callable[..., tuple[int, Problem]],
) -> None:
    line, problem = mistake(
        'response = "Open the vent."\n', "", "[channels.PT-101.limits.high]"
    )

    assert (problem.line, problem.is_warning) == (line, True)
    assert problem.text == 'missing; write what to do, or priority = "journal"'


def test_a_limit_for_the_journal_needs_no_response(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    added = '[channels.TT-101.limits.high]\nsetpoint = 50\npriority = "journal"\n'

    assert said_of(added, good, problems) == []


def test_an_alarm_suppressed_in_every_phase_is_told(
    mistake: Callable[..., tuple[int, Problem]],
) -> None:
    line, problem = mistake('suppressed_in = ["fill"]', 'suppressed_in = ["fill", "leak"]')

    assert (problem.line, problem.is_warning) == (line, True)
    assert problem.text == "names every phase: it never sounds"


@pytest.mark.parametrize(
    ("tops", "highs", "told"), [(2, 1, False), (3, 5, False), (3, 4, True), (3, 1, True)]
)
def test_top_priority_that_is_not_the_rarest_is_told(
    tops: int, highs: int, told: bool, good: str, problems: Callable[..., list[Problem]]
) -> None:
    channels = "".join(
        f'[channels.PT-{number}]\nunit = "kPa"\nsource = "panel.x"\nspan = [0, 200]\n'
        for number in range(200, 200 + tops + highs - 1)
    )
    limits = "".join(
        limit("high", 100, tag=f"PT-{200 + number}").replace(
            '"high"\nresponse', '"top"\nresponse' if number < tops else '"high"\nresponse'
        )
        for number in range(tops + highs - 1)
    )
    text = good.replace('"t1"]', '"t1", "x"]') + channels + limits

    said = [problem for problem in problems(text) if "read by" not in problem.text]

    assert [problem.text.split(";")[0] for problem in said] == (
        [
            f"{tops + 1} alarms are of top priority and {highs} of high: the higher, the "
            "rarer, or the word loses its meaning"
        ]
        if told
        else []
    )


def test_a_latch_and_an_end_by_itself_contradict_each_other(
    mistake: Callable[..., tuple[int, Problem]],
) -> None:
    line, problem = mistake("latch = true\n", "latch = true\nclears_by_itself = true\n")

    assert (problem.line, problem.is_warning) == (line + 1, False)
    assert problem.key == "channels.PT-101.limits.high.clears_by_itself"
    assert problem.text.startswith("stands beside latch")


@pytest.mark.parametrize("kind", ["high", "low"])
def test_a_setpoint_in_an_unknown_phase_is_told_once(
    kind: str, good: str, problems: Callable[..., list[Problem]]
) -> None:
    added = limit(kind, 30, "setpoint_in = { rest = 31 }\n", "TT-101")

    (said,) = said_of(added, good, problems)

    assert said[0] == f"channels.TT-101.limits.{kind}.setpoint_in.rest"
    assert said[1] == "unknown phase 'rest'; phases are fill, leak"
