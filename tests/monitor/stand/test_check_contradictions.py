"""Tests for monitor.stand.check_contradictions.

Source: hand-worked here on the file of places_stand: climb is planned for 600 s, hold for
1800 s and at most 3600 s, idle lasts at most 7200 s, the others are open.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.errors import Problem
from tests.monitor.stand.places_stand import PLACES, one_problem

Problems = Callable[..., list[Problem]]

LOW = 'on_delay_s = 3\npriority = "top"\n'
HIGH = 'response = "Vent."\nsuppressed_in = ["ground"]\n'
STATE = "[channels.ZS-401.limits.state]\nis = 1\n"
UA = "on_delay_s = 4\n"


def limit(kind: str, extra: str, tag: str = "ZS-401") -> str:
    """Write another limit."""
    return f'[channels.{tag}.limits.{kind}]\npriority = "low"\nresponse = "Look."\n{extra}'


def before(head: str, text: str) -> tuple[str, str]:
    """Give what to replace so that *text* stands before the limit at *head*."""
    return head, f"{text}{head}"


MISTAKES = {
    "on-delay longer than the phase": (
        LOW,
        LOW.replace("3", "600") + 'watched_in = ["climb"]\n',
        "on_delay_s = 600",
        "channels.PT-301.limits.low.on_delay_s",
        "600 s is no shorter than what it is watched in (climb 600 s): it could not come "
        "in time",
    ),
    "on-delay longer than each of two phases": (
        LOW,
        LOW.replace("3", "2000") + 'watched_in = ["climb", "hold"]\n',
        "on_delay_s = 2000",
        "channels.PT-301.limits.low.on_delay_s",
        "2000 s is no shorter than what it is watched in (climb 600 s, hold 1800 s): it could "
        "not come in time",
    ),
    "on-delay longer than a phase that has a longest duration only": (
        LOW,
        LOW.replace("3", "8000") + 'watched_in = ["idle"]\n',
        "on_delay_s = 8000",
        "channels.PT-301.limits.low.on_delay_s",
        "8000 s is no shorter than what it is watched in (idle 7200 s): it could not come in "
        "time",
    ),
    "samples that take longer than the phase": (
        HIGH,
        f'{HIGH}n_of_m = [99, 99]\nwatched_in = ["short"]\n'
        '[[phases]]\nname = "short"\nplanned_s = 98\n',
        "n_of_m",
        "channels.PT-301.limits.high.n_of_m",
        "98 s is no shorter than what it is watched in (short 98 s): it could not come in time",
    ),
    "arming later than the phase": (
        LOW,
        LOW + 'arm_by_s = 700\nwatched_in = ["climb"]\n',
        "arm_by_s = 700",
        "channels.PT-301.limits.low.arm_by_s",
        "700 s is no shorter than what it is watched in (climb 600 s): it could not come "
        "in time",
    ),
    "expected later than the phase": (
        *before(
            STATE, limit("expected", 'above = 0.5\nwithin_s = 900\nwatched_in = ["climb"]\n')
        ),
        "within_s = 900",
        "channels.ZS-401.limits.expected.within_s",
        "900 s is no shorter than what it is watched in (climb 600 s): it could not come "
        "in time",
    ),
    "late later than the phase": (
        *before(STATE, limit("late", 'after_s = 2000\nwatched_in = ["hold"]\n')),
        "after_s = 2000",
        "channels.ZS-401.limits.late.after_s",
        "2000 s is no shorter than what it is watched in (hold 1800 s): it could not come in "
        "time",
    ),
    "overlong longer than the phase": (
        *before(STATE, limit("overlong", 'longest_s = 600\nwatched_in = ["climb"]\n')),
        "longest_s = 600",
        "channels.ZS-401.limits.overlong.longest_s",
        "600 s is no shorter than what it is watched in (climb 600 s): it could not come "
        "in time",
    ),
    "stuck longer than the phase": (
        *before(STATE, limit("stuck", 'for_s = 601\nwatched_in = ["climb"]\n')),
        "for_s = 601",
        "channels.ZS-401.limits.stuck.for_s",
        "601 s is no shorter than what it is watched in (climb 600 s): it could not come "
        "in time",
    ),
    "a combination's delay longer than the phase": (
        UA,
        'on_delay_s = 600\nwatched_in = ["climb"]\n',
        "on_delay_s = 600",
        "combinations.UA-401.on_delay_s",
        "600 s is no shorter than what it is watched in (climb 600 s): it could not come "
        "in time",
    ),
    "more samples than there are": (
        HIGH,
        f"{HIGH}n_of_m = [5, 3]\n",
        "n_of_m",
        "channels.PT-301.limits.high.n_of_m",
        "asks for 5 of 3 samples; write [3, 5]",
    ),
    "no sample": (
        HIGH,
        f"{HIGH}n_of_m = [0, 3]\n",
        "n_of_m",
        "channels.PT-301.limits.high.n_of_m",
        "is [0, 3]; count from 1 sample to 99 samples",
    ),
    "too many samples": (
        HIGH,
        f"{HIGH}n_of_m = [3, 100]\n",
        "n_of_m",
        "channels.PT-301.limits.high.n_of_m",
        "is [3, 100]; count from 1 sample to 99 samples",
    ),
    "samples that are no pair": (
        HIGH,
        f"{HIGH}n_of_m = 3\n",
        "n_of_m",
        "channels.PT-301.limits.high.n_of_m",
        "must be a list of 2, as in [0, 0], is the number 3",
    ),
    "samples beside a delay": (
        LOW,
        f"{LOW}n_of_m = [3, 5]\n",
        "on_delay_s = 3",
        "channels.PT-301.limits.low.on_delay_s",
        "stands beside n_of_m; take one of them out",
    ),
    "annunciated anew though never annunciated": (
        'deadband = 1\npriority = "medium"\n',
        'deadband = 1\nrealarm_s = 60\npriority = "journal"\n',
        "realarm_s",
        "channels.PT-301.limits.high.realarm_s",
        'stands beside priority = "journal", which never sounds',
    ),
    "a rate over two readings": (
        HIGH,
        HIGH + limit("rate_of_rise", 'setpoint = 2\nper = "min"\nwindow_s = 2.9\n', "PT-301"),
        "window_s",
        "channels.PT-301.limits.rate_of_rise.window_s",
        "2.9 s holds fewer than 3 readings, one every 1 s; write at least 3",
    ),
    "a rate of fall over two readings of a vote": (
        "[channels.PDY-301]\n",
        limit("rate_of_fall", 'setpoint = 2\nper = "min"\nwindow_s = 2\n', "PT-300")
        + "[channels.PDY-301]\n",
        "window_s",
        "channels.PT-300.limits.rate_of_fall.window_s",
        "2 s holds fewer than 3 readings, one every 1 s; write at least 3",
    ),
    "a forecast from seven readings": (
        HIGH,
        HIGH
        + limit(
            "time_to_limit",
            'reaches = 20\ntoward = "down"\nwithin_s = 60\nwindow_s = 7\n',
            "PT-301",
        ),
        "window_s",
        "channels.PT-301.limits.time_to_limit.window_s",
        "7 s holds fewer than 8 readings, one every 1 s; write at least 8",
    ),
    "late after missed": (
        *before(STATE, limit("late", "after_s = 90\n") + limit("missed", "after_s = 90\n")),
        "after_s = 90",
        "channels.ZS-401.limits.late.after_s",
        "90 s is not before missed, 90 s",
    ),
    "over after the next one is late": (
        *before(STATE, limit("late", "after_s = 90\n") + limit("overlong", "longest_s = 90\n")),
        "longest_s = 90",
        "channels.ZS-401.limits.overlong.longest_s",
        "90 s is not shorter than the 90 s after which the next one is late",
    ),
    "over after the next one is missed": (
        *before(
            STATE, limit("missed", "after_s = 80\n") + limit("overlong", "longest_s = 90\n")
        ),
        "longest_s = 90",
        "channels.ZS-401.limits.overlong.longest_s",
        "90 s is not shorter than the 80 s after which the next one is missed",
    ),
    "arming beside a state": (
        STATE,
        f"{STATE}arm_by_s = 60\n",
        "arm_by_s",
        "channels.ZS-401.limits.state.arm_by_s",
        "unknown key; known are",
    ),
    "arming beside what is expected": (
        *before(
            STATE,
            limit(
                "expected", 'above = 0.5\nwithin_s = 9\nwatched_in = ["hold"]\narm_by_s = 5\n'
            ),
        ),
        "arm_by_s",
        "channels.ZS-401.limits.expected.arm_by_s",
        "unknown key; known are",
    ),
    "a group of one": (
        HIGH,
        f'{HIGH}first_out = "pressure"\n',
        "first_out",
        "channels.PT-301.limits.high.first_out",
        "no other alarm is in the group 'pressure': there is nothing to come first of",
    ),
}


@pytest.mark.parametrize(("old", "new", "at", "key", "text"), MISTAKES.values(), ids=MISTAKES)
def test_a_contradiction_is_told(
    old: str, new: str, at: str | None, key: str, text: str, problems: Problems
) -> None:
    line, problem = one_problem(problems, old, new, at)

    assert (problem.line, problem.key) == (line, key)
    assert problem.text.startswith(text)


SOUND = {
    "a delay just shorter than the longer of two phases": (
        LOW,
        LOW.replace("3", "1799") + 'watched_in = ["climb", "hold"]\n',
    ),
    "a long delay in a phase of open duration": (
        LOW,
        LOW.replace("3", "9000") + 'watched_in = ["climb", "descent"]\n',
    ),
    "a long delay in a mode": (LOW, LOW.replace("3", "9000") + 'watched_in = ["normal"]\n'),
    "a long delay everywhere": (LOW, LOW.replace("3", "9000")),
    "all of the samples": (HIGH, f"{HIGH}n_of_m = [3, 3]\n"),
    "one sample of the most": (HIGH, f"{HIGH}n_of_m = [1, 99]\n"),
    "annunciated anew": (HIGH, f"{HIGH}realarm_s = 60\n"),
    "a rate over three readings": (
        HIGH,
        HIGH + limit("rate_of_rise", 'setpoint = 2\nper = "min"\nwindow_s = 3\n', "PT-301"),
    ),
    "a rate of a channel of unknown period": before(
        STATE, limit("rate_of_rise", 'setpoint = 2\nper = "min"\nwindow_s = 0.1\n')
    ),
    "a forecast from eight readings": (
        HIGH,
        HIGH
        + limit(
            "time_to_limit",
            'reaches = 20\ntoward = "down"\nwithin_s = 60\nwindow_s = 8\n',
            "PT-301",
        ),
    ),
    "late before missed": before(
        STATE, limit("late", "after_s = 89\n") + limit("missed", "after_s = 90\n")
    ),
    "over before the next one is late": before(
        STATE, limit("late", "after_s = 90\n") + limit("overlong", "longest_s = 89\n")
    ),
    "overlong alone": before(STATE, limit("overlong", "longest_s = 90\n")),
}


@pytest.mark.parametrize(("old", "new"), SOUND.values(), ids=SOUND)
def test_what_does_not_contradict_is_not_told(old: str, new: str, problems: Problems) -> None:
    assert PLACES.count(old) == 1

    assert problems(PLACES.replace(old, new)) == []


def test_two_alarms_make_a_group(problems: Problems) -> None:
    text = PLACES.replace(HIGH, f'{HIGH}first_out = "loop"\n').replace(
        UA, f'{UA}first_out = "loop"\n'
    )

    assert problems(text) == []


def test_a_group_that_was_misspelt_is_named(problems: Problems) -> None:
    text = PLACES.replace(HIGH, f'{HIGH}first_out = "pressure"\n')
    text = text.replace(UA, f'{UA}first_out = "presure"\n').replace(
        LOW, f'{LOW}first_out = "pressure"\n'
    )

    assert [problem.text for problem in problems(text)] == [
        "no other alarm is in the group 'presure': there is nothing to come first of; did you "
        "mean 'pressure'?"
    ]


def test_the_alarm_of_arming_is_no_second_member_of_a_group(problems: Problems) -> None:
    text = PLACES.replace(HIGH, f'{HIGH}first_out = "loop"\narm_by_s = 60\n')

    assert [problem.key for problem in problems(text)] == [
        "channels.PT-301.limits.high.first_out"
    ]


def test_a_delay_that_is_not_written_counts_too(problems: Problems) -> None:
    """A temperature without a delay gets 60 s as a starting point."""
    old = 'title = "Loop temperature"\n'
    text = PLACES.replace(old, f'{old}signal_type = "temperature"\n').replace(
        "setpoint = 40\n", 'setpoint = 40\nwatched_in = ["climb"]\n'
    )
    text = text.replace("planned_s = 600", "planned_s = 60")

    assert [(problem.key, problem.text) for problem in problems(text)] == [
        (
            "channels.TT-301.limits.high.on_delay_s",
            "60 s is no shorter than what it is watched in (climb 60 s): it could not come in "
            "time",
        )
    ]
