"""Tests for limits that must not fall blind without anybody being told.

Source: hand-worked here, on the stand and the signals of test_kinds.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from monitor.events import Action, Control
from tests.end_to_end.test_kinds import (
    STAND,
    START_NS,
    S,
    events,
    raised,
    run_of,
    steady,
    table,
)


# Three of five are beyond at any time: one sample inside is enough to wake it, for it is enough
# for the alarm that it did not wake, and nobody would be told of what comes then.
def test_what_is_counted_is_woken_by_one_sample_inside(tmp_path: Path) -> None:
    limit = table("PT-1.high", "setpoint = 50; n_of_m = [3, 5]; arm_by_s = 30")

    found = raised(limit, tmp_path, a=lambda n: 40.0 if n == 10 else 60.0)

    assert found == {"PT-1.high": 13.0}


# 40 is inside the band that was, and not inside the one that is.
@pytest.mark.parametrize(
    ("changes", "limits"),
    [
        ({"setpoint": 30.0}, ["PT-1.high.arming"]),
        ({"setpoint": 44.0}, ["PT-1.high.arming"]),
        ({"setpoint": 46.0}, ["PT-1.high"]),
        ({"deadband": 20.0}, ["PT-1.high.arming"]),
    ],
)
def test_an_edit_changes_the_band_in_which_a_limit_wakes(
    changes: dict[str, float], limits: list[str], tmp_path: Path
) -> None:
    limit = table("PT-1.high", "setpoint = 50; deadband = 5; arm_by_s = 15")
    edit = Action("edit_limit", "PT-1.high", "B. Voss", "too wide", changes=changes)

    def high_then_40_then_high(second: int) -> float:
        return 40.0 if 10 <= second < 20 else 60.0

    found = events(limit, tmp_path, (high_then_40_then_high, steady, steady), None, False, edit)

    assert [event.subject for event in found if event.kind == "alarm.raised"] == limits


# Bad at 8, 16, 24 s and so on, each time for less than the two periods of the bridge. Of the
# ten seconds from 2 s on, the one from 8 to 9 s does not count.
def test_what_is_bad_now_and_then_is_stuck_all_the_same(tmp_path: Path) -> None:
    keys = 'unit = "kPa"\nspan = [-90, 90]\nrange = [-90, 90]\nsource = "rig.a"\n'
    limit = f"[channels.PT-8]\n{keys}" + table("PT-8.stuck", "for_s = 10")

    found = raised(limit, tmp_path, a=lambda n: 95.0 if n % 8 == 0 else 10.0)

    assert found == {"PT-8.stuck": 13.0}


# Two readings of 95 are out of range; the abort criterion came at 10 s and is gone at 11 s.
@pytest.mark.parametrize(("acted_s", "kind"), [(19, "alarm.reset"), (30, "action.refused")])
def test_the_latch_of_an_abort_criterion_is_not_reset_blind(
    acted_s: int, kind: str, tmp_path: Path
) -> None:
    channel = 'unit = "kPa"\nspan = [-90, 90]\nrange = [-90, 90]\nsource = "rig.a"\n'
    criterion = (
        'title = "Too high"\nsafe_state = "vent"\nresponse = "Vent."\nwhen = "a"\n'
        'inputs = { a = "PT-8.high" }\n'
    )
    text = (
        f"{STAND}[channels.PT-8]\n{channel}"
        + table("PT-8.high", 'setpoint = 50; on_bad = "hold"')
        + f"[abort.UA-1]\n{criterion}"
    )
    acts = [
        Action("acknowledge", "UA-1.abort", "B. Voss"),
        Action("reset", "UA-1.abort", "B. Voss"),
    ]

    found = run_of(
        text,
        tmp_path,
        (lambda n: 95.0 if n > 20 else 60.0 if n == 10 else 10.0, steady, steady),
        [Control(START_NS + acted_s * S, n, act) for n, act in enumerate(acts)],
    )

    assert [event.kind for event in found if event.subject == "UA-1.abort"][-1] == kind


# Awake since 1 s, true from 10 s on: nothing waits to be armed in the second phase.
def test_what_is_awake_goes_on_from_one_watched_phase_to_the_next(tmp_path: Path) -> None:
    keys = 'setpoint = 50; deadband = 5; arm_by_s = 15; watched_in = ["rest", "work"]'

    found = raised(
        table("PT-1.high", keys), tmp_path, a=lambda n: 40.0 if n < 10 else 60.0, work_s=20
    )

    assert found == {"PT-1.high": 10.0}


# Asleep: the time that it has goes on, too.
def test_what_sleeps_has_its_time_from_the_first_watched_phase_on(tmp_path: Path) -> None:
    keys = 'setpoint = 50; deadband = 5; arm_by_s = 15; watched_in = ["rest", "work"]'

    found = raised(table("PT-1.high", keys), tmp_path, a=lambda _: 60.0, work_s=10)

    assert found == {"PT-1.high.arming": 15.0}
