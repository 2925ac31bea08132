"""Tests for monitor.alarms.stage.

Source: two worked timing traces of a PLC handbook's chapter on alarms, one character a second;
the deadband check is hand-worked from OPC 10000-9, B.1.5 (a high alarm clears only below
limit - deadband) and the published starting points for pressure: deadband 2 % of the range,
delay 15 s.
"""

from __future__ import annotations

import pytest

from monitor.alarms.core import Core
from monitor.alarms.items import Item
from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.alarms.stage import Alarms
from monitor.limits.plan import Kind, Limit, Place
from monitor.limits.stage import Limits
from tests.monitor.alarms.made import HIGH, S, act, run
from tests.monitor.limits.made import good, grid_of

#: The letters of the handbook; it prints U until the acknowledge, latched or not.
LETTERS = {
    Core.NORMAL: "N",
    Core.UNACKNOWLEDGED: "U",
    Core.ACKNOWLEDGED: "A",
    Core.RETURNED_UNACKNOWLEDGED: "R",
    Core.LATCHED_UNACKNOWLEDGED: "U",
    Core.LATCHED_ACKNOWLEDGED: "L",
}


class Rig:
    """A pressure that is read each second, its high limit and the alarm."""

    def __init__(self, limit: Limit, *, is_latching: bool) -> None:
        place = Place("ground")
        alarm = Alarm(HIGH, "PT-1", Priority.HIGH, "too high", is_latching=is_latching)
        self.limits = Limits([limit], 1, place, 0)
        self.alarms = Alarms(AlarmsPlan((alarm,), ("ground",)), 0)

    def second(self, t_s: int, value: float, pressed: list[Item]) -> str:
        """Let a second pass; give the alarm's letter."""
        edges = self.limits.step(grid_of(good((t_s, value))), t_s * S)
        run(self.alarms, [*pressed, *edges], t_s)
        return LETTERS[self.alarms.status[0].core]


def trace(condition: str, acks: str, resets: str, *, delay_s: int, is_latching: bool) -> str:
    """Run a condition and a person's buttons; give the state each second."""
    limit = Limit(HIGH, 0, Kind.HIGH, 150.0, on_delay_ns=delay_s * S)
    rig = Rig(limit, is_latching=is_latching)
    states = ""
    for t_s, mark in enumerate(condition):
        pressed: list[Item] = []
        if acks[t_s] == "#":
            pressed.append(act(t_s, "acknowledge"))
        if resets[t_s] == "#":
            pressed.append(act(t_s, "reset"))
        states += rig.second(t_s, 151.0 if mark == "#" else 149.0, pressed)
    return states


def test_the_published_trace_of_a_plain_alarm() -> None:
    states = trace(
        "_#__#######__#####_____",
        "_________#__________#__",
        "_______________________",
        delay_s=3,
        is_latching=False,
    )

    assert states == "NNNNNNNUUAANNNNNUURRNNN"


def test_the_published_trace_of_a_latching_alarm() -> None:
    states = trace(
        "__####_________",
        "________#______",
        "_____#_____#___",
        delay_s=1,
        is_latching=True,
    )

    assert states == "NNNUUUUULLLNNNN"


@pytest.mark.parametrize(
    ("value", "states"),
    [
        (146.5, "UUUUUUUUUUUUUUUUUUUU"),
        (146.0, "UUUUUUUUUUUUUUUUUUUU"),
        (145.9, "UUUUUUUUUUUUUUURRRRR"),
    ],
)
def test_the_deadband_check_of_a_pressure_of_0_to_200_kpa(value: float, states: str) -> None:
    limit = Limit(HIGH, 0, Kind.HIGH, 150.0, deadband=0.02 * 200.0, off_delay_ns=15 * S)
    rig = Rig(limit, is_latching=False)
    rig.second(0, 151.0, [])

    assert "".join(rig.second(1 + t_s, value, []) for t_s in range(20)) == states
