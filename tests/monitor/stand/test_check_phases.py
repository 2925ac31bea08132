"""Tests for monitor.stand.check_phases.

Source: hand-worked here on the file of places_stand. One drifting sensor must not suppress
alarms: an automatic entry takes two independent conditions and has a longest duration.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.errors import Problem
from tests.monitor.stand.places_stand import PLACES, one_problem

Problems = Callable[..., list[Problem]]

AFTER = 'after = ["climb"]\n'
LONGEST = "longest_s = 3600\n"
WHEN = """\
when = [
    { tag = "PT-301", below = 40, for_s = 10, deadband = 0.5 },
    { tag = "TT-302", above = -20 },
]
"""
FIRST = '{ tag = "PT-301", below = 40, for_s = 10, deadband = 0.5 }'
SECOND = '{ tag = "TT-302", above = -20 }'
IDLE = 'title = "Not testing"\nquiet = true\nlongest_s = 7200\n'

MISTAKES = {
    "no longest duration": (
        LONGEST,
        "",
        '[[phases]]\nname = "hold"',
        "phases[3].longest_s",
        "missing; a phase that is entered by itself suppresses alarms for a stated time only: "
        "write longest_s = ...",
    ),
    "planned longer than longest": (
        LONGEST,
        "longest_s = 1200\n",
        "planned_s = 1800",
        "phases[3].planned_s",
        "1800 s is longer than longest_s, 1200 s",
    ),
    "nothing before it": (
        AFTER,
        "after = []\n",
        None,
        "phases[3].enter.after",
        "is empty; name the phases from which it is entered",
    ),
    "unknown phase before it": (
        AFTER,
        'after = ["ground", "climd"]\n',
        None,
        "phases[3].enter.after[2]",
        "unknown phase 'climd'; did you mean 'climb'?; phases are ground, climb, hold, descent,"
        " idle",
    ),
    "a mode before it": (
        AFTER,
        'after = ["loop_only"]\n',
        None,
        "phases[3].enter.after[1]",
        "unknown phase 'loop_only'; it is a mode; phases are ground, climb, hold, descent, "
        "idle",
    ),
    "itself before it": (
        AFTER,
        'after = ["climb", "hold"]\n',
        None,
        "phases[3].enter.after[2]",
        "'hold' cannot follow itself; name the phases before it",
    ),
    "no condition": (
        WHEN,
        "when = []\n",
        None,
        "phases[3].enter.when",
        "has no condition; write two or more on different sensors: one drifting sensor "
        "must not "
        "suppress alarms",
    ),
    "one condition": (
        f"    {SECOND},\n",
        "",
        "when = [",
        "phases[3].enter.when",
        "has one condition; write two or more on different sensors: one drifting sensor must "
        "not suppress alarms",
    ),
    "both conditions on one channel": (
        SECOND,
        '{ tag = "PT-301", above = 5 }',
        "when = [",
        "phases[3].enter.when",
        "every condition looks at PT-301; add a condition on another sensor: one drifting "
        "sensor must not suppress alarms",
    ),
    "a sensor in common through a formula": (
        SECOND,
        '{ tag = "PDY-301", above = 5 }',
        "when = [",
        "phases[3].enter.when",
        "PT-301 and PDY-301 have PT-301 behind them in common; add a condition on another "
        "sensor: one drifting sensor must not suppress alarms",
    ),
    "a sensor in common through a vote": (
        SECOND,
        '{ tag = "PT-300", below = 45 }',
        "when = [",
        "phases[3].enter.when",
        "PT-301 and PT-300 have PT-301 behind them in common; add a condition on another "
        "sensor: one drifting sensor must not suppress alarms",
    ),
    "the same side twice": (
        SECOND,
        f'{SECOND},\n    {{ tag = "TT-302", above = -30 }}',
        '{ tag = "TT-302", above = -30 }',
        "phases[3].enter.when[3].tag",
        "TT-302 stands in condition 2 with the same side already",
    ),
    "neither side": (
        SECOND,
        '{ tag = "TT-302" }',
        None,
        "phases[3].enter.when[2]",
        "has neither of above and below; write one of them",
    ),
    "both sides": (
        SECOND,
        '{ tag = "TT-302", above = -20, below = 30 }',
        None,
        "phases[3].enter.when[2]",
        "has both of above and below; write one of them",
    ),
    "unknown channel": (
        SECOND,
        '{ tag = "TT-320", above = -20 }',
        None,
        "phases[3].enter.when[2].tag",
        "unknown channel 'TT-320'; did you mean 'TT-302'?",
    ),
    "a column of a profile": (
        SECOND,
        '{ tag = "TT-302~deviation", above = 2 }',
        None,
        "phases[3].enter.when[2].tag",
        "TT-302~deviation is made for one limit, and a profile counts from the phase that "
        "would "
        "be entered; name a channel",
    ),
    "out of the span": (
        SECOND,
        '{ tag = "TT-302", above = 101 }',
        None,
        "phases[3].enter.when[2].above",
        "101 is outside the span from -50 to 100",
    ),
    "negative delay": (
        "for_s = 10",
        "for_s = -10",
        FIRST.replace("for_s = 10", "for_s = -10"),
        "phases[3].enter.when[1].for_s",
        "must be at least 0, is -10",
    ),
    "alarm without longest duration": (
        IDLE,
        IDLE.replace("longest_s = 7200\n", 'alarm = { priority = "high" }\n'),
        "alarm = {",
        "phases[5].alarm",
        "is that of a phase that lasts too long; write longest_s too",
    ),
    "alarm that nobody hears": (
        IDLE,
        IDLE + 'alarm = { priority = "journal" }\n',
        "alarm = {",
        "phases[5].alarm.priority",
        'is "journal": nobody would hear that what the phase suppresses is heard again',
    ),
    "unknown sort": (
        'sort = "hold"',
        'sort = "holt"',
        None,
        "phases[3].sort",
        "unknown 'holt'; did you mean 'hold'?; known are abort, hold, test",
    ),
    "unknown key": (
        'sort = "hold"',
        "longest = 60",
        None,
        "phases[3].longest",
        "unknown key; did you mean 'longest_s'?",
    ),
    "mode with the name of a phase": (
        'name = "normal"',
        'name = "ground"  # a mode',
        'name = "ground"  # a mode',
        "modes[1].name",
        "'ground' is the name of phase 1 already; alarms name both in one list, so give "
        "the mode "
        "another",
    ),
    "mode with a space": (
        'name = "normal"',
        'name = "as usual"',
        None,
        "modes[1].name",
        "'as usual' is to be a letter, then letters, digits, _ and -",
    ),
    "top priority suppressed with nobody asked": (
        "setpoint_in = { climb = 25 }\n",
        'suppressed_in = ["hold"]\n',
        "[phases.enter]",
        "phases[3].enter",
        "suppresses alarms of top priority with nobody asked: PT-301.low",
    ),
}


@pytest.mark.parametrize(("old", "new", "at", "key", "text"), MISTAKES.values(), ids=MISTAKES)
def test_a_mistake_in_a_phase_or_mode_is_told(
    old: str, new: str, at: str | None, key: str, text: str, problems: Problems
) -> None:
    line, problem = one_problem(problems, old, new, at)

    assert (problem.line, problem.key, problem.text) == (line, key, text)


def told(problems: list[Problem]) -> list[tuple[str, str, bool]]:
    """Give key, text and whether it is a warning, of each."""
    return [(one.key, one.text, one.is_warning) for one in problems]


def enter(phase: str, after: str, *when: str) -> str:
    """Write another phase that is entered by itself."""
    return (
        f'[[phases]]\nname = "{phase}"\nlongest_s = 900\n[phases.enter]\n'
        f'after = ["{after}"]\nwhen = [{", ".join(when)}]\n'
    )


def test_nothing_is_said_about_the_good_file(problems: Problems) -> None:
    assert problems(PLACES) == []


def test_a_band_of_one_sensor_and_another_sensor_are_two_independent_conditions(
    problems: Problems,
) -> None:
    text = PLACES.replace(SECOND, f'{SECOND}, {{ tag = "PT-301", above = 5 }}')

    assert problems(text) == []


def test_each_two_of_three_may_share_a_sensor_and_are_refused(problems: Problems) -> None:
    text = PLACES.replace(
        SECOND, '{ tag = "PT-300", below = 9 }, { tag = "PDY-301", above = 5 }'
    )

    assert [problem.text for problem in problems(text)] == [
        "PT-301 and PT-300 and PDY-301 have PT-301 behind them in common; add a condition on "
        "another sensor: one drifting sensor must not suppress alarms"
    ]


def test_a_cold_junction_is_a_sensor_in_common(problems: Problems) -> None:
    old = 'unit = "degC"\nsource = "node.t2"\n'
    couple = 'convert = { kind = "type_k", cold_junction = "TT-301" }\n'
    text = PLACES.replace(old, old + couple).replace(FIRST, '{ tag = "TT-301", below = 40 }')

    assert [problem.text for problem in problems(text)] == [
        "TT-301 and TT-302 have TT-301 behind them in common; add a condition on another "
        "sensor: "
        "one drifting sensor must not suppress alarms"
    ]


def test_a_value_at_the_end_of_the_range_can_never_come_true(problems: Problems) -> None:
    old = 'source = "node.t2"\nspan = [-50, 100]\n'
    text = PLACES.replace(old, old.replace("span", "range")).replace(
        "above = -20", "above = 100"
    )

    assert told(problems(text)) == [
        (
            "phases[3].enter.when[2].above",
            "100 is the end of the range: beyond it the value is bad, so this can never "
            "come true",
            False,
        )
    ]


def test_the_other_end_of_the_range_can_come_true(problems: Problems) -> None:
    old = 'source = "node.t2"\nspan = [-50, 100]\n'
    text = PLACES.replace(old, old.replace("span", "range")).replace(
        "above = -20", "above = -50"
    )

    assert problems(text) == []


def test_a_mode_twice_is_told_with_the_first_one(problems: Problems) -> None:
    text = PLACES.replace('name = "normal"', 'name = "loop_only"')

    assert told(problems(text)) == [
        ("modes[2].name", "'loop_only' is the name of mode 1 already", False)
    ]


def test_phases_that_follow_each_other_for_ever_are_refused_once(problems: Problems) -> None:
    text = PLACES.replace('after = ["climb"]', 'after = ["dip"]') + enter(
        "dip", "hold", '{ tag = "PT-301", below = 20 }', '{ tag = "TT-301", above = 5 }'
    )

    assert told(problems(text)) == [
        (
            "phases[3].enter",
            "the entries hold > dip > hold follow each other for ever while all their "
            "conditions "
            "stand; let one of them exclude the others",
            False,
        )
    ]


def test_three_phases_in_a_round_are_refused(problems: Problems) -> None:
    when = ('{ tag = "PT-302", below = 20 }', '{ tag = "TT-301", above = 5 }')
    text = PLACES.replace('after = ["climb"]', 'after = ["b"]')
    text += enter("a", "hold", *when) + enter("b", "a", *when)

    assert [problem.text[:35] for problem in problems(text)] == [
        "the entries hold > a > b > hold fol"
    ]


@pytest.mark.parametrize(
    ("above", "deadband", "is_refused"), [(40, 0, True), (40.5, 0, False), (40.5, 0.1, True)]
)
def test_phases_whose_conditions_exclude_each_other_may_go_to_and_fro(
    above: float, deadband: float, is_refused: bool, problems: Problems
) -> None:
    text = PLACES.replace('after = ["climb"]', 'after = ["dip"]') + enter(
        "dip",
        "hold",
        f'{{ tag = "PT-301", above = {above}, deadband = {deadband} }}',
        '{ tag = "TT-301", above = 5 }',
    )

    assert bool(problems(text)) == is_refused


def test_a_chain_that_does_not_close_is_no_round(problems: Problems) -> None:
    text = PLACES + enter(
        "dip", "hold", '{ tag = "PT-302", below = 20 }', '{ tag = "TT-301", above = 5 }'
    )

    assert problems(text) == []


def test_an_alarm_of_top_priority_that_is_no_safety_alarm_is_hidden_by_a_quiet_phase(
    problems: Problems,
) -> None:
    text = PLACES.replace('name = "hold"\n', 'name = "hold"\nquiet = true\n')
    text = text.replace(
        'setpoint = 40\npriority = "low"\n', 'setpoint = 40\npriority = "top"\nsafety = false\n'
    )

    assert told(problems(text)) == [
        (
            "phases[3].enter",
            "suppresses alarms of top priority with nobody asked: TT-301.high",
            True,
        )
    ]


def test_a_condition_on_a_channel_with_mistakes_is_not_told_too(problems: Problems) -> None:
    text = PLACES.replace('source = "node.t2"\n', 'source = "node.t2"\nperiod_s = 0\n')
    text = text.replace("span = [-50, 100]\n\n[channels.ZS", "span = 5\n\n[channels.ZS")

    assert {problem.key for problem in problems(text)} == {
        "channels.TT-302.period_s",
        "channels.TT-302.span",
    }
