"""Tests for monitor.alarms.actions.

Source: Hand-worked here; a shelf needs a time and a reason (project's own limit rules).
"""

from __future__ import annotations

import pytest

from monitor.alarms.actions import refusal_of
from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.events import Action

PLAN = AlarmsPlan((Alarm("PT-1.high", "PT-1", Priority.HIGH, "High"),), ("ground", "climb"))


@pytest.mark.parametrize(
    ("action", "words"),
    [
        (Action("acknowledge", "PT-1.high", " "), "who acts"),
        (Action("acknowledge", "PT-2.high", "A. Marl"), "no alarm 'PT-2.high'"),
        (Action("enter_phase", "moon", "A. Marl"), "no phase 'moon'"),
        (Action("shelve", "PT-1.high", "A. Marl", "", 60), "reason"),
        (Action("shelve", "PT-1.high", "A. Marl", "noisy", 0), "a shelf lasts"),
        (Action("shelve", "PT-1.high", "A. Marl", "noisy", float("nan")), "a shelf lasts"),
        (Action("shelve", "PT-1.high", "A. Marl", "noisy", 43201), "a shelf lasts"),
        (Action("shelve", "*", "A. Marl", "noisy", 60), "no alarm '*'"),
        (Action("out_of_service", "PT-1.high", "A. Marl"), "reason"),
        (Action("note", "", "A. Marl", "  "), "empty"),
    ],
)
def test_an_action_that_makes_no_sense_is_refused_with_its_reason(
    action: Action, words: str
) -> None:
    assert words in refusal_of(action, PLAN)


@pytest.mark.parametrize(
    "action",
    [
        Action("acknowledge", "*", "A. Marl"),
        Action("reset", "PT-1.high", "A. Marl"),
        Action("silence", "", "A. Marl"),
        Action("enter_phase", "climb", "A. Marl"),
        Action("shelve", "PT-1.high", "A. Marl", "noisy", 43200),
        Action("note", "", "A. Marl", "valve 3 hissed"),
    ],
)
def test_an_action_that_makes_sense_is_not_refused(action: Action) -> None:
    assert refusal_of(action, PLAN) == ""
