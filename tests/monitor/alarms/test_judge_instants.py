"""Tests for monitor.alarms.judge.

Source: Hand-worked here: times are whole nanoseconds, and each is an instant of its own.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from monitor.alarms.items import Moved
from monitor.alarms.judge import Judge
from monitor.alarms.phases import Move
from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.events import Action, Control
from monitor.limits.edges import Edge
from monitor.limits.plan import Kind, Limit, Place
from monitor.samples import Grid

S = 1_000_000_000
HIGH = Limit("PT-1.high", 0, Kind.HIGH, 100.0, {"climb": 50.0}, deadband=2.0)
PLAN = AlarmsPlan(
    (Alarm("PT-1.high", "PT-1", Priority.LOW, "m", "r"),), ("ground", "climb", "hold")
)


def test_a_reading_between_two_phases_two_nanoseconds_apart_is_judged_in_the_first() -> None:
    controls, moves = [], []
    for seq, (t_ns, phase) in enumerate([(5 * S, "climb"), (5 * S + 2, "hold")], 1):
        controls.append(Control(t_ns, seq, Action("enter_phase", phase, "K. Vale")))
        moves.append(Move(Moved(t_ns, "phase", Place(phase), "K. Vale", ""), seq))
    grid = Grid(
        np.array([[5 * S + 1]]), np.array([[60.0]]), np.zeros((1, 1), np.uint8), np.array([1])
    )

    items = Judge((HIGH,), PLAN, 1, 0).step(grid, controls, moves, 9 * S)

    told = [(x.t_ns - 5 * S, x.turn.name) for x in items if isinstance(x, Edge)]
    # In the hold 60 is below 100 again.
    assert told == [(1, "RAISED"), (2, "CLEARED")]


def test_of_one_instant_the_first_control_of_a_run_takes_effect_before_the_second() -> None:
    enter = Control(5 * S, 0, Action("enter_phase", "ground", "K. Vale"))
    move = Move(Moved(5 * S, "phase", Place("ground"), "K. Vale", ""), 0)
    changes = {"setpoint_in.climb": 70.0}
    edit = Control(5 * S, 1, Action("edit_limit", "PT-1.high", "K. Vale", changes=changes))
    judge = Judge((HIGH,), replace(PLAN, phases=("climb", "ground")), 1, 0)
    row = np.array([[4 * S]]), np.array([[60.0]]), np.zeros((1, 1), np.uint8), np.array([1])

    items = judge.step(Grid(*row), [enter, edit], [move], 9 * S)

    # It clears because of the ground's 100, not because of the climb's 70.
    turns = [(x.t_ns // S, x.turn.name, x.setpoint) for x in items if isinstance(x, Edge)]
    assert turns == [(4, "RAISED", 50.0), (5, "CLEARED", 100.0)]
