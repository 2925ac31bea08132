"""Tests for drivers.virtual.scenario.

Source: hand-worked here; the order of the gondola's test as its stand file's phases state it.
"""

from __future__ import annotations

from typing import Any

import pytest

from drivers.virtual.rig import Rig
from drivers.virtual.scenario import Script, load_scenario, scenario_from, scenario_names

TWO = {
    "title": "two",
    "end_s": 2.0,
    "steps": [
        {"at_s": 0.5, "set": {"vent_open": True}, "note": "vent"},
        {"at_s": 1.0, "fault_on": [{"kind": "cabin_leak", "size": 2.0}]},
        {"at_s": 1.0, "set": {"vent_open": False}, "enter_phase": "hold"},
        {"at_s": 1.5, "fault_off": [{"kind": "cabin_leak"}]},
    ],
}


def test_steps_are_done_when_their_time_has_come() -> None:
    rig = Rig()
    script = Script(scenario_from(TWO), rig)
    assert script.due() == []
    rig.step(0.5)
    assert [step.note for step in script.due()] == ["vent"]
    assert rig.controls.vent_open
    rig.step(0.5)
    assert [step.wants_operator for step in script.due()] == [False, True]
    assert not rig.controls.vent_open
    assert rig.faults.size("cabin_leak") == 2.0
    assert not script.is_over
    rig.step(1.0)
    script.due()
    assert not rig.faults.has("cabin_leak")
    assert script.is_over


def test_the_gondolas_test_goes_through_its_phases_in_order() -> None:
    scenario = load_scenario("gondola")

    assert "gondola" in scenario_names()
    assert [step.enter_phase for step in scenario.steps if step.enter_phase] == [
        "climb",
        "hold",
        "decompression",
        "repressurise",
        "hold",
        "descent",
        "ground",
    ]
    assert 2_900.0 < scenario.end_s < 3_300.0


@pytest.mark.parametrize(
    ("step", "says"),
    [
        ({"at_s": 1.0, "sets": {}}, "unknown key"),
        ({"at_s": 1.0, "set": {"vent": True}}, "no control"),
        ({"at_s": 1.0, "fault_on": [{"kind": "leak"}]}, "unknown fault"),
    ],
)
def test_a_step_that_makes_no_sense_is_refused(step: dict[str, Any], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        scenario_from({"title": "bad", "end_s": 2.0, "steps": [step]})


def test_steps_out_of_order_are_refused() -> None:
    with pytest.raises(ValueError, match="order"):
        scenario_from({"title": "x", "end_s": 2.0, "steps": [{"at_s": 2.0}, {"at_s": 1.0}]})


def test_an_unknown_scenario_is_answered_with_the_known_ones() -> None:
    with pytest.raises(ValueError, match="gondola"):
        load_scenario("moon")
