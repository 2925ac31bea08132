"""Tests for monitor.alarms.suppression.

Source: Hand-worked here, from the project's own limit rules 14, 15, 20 and 24 (DEVELOPERS.md):
modes beside phases, and a phase that lasts too long hides nothing.
"""

from __future__ import annotations

import pytest

from monitor.alarms.items import Item
from monitor.alarms.plan import AlarmsPlan
from monitor.alarms.stage import Alarms
from monitor.limits.edges import Edge
from tests.monitor.alarms.made import (
    BY,
    HIGH,
    S,
    alarm,
    alarms,
    cleared,
    enter,
    kinds,
    raised,
    run,
    stage_of,
    told,
)


def test_the_journal_names_the_phase_that_hides() -> None:
    stage = alarms()
    run(stage, [raised(1)], 2)

    events = run(stage, [enter(3, "climb")], 4)

    assert events[-1].fields == {"phase": "climb", "state": "unacknowledged"}


def test_the_journal_says_nothing_where_nothing_is_hidden() -> None:
    assert kinds(run(alarms(), [enter(3, "climb")])) == ["phase.entered"]


def with_modes() -> Alarms:
    """Make a stage of one alarm that a phase and a mode suppress."""
    row = alarm(suppressed_in=frozenset({"climb", "loop_only"}))
    return stage_of(row, modes=("normal", "loop_only"))


def test_a_mode_suppresses_as_a_phase_does_and_is_named() -> None:
    stage = with_modes()
    run(stage, [enter(0.5, "ground", "normal"), raised(1)], 2)

    events = run(stage, [enter(3, "ground", "loop_only")], 4)

    assert told(events) == [("mode.entered", "loop_only"), ("suppressed", HIGH)]
    assert events[0].fields == {"by": BY, "reason": ""}
    assert events[1].fields == {
        "phase": "ground",
        "mode": "loop_only",
        "state": "unacknowledged",
    }


def test_suppressed_by_phase_and_mode_it_is_shown_when_both_have_ended() -> None:
    stage = with_modes()
    items: list[Item] = [enter(1, "climb"), enter(2, "climb", "loop_only"), raised(3)]
    run(stage, items, 4)

    run(stage, [enter(5, "climb", "normal")], 6)
    in_phase = stage.status[0].is_annunciated
    run(stage, [enter(7, "ground", "normal")], 8)

    assert (in_phase, stage.status[0].is_annunciated) == (False, True)


def test_the_first_phase_suppresses_from_the_start_and_since_then() -> None:
    plan = AlarmsPlan((alarm(suppressed_in=frozenset({"ground"})),), ("ground", "climb"))

    stage = Alarms(plan, 7 * S)

    assert (stage.status[0].is_suppressed, stage.status[0].suppressed_since_ns) == (True, 7 * S)


def test_the_first_mode_suppresses_from_the_start() -> None:
    row = alarm(suppressed_in=frozenset({"loop_only"}))

    assert stage_of(row, modes=("loop_only",)).status[0].is_suppressed


def test_since_when_an_alarm_is_suppressed_is_known_while_it_is() -> None:
    stage = alarms()

    run(stage, [enter(3, "climb")], 4)
    during = stage.status[0].suppressed_since_ns
    run(stage, [enter(5, "ground")], 6)

    assert (during, stage.status[0].suppressed_since_ns) == (3 * S, 0)


# Phases that last too long.


def lapsing() -> Alarms:
    """Make a stage: what the climb and a mode suppress, and that the climb takes too long."""
    rows = (
        alarm(suppressed_in=frozenset({"climb"})),
        alarm("phase:climb.phase_overlong"),
        alarm("PT-2.high", suppressed_in=frozenset({"loop_only"})),
    )
    plan = AlarmsPlan(
        rows, ("ground", "climb"), ("normal", "loop_only"), lapses=((1, "climb"),)
    )
    return Alarms(plan, 0)


def in_climb() -> Alarms:
    """Make a stage in the climb and a mode, with what both of them hide standing."""
    stage = lapsing()
    moved = enter(1, "climb", "loop_only")
    run(stage, [moved, raised(2, 0), raised(2, 2)], 3)
    return stage


def test_a_phase_that_lasts_too_long_suppresses_no_more() -> None:
    stage = in_climb()

    events = run(stage, [raised(4, 1)], 5)

    assert told(events) == [
        ("raised", "phase:climb.phase_overlong"),
        ("phase.lapsed", "climb"),
        ("unsuppressed", HIGH),
        ("annunciated", HIGH),
    ]
    assert events[2].fields["phase"] == "climb"


def test_what_the_mode_suppresses_stays_so_when_the_phase_lapses() -> None:
    stage = in_climb()

    run(stage, [raised(4, 1)], 5)

    assert stage.status[2].is_suppressed


def test_a_lapse_holds_until_a_phase_is_entered_be_it_the_same() -> None:
    stage = in_climb()
    run(stage, [raised(4, 1)], 5)

    events = run(stage, [cleared(6, 1), enter_in_mode(6)], 7)

    assert ("suppressed", HIGH) in told(events)


def enter_in_mode(t_s: float) -> Item:
    """Enter the climb anew, in the mode that the test is in."""
    moved = enter(t_s, "climb", "loop_only")
    return type(moved)(moved.t_ns, "phase", moved.place, moved.by, moved.reason)


def test_another_mode_does_not_end_a_lapse() -> None:
    stage = in_climb()
    run(stage, [raised(4, 1)], 5)

    run(stage, [enter(6, "climb", "normal")], 7)

    assert stage.status[0].is_annunciated


def test_a_phase_lapses_once_each_time_that_it_is_entered() -> None:
    stage = in_climb()
    run(stage, [raised(4, 1), cleared(5, 1)], 5)

    again = kinds(run(stage, [raised(6, 1)], 6))
    run(stage, [cleared(7, 1), enter_in_mode(7)], 7)
    anew = kinds(run(stage, [raised(8, 1)], 8))

    assert ("phase.lapsed" in again, "phase.lapsed" in anew) == (False, True)


def test_a_phase_that_is_over_does_not_lapse() -> None:
    stage = in_climb()

    events = run(stage, [enter(4, "ground"), raised(5, 1)], 5)

    assert "phase.lapsed" not in kinds(events)


@pytest.mark.parametrize("edges", [[cleared(4, 1)], [raised(4, 2)]])
def test_only_that_it_lasts_too_long_lets_a_phase_lapse(edges: list[Edge]) -> None:
    assert "phase.lapsed" not in kinds(run(in_climb(), edges, 5))


@pytest.mark.parametrize("is_lapsed", [False, True])
def test_a_lapse_survives_a_restart(is_lapsed: bool) -> None:
    stage, other = in_climb(), lapsing()
    run(stage, [raised(4, 1)] if is_lapsed else [], 5)

    other.load_state(stage.state())

    events = run(other, [enter(6, "climb", "normal")], 7)
    assert other.status[0].is_suppressed is not is_lapsed
    assert ("unsuppressed", HIGH) not in told(events)
