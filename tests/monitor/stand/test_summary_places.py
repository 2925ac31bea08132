"""Tests for monitor.stand.summary_places.

Source: hand-worked here on the file of places_stand.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.stand.model import Stand
from monitor.stand.summary import describe_check
from monitor.stand.summary_places import describe_aborts, describe_places
from tests.monitor.stand.places_stand import PLACES

Load = Callable[[str], Stand]


def test_modes_and_rules_of_phases_are_told(load: Load) -> None:
    assert describe_places(load(PLACES)) == [
        "modes: normal, loop_only",
        "  climb: 600 s planned",
        "  hold: sort hold; 1800 s planned; 3600 s at most, then what it suppresses is heard "
        "again; entered by itself after climb, when PT-301 is below 40 kPa for 10 s and "
        "TT-302 is "
        "above -20 °C",
        "  idle: 7200 s at most, then what it suppresses is heard again; only alarms that "
        "matter "
        "to safety speak",
    ]


def test_a_stand_without_modes_and_rules_has_nothing_to_tell(load: Load, good: str) -> None:
    stand = load(good)

    assert (describe_places(stand), describe_aborts(stand)) == ([], [])


def test_a_criterion_is_told_with_vote_delay_and_what_bad_data_does(load: Load) -> None:
    assert describe_aborts(load(PLACES)) == [
        "abort criterion UA-901 (top): Loop lost",
        "  when at_least(2, PT-301.low, TT-301.high, UA-401.combination)",
        "  delay 10 s; safe state: Cabin at ambient pressure, oxygen shut.",
        "  PT-301.low: one sensor, delay 3 s, bad data raises it after 2 s",
        "  TT-301.high: one sensor, delay 0 s, bad data raises it after 5 s",
        "  UA-401.combination: PT-301.low and not ZS-401.state, delay 4 s",
        "  ZS-401.state: one sensor, delay 0 s, bad data leaves it as it was",
    ]


@pytest.mark.parametrize(
    ("tag", "told"),
    [
        ("PT-300", "1 of 2 sensors (PT-301, PT-302), delay 0 s, bad data raises it after 2 s"),
        ("PDY-301", "computed from PT-301, PT-303, delay 0 s, bad data raises it after 2 s"),
    ],
)
def test_what_decides_is_told(tag: str, told: str, load: Load) -> None:
    text = PLACES.replace('hot = "TT-301.high"', f'hot = "{tag}.high"').replace(
        "[combinations.UA-401]",
        f'[channels.{tag}.limits.high]\nsetpoint = 15\npriority = "low"\nresponse = "-"\n'
        "[combinations.UA-401]",
    )

    assert f"  {tag}.high: {told}" in describe_aborts(load(text))


@pytest.mark.parametrize(
    ("limit", "told"),
    [
        ("TT-301.fault", "one sensor, delay 2 s"),
        ("link:node.high", "no sensor, delay 2 s, bad data leaves it as it was"),
        ("phase:hold.phase_overlong", "no sensor, delay 3600 s, only in hold"),
    ],
)
def test_what_looks_at_no_value_is_told(limit: str, told: str, load: Load) -> None:
    text = PLACES.replace('hot = "TT-301.high"', f'hot = "{limit}"')

    assert f"  {limit}: {told}" in describe_aborts(load(text))


def test_samples_that_are_counted_are_told(load: Load) -> None:
    old = 'setpoint = 40\npriority = "low"\n'
    text = PLACES.replace(old, f"{old}n_of_m = [3, 5]\n")

    assert (
        "  TT-301.high: one sensor, 3 of 5 samples, delay 0 s, bad data raises it after 5 s"
        in describe_aborts(load(text))
    )


def test_a_limit_that_is_looked_at_twice_is_told_once(load: Load) -> None:
    lines = describe_aborts(load(PLACES))

    assert sum(line.startswith("  PT-301.low:") for line in lines) == 1


def test_the_check_command_tells_both(load: Load) -> None:
    stand = load(PLACES)
    lines = describe_check(stand)

    assert [line for line in lines if line in describe_places(stand)] == describe_places(stand)
    assert lines[-8:] == ["", *describe_aborts(stand)]


def test_where_a_limit_is_watched_only_and_whether_it_sleeps_is_told(load: Load) -> None:
    old = 'setpoint = 40\npriority = "low"\n'
    text = PLACES.replace(old, f'{old}watched_in = ["hold", "climb"]\narm_by_s = 60\n')

    assert (
        "  TT-301.high: one sensor, delay 0 s, only in climb or hold, asleep until once "
        "inside its band, bad data raises it after 5 s" in describe_aborts(load(text))
    )


def test_where_a_criterion_is_watched_only_is_told(load: Load) -> None:
    text = PLACES.replace("safe_state =", 'watched_in = ["loop_only"]\nsafe_state =')

    assert describe_aborts(load(text))[2] == (
        "  delay 10 s; only in loop_only; safe state: Cabin at ambient pressure, oxygen shut."
    )
