"""Tests for monitor.limits.stage.

Source: Hand-worked here, from the project's own limit rules 21 and 26 (DEVELOPERS.md): what was
quiet before a setpoint changed may be loud after it, also where the held value changes nothing.
"""

from __future__ import annotations

import pytest

from monitor.limits.edges import Turn
from monitor.limits.plan import NO_COLUMN, Kind, Place
from monitor.limits.stage import Limits
from tests.monitor.limits.made import S, good, grid_of, limit


def stage_at(value: float) -> Limits:
    """Give a stage with a high limit, 150 and in a climb 120, that holds a value."""
    stage = Limits([limit(setpoint_in={"climb": 120.0})], 1, Place("ground"), 0)
    stage.step(grid_of(good((1, value))), S)
    return stage


@pytest.mark.parametrize("is_edit", [True, False])
def test_a_lower_setpoint_counts_for_the_next_sample(is_edit: bool) -> None:
    stage = stage_at(90.0)
    if is_edit:
        at_once = stage.edit(0, {"setpoint": 120.0}, 2 * S)
    else:
        at_once = stage.enter(Place("climb"), 2 * S, is_phase=True)

    (edge,) = stage.step(grid_of(good((3, 130.0))), 3 * S)

    assert at_once == []
    assert (edge.t_ns, edge.turn, edge.value, edge.setpoint) == (
        3 * S,
        Turn.RAISED,
        130.0,
        120.0,
    )


def test_a_narrower_deadband_counts_for_the_next_sample() -> None:
    stage = stage_at(151.0)
    stage.edit(0, {"deadband": 1.0}, 2 * S)

    (edge,) = stage.step(grid_of(good((3, 148.0))), 3 * S)

    assert (edge.t_ns, edge.turn) == (3 * S, Turn.CLEARED)


def test_the_delay_of_a_phase_that_lasts_can_be_edited_while_it_lasts() -> None:
    overlong = limit(
        id="phase:climb.phase_overlong",
        column=NO_COLUMN,
        kind=Kind.PHASE_OVERLONG,
        on_delay_s=30,
        watched_in=frozenset({"climb"}),
    )
    stage = Limits([overlong], 1, Place("climb"), 0)

    told = stage.edit(0, {"on_delay_s": 10.0}, 5 * S)
    told += stage.step(grid_of([]), 29 * S)
    told += stage.enter(Place("climb"), 29 * S + 1, is_phase=True)
    told += stage.step(grid_of([]), 60 * S)

    # The delay that ran kept its end; the next one is the shorter.
    assert [(edge.t_ns, edge.turn) for edge in told] == [(39 * S + 1, Turn.RAISED)]
