"""Tests for monitor.stand.check_suppression.

Source: hand-worked here on the file of places_stand.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.errors import Problem
from tests.monitor.stand.places_stand import PLACES, one_problem

Problems = Callable[..., list[Problem]]

HIGH = 'response = "Vent."\nsuppressed_in = ["ground"]\n'
HOT = 'setpoint = 40\npriority = "low"\n'
UA = "on_delay_s = 4\n"
PANEL = 'fields = ["p1", "p2", "p3", "t1", "z1"]\n'

MISTAKES = {
    "unknown phase": (
        HIGH,
        'suppressed_in = ["grund"]\nresponse = "Vent."\n',
        None,
        "channels.PT-301.limits.high.suppressed_in[1]",
        "unknown phase or mode 'grund'; did you mean 'ground'?; phases are ground, climb, "
        "hold, "
        "descent, idle; modes are normal, loop_only",
    ),
    "unknown mode": (
        HIGH,
        'watched_in = ["climb", "loop_onyl"]\nresponse = "Vent."\n',
        None,
        "channels.PT-301.limits.high.watched_in[2]",
        "unknown phase or mode 'loop_onyl'; did you mean 'loop_only'?; phases are ground, "
        "climb,"
        " hold, descent, idle; modes are normal, loop_only",
    ),
    "unknown place of a setpoint": (
        "setpoint_in = { climb = 25 }",
        "setpoint_in = { norml = 25 }",
        None,
        "channels.PT-301.limits.low.setpoint_in.norml",
        "unknown phase or mode 'norml'; did you mean 'normal'?; phases are ground, climb, "
        "hold, "
        "descent, idle; modes are normal, loop_only",
    ),
    "unknown place of a link's alarm": (
        PANEL,
        f'{PANEL}alarm = {{ suppressed_in = ["rest"] }}\n',
        "alarm = {",
        "instruments.panel.alarm.suppressed_in[1]",
        "unknown phase or mode 'rest'; phases are ground, climb, hold, descent, idle; "
        "modes are "
        "normal, loop_only",
    ),
    "all that is watched is suppressed": (
        HIGH,
        'response = "Vent."\nwatched_in = ["climb", "hold"]\n'
        'suppressed_in = ["hold", "climb", "ground"]\n',
        "suppressed_in = [",
        "channels.PT-301.limits.high.suppressed_in",
        "names all of watched_in (climb, hold): it would never sound",
    ),
    "a mode that is watched is suppressed": (
        HIGH,
        'response = "Vent."\nwatched_in = ["loop_only"]\nsuppressed_in = ["loop_only"]\n',
        "suppressed_in = [",
        "channels.PT-301.limits.high.suppressed_in",
        "names all of watched_in (loop_only): it would never sound",
    ),
    "watched in a quiet phase only": (
        HIGH,
        'response = "Vent."\nwatched_in = ["idle"]\n',
        "watched_in",
        "channels.PT-301.limits.high.watched_in",
        "names quiet phases only (idle): it would never sound; write safety = true if it is to "
        "speak there",
    ),
    "suppressed in every mode": (
        HIGH,
        'response = "Vent."\nsuppressed_in = ["normal", "loop_only"]\n',
        "suppressed_in = [",
        "channels.PT-301.limits.high.suppressed_in",
        "names every mode: it never sounds",
    ),
    "unknown cause": (
        HIGH,
        'response = "Vent."\nsuppressed_by = ["link:panel.hi"]\n',
        "suppressed_by",
        "channels.PT-301.limits.high.suppressed_by[1]",
        "unknown alarm 'link:panel.hi'; did you mean 'link:panel.high'?",
    ),
    "a cause that is like nothing": (
        HIGH,
        'response = "Vent."\nsuppressed_by = ["door"]\n',
        "suppressed_by",
        "channels.PT-301.limits.high.suppressed_by[1]",
        "unknown alarm 'door'; write TAG.KIND: PT-101.high",
    ),
    "its own cause": (
        HIGH,
        'response = "Vent."\nsuppressed_by = ["PT-301.high"]\n',
        "suppressed_by",
        "channels.PT-301.limits.high.suppressed_by[1]",
        "is this alarm itself; name the one that causes it",
    ),
    "a cause that is only written down": (
        'priority = "high"\non_delay_s = 4\nresponse = "Look for the leak."\n',
        'priority = "journal"\n[combinations.UA-1]\nwhen = "a"\n'
        'inputs = { a = "PT-301.high" }\n'
        'priority = "low"\nresponse = "-"\nsuppressed_by = ["UA-401.combination"]\n',
        "suppressed_by",
        "combinations.UA-1.suppressed_by[1]",
        'UA-401.combination is of priority "journal": while it stands nobody hears either',
    ),
    "a cause that is suppressed where its consequence is heard": (
        UA,
        f'{UA}suppressed_by = ["ZS-401.state"]\n',
        "suppressed_by",
        "combinations.UA-401.suppressed_by[1]",
        "ZS-401.state is suppressed itself in 'ground', 'descent': there nobody hears either",
    ),
}


@pytest.mark.parametrize(("old", "new", "at", "key", "text"), MISTAKES.values(), ids=MISTAKES)
def test_a_mistake_in_what_suppresses_is_told(
    old: str, new: str, at: str | None, key: str, text: str, problems: Problems
) -> None:
    line, problem = one_problem(problems, old, new, at)

    assert (problem.line, problem.key, problem.text) == (line, key, text)


def suppressed(text: str, limit: str, *causes: str) -> str:
    """Let the limit of *text* below the header *limit* be suppressed by *causes*."""
    head = f"[channels.{limit}]\n"
    listed = ", ".join(f'"{cause}"' for cause in causes)
    return text.replace(head, f"{head}suppressed_by = [{listed}]\n")


def test_alarms_that_suppress_each_other_are_spelled_out_once(problems: Problems) -> None:
    text = suppressed(PLACES, "PT-301.limits.low", "TT-301.high")
    text = suppressed(text, "TT-301.limits.high", "PT-301.high")
    text = suppressed(text, "PT-301.limits.high", "PT-301.low")

    said = [problem for problem in problems(text) if not problem.is_warning]

    assert [(problem.key, problem.text) for problem in said] == [
        (
            "channels.PT-301.limits.low.suppressed_by",
            "alarms suppress each other in a loop: PT-301.low > TT-301.high > PT-301.high > "
            "PT-301.low",
        )
    ]


def test_a_loop_is_told_once(problems: Problems) -> None:
    text = suppressed(PLACES, "PT-301.limits.low", "TT-301.high")
    text = suppressed(text, "TT-301.limits.high", "PT-301.low")

    assert sum("in a loop" in problem.text for problem in problems(text)) == 1


def test_a_link_alarm_suppresses_the_alarms_of_its_sensors_and_so_can_go_round(
    problems: Problems,
) -> None:
    text = PLACES.replace(PANEL, f'{PANEL}alarm = {{ suppressed_by = ["PT-301.stale"] }}\n')

    assert [problem.text for problem in problems(text) if "loop:" in problem.text] == [
        "alarms suppress each other in a loop: PT-301.stale > link:panel.high > PT-301.stale"
    ]


def test_a_limit_that_a_link_suppresses_is_no_loop(problems: Problems) -> None:
    text = suppressed(PLACES, "PT-301.limits.high", "link:panel.high")

    assert problems(text) == []


def test_a_cause_that_is_watched_nowhere_else_hides_nothing(problems: Problems) -> None:
    old = 'response = "Shut the inlet."\n'
    text = PLACES.replace(old, f'{old}watched_in = ["hold"]\n')
    text = text.replace(UA, f'{UA}suppressed_by = ["ZS-401.state"]\n')

    assert problems(text) == []


def test_a_consequence_that_is_suppressed_there_too_loses_nothing(problems: Problems) -> None:
    text = PLACES.replace(
        UA, f'{UA}suppressed_by = ["ZS-401.state"]\nsuppressed_in = ["ground", "descent"]\n'
    )

    assert problems(text) == []


def test_a_safety_alarm_may_be_watched_in_a_quiet_phase_only(problems: Problems) -> None:
    text = PLACES.replace(HIGH, 'response = "Vent."\nsafety = true\nwatched_in = ["idle"]\n')

    assert problems(text) == []


def test_an_alarm_that_is_watched_in_one_phase_that_is_not_quiet_is_right(
    problems: Problems,
) -> None:
    text = PLACES.replace(HIGH, 'response = "Vent."\nwatched_in = ["idle", "hold"]\n')

    assert problems(text) == []


def test_one_mode_of_two_may_be_suppressed(problems: Problems) -> None:
    text = PLACES.replace(HIGH, 'response = "Vent."\nsuppressed_in = ["loop_only"]\n')

    assert problems(text) == []


def test_a_mode_that_remains_is_enough_to_be_heard(problems: Problems) -> None:
    text = PLACES.replace(
        HIGH, 'response = "Vent."\nwatched_in = ["climb"]\nsuppressed_in = ["loop_only"]\n'
    )

    assert problems(text) == []


def test_an_unknown_place_is_told_alone(problems: Problems) -> None:
    text = PLACES.replace(
        HIGH, 'response = "Vent."\nwatched_in = ["climb"]\nsuppressed_in = ["climb", "x"]\n'
    )

    assert [problem.key for problem in problems(text)] == [
        "channels.PT-301.limits.high.suppressed_in[2]"
    ]


def test_a_cause_with_a_mistake_of_its_own_is_not_unknown_too(problems: Problems) -> None:
    text = PLACES.replace("is = 1\n", 'is = "shut"\n').replace(
        UA, f'{UA}suppressed_by = ["ZS-401.state"]\n'
    )

    assert [problem.key for problem in problems(text)] == ["channels.ZS-401.limits.state.is"]


def test_where_phases_cannot_be_read_nothing_is_said_about_them(problems: Problems) -> None:
    text = PLACES.replace('name = "climb"\n', 'nam = "climb"\n', 1).replace(
        HIGH, 'response = "Vent."\nwatched_in = ["climb"]\n'
    )

    assert {problem.key for problem in problems(text)} == {"phases[2].nam"}


def test_a_stand_without_modes_has_none_that_could_be_suppressed(
    good: str, problems: Problems
) -> None:
    assert problems(good) == []


def test_a_safety_alarm_whose_cause_is_kept_quiet_is_told(problems: Problems) -> None:
    text = suppressed(PLACES, "PT-301.limits.low", "TT-301.high")

    assert [(problem.text, problem.is_warning) for problem in problems(text)] == [
        ("TT-301.high is suppressed itself in 'idle': there nobody hears either", True)
    ]


def test_a_safety_alarm_whose_cause_speaks_too_is_right(problems: Problems) -> None:
    text = suppressed(PLACES, "PT-301.limits.low", "link:panel.high")

    assert problems(text) == []
