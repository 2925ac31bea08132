"""Tests for monitor.alarms.judge.

Source: Hand-worked here: the order of one instant (DEVELOPERS.md, 'Limits').
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.alarms.items import Edited, Item, Moved, Refused
from monitor.alarms.judge import Judge
from monitor.alarms.phases import Move
from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.events import Action, Control
from monitor.limits.condition import parse_condition
from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import NO_COLUMN, Kind, Limit, Place
from monitor.samples import Grid

S = 1_000_000_000
HIGH = Limit("PT-1.high", 0, Kind.HIGH, 100.0, {"climb": 50.0}, deadband=2.0)
LOW = Limit("PT-1.low", 0, Kind.LOW, 10.0, deadband=2.0)
BOTH = Limit(
    "UA-1.combination",
    NO_COLUMN,
    Kind.COMBINATION,
    condition=parse_condition("high or low"),
    inputs=(("high", 0), ("low", 1)),
)
LIMITS = (HIGH, LOW, BOTH)
PLAN = AlarmsPlan(
    tuple(Alarm(x.id, x.id.split(".")[0], Priority.LOW, "m", "r") for x in LIMITS),
    ("ground", "climb", "hold"),
)


def grid_of(*rows: tuple[float, float]) -> Grid:
    """Make a grid of one column."""
    return Grid(
        np.array([[round(t * S)] for t, _ in rows], dtype=np.int64).reshape(-1, 1),
        np.array([[v] for _, v in rows], dtype=np.float64).reshape(-1, 1),
        np.zeros((len(rows), 1), dtype=np.uint8),
        np.array([len(rows)]),
    )


def by_hand(t_s: float, phase: str, seq: int) -> tuple[Control, Move]:
    """Make an entry by hand: its control and its move."""
    t_ns = round(t_s * S)
    control = Control(t_ns, seq, Action("enter_phase", phase, "K. Vale"))
    return control, Move(Moved(t_ns, "phase", Place(phase), "K. Vale", ""), seq)


def by_itself(t_s: float, phase: str) -> Move:
    """Make a move that conditions bring."""
    return Move(Moved(round(t_s * S), "phase", Place(phase), "conditions", "both"))


def ack(t_s: float, seq: int) -> Control:
    """Make an action that cuts nothing."""
    return Control(round(t_s * S), seq, Action("acknowledge", "*", "K. Vale"))


def edit(t_s: float, seq: int, subject: str = "PT-1.high", **changes: float) -> Control:
    """Make an edit."""
    action = Action("edit_limit", subject, "K. Vale", "too tight", changes=changes)
    return Control(round(t_s * S), seq, action)


def names(items: list[Item]) -> list[str]:
    """Name items, with their seconds."""
    out = []
    for item in items:
        name = type(item).__name__.lower()
        if isinstance(item, Edge):
            name = f"{LIMITS[item.limit].id} {item.turn.name.lower()}"
        elif isinstance(item, Moved):
            name = f"in {item.place.phase}"
        out.append(f"{item.t_ns / S:g} {name}")
    return out


def judge() -> Judge:
    """Start on the ground."""
    return Judge(LIMITS, PLAN, 1, 0)


def test_controls_come_before_the_readings_of_their_instant_and_combinations_after() -> None:
    items = judge().step(grid_of((5, 120)), [ack(5, 1)], [], 9 * S)

    assert names(items) == ["5 control", "5 PT-1.high raised", "5 UA-1.combination raised"]


def test_a_phase_by_hand_comes_before_the_readings_of_its_instant() -> None:
    control, move = by_hand(5, "climb", 2)

    items = judge().step(grid_of((5, 60)), [ack(5, 1), control, ack(5, 3)], [move], 9 * S)

    assert names(items) == [
        "5 control",
        "5 in climb",
        "5 control",
        "5 PT-1.high raised",
        "5 UA-1.combination raised",
    ]


def test_a_phase_by_itself_comes_behind_the_readings_of_its_instant() -> None:
    items = judge().step(grid_of((5, 5)), [], [by_itself(5, "climb")], 9 * S)

    assert names(items) == ["5 PT-1.low raised", "5 in climb", "5 UA-1.combination raised"]


def test_and_what_is_held_is_judged_anew_under_its_setpoints() -> None:
    items = judge().step(grid_of((5, 60)), [], [by_itself(5, "climb")], 9 * S)

    assert names(items) == ["5 in climb", "5 PT-1.high raised", "5 UA-1.combination raised"]


def test_two_phases_at_one_instant_raise_nothing_in_between() -> None:
    moves = [by_itself(5, "climb"), by_itself(5, "hold")]

    items = judge().step(grid_of((5, 60)), [], moves, 9 * S)

    assert names(items) == ["5 in climb", "5 in hold"]


def test_readings_before_a_phase_are_judged_in_the_one_before() -> None:
    control, move = by_hand(5, "climb", 1)

    items = judge().step(grid_of((4, 60), (6, 60)), [control], [move], 9 * S)

    assert names(items)[:2] == ["5 in climb", "5 PT-1.high raised"]


def test_an_edit_tells_what_it_was_and_what_it_is() -> None:
    one = judge()

    (item,) = one.step(grid_of(), [edit(5, 1, setpoint=90.0, deadband=3.0)], [], 9 * S)

    assert isinstance(item, Edited)
    assert (item.limit, item.by, item.reason) == (0, "K. Vale", "too tight")
    assert item.fields == {
        "setpoint_from": 100.0,
        "setpoint_to": 90.0,
        "deadband_from": 2.0,
        "deadband_to": 3.0,
    }
    assert one.now(0).setpoint == 90.0


def test_an_edit_that_contradicts_another_limit_is_refused_with_the_reason() -> None:
    one = judge()

    (item,) = one.step(grid_of(), [edit(5, 1, setpoint=9.0)], [], 9 * S)

    assert isinstance(item, Refused)
    assert item.why == "high 9 would not be above low 10 in ground"
    assert not one.now(0).is_edited


def test_an_edit_of_nothing_that_exists_is_left_for_the_alarms_to_refuse() -> None:
    (item,) = judge().step(grid_of(), [edit(5, 1, "PT-9.high", setpoint=9.0)], [], 9 * S)

    assert isinstance(item, Control)


def test_two_edits_of_one_combination_in_a_step_follow_each_other() -> None:
    edits = [
        edit(5, 1, "UA-1.combination", on_delay_s=2.0),
        edit(6, 2, "UA-1.combination", on_delay_s=3.0),
    ]
    one = judge()

    first, second = one.step(grid_of(), edits, [], 9 * S)

    assert isinstance(first, Edited)
    assert isinstance(second, Edited)
    assert first.fields == {"on_delay_s_from": 0.0, "on_delay_s_to": 2.0}
    assert second.fields == {"on_delay_s_from": 2.0, "on_delay_s_to": 3.0}
    assert one.now(2).is_edited


def test_what_is_edited_back_is_as_planned() -> None:
    there = [
        edit(5, 1, "PT-1.low", setpoint=5.0),
        edit(5, 2, "UA-1.combination", on_delay_s=2.0),
    ]
    back = [
        edit(6, 3, "PT-1.low", setpoint=10.0),
        edit(6, 4, "UA-1.combination", on_delay_s=0.0),
    ]
    one, other = judge(), judge()

    one.step(grid_of(), there, [], 9 * S)
    other.step(grid_of(), [*there, *back], [], 9 * S)

    assert [one.now(i).is_edited for i in (1, 2)] == [True, True]
    assert [other.now(i).is_edited for i in (1, 2)] == [False, False]


def test_a_combination_before_another_limit_is_an_error_of_the_plan() -> None:
    with pytest.raises(ValueError, match="combinations must stand behind"):
        Judge((BOTH, HIGH, LOW), PLAN, 1, 0)


@pytest.mark.parametrize("cut_s", [3.0, 4.0, 5.0, 6.0, 7.0])
def test_where_a_step_ends_changes_nothing_and_a_restart_neither(cut_s: float) -> None:
    rows = [(3.0, 60.0), (5.0, 60.0), (6.0, 5.0), (7.0, 40.0)]
    controls = [ack(4, 1), edit(5, 2, deadband=5.0)]
    moves = [by_itself(3, "climb"), by_itself(6, "hold")]
    whole = judge().step(grid_of(*rows), controls, moves, 20 * S)

    one, other = judge(), judge()
    cut = round(cut_s * S)
    first = one.step(
        grid_of(*(r for r in rows if r[0] <= cut_s)),
        [x for x in controls if x.t_ns <= cut],
        [x for x in moves if x.moved.t_ns <= cut],
        cut,
    )
    other.load_state(one.state())
    rest = other.step(
        grid_of(*(r for r in rows if r[0] > cut_s)),
        [x for x in controls if x.t_ns > cut],
        [x for x in moves if x.moved.t_ns > cut],
        20 * S,
    )

    assert names([*first, *rest]) == names(whole)
    assert len(whole) > 6


def test_a_step_that_ends_at_a_phase_by_itself_goes_on_behind_it() -> None:
    one = judge()
    first = one.step(grid_of((5, 60)), [], [by_itself(5, "climb")], 5 * S)

    rest = one.step(grid_of((6, 40)), [], [], 9 * S)

    assert [*names(first), *names(rest)] == [
        "5 in climb",
        "5 PT-1.high raised",
        "5 UA-1.combination raised",
        "6 PT-1.high cleared",
        "6 UA-1.combination cleared",
    ]
    assert Turn.CLEARED in [item.turn for item in rest if isinstance(item, Edge)]
