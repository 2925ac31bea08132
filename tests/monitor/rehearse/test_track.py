"""Tests for monitor.rehearse.track.

Source: hand-worked here.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.alarms.plan import AlarmsPlan
from monitor.channels.plan import ChannelsPlan, Linear, Measured
from monitor.events import Event, EventKind
from monitor.limits.plan import Kind, Limit, Place
from monitor.pipeline import Plan, Step
from monitor.rehearse.track import Move, Track, TrackWriter
from monitor.samples import Grid, Quality

PLAN = Plan(
    ChannelsPlan((Measured("A", "i", "a", Linear(), 9), Measured("B", "i", "b", Linear(), 9))),
    (),
    AlarmsPlan((), ("ground", "climb"), ("normal", "loop")),
)
HIGH = Limit("A.high", 0, Kind.HIGH, setpoint=10.0)


def entered(t_ns: int, kind: EventKind, name: str, by: str = "A. Roe") -> Event:
    """Make an event of a phase or mode."""
    return Event(t_ns, kind, name, {"by": by, "reason": ""})


def step(times: list[int], until_ns: int, *events: Event) -> Step:
    """Make a step in which column 1 has rows at *times* and column 0 has none."""
    rows = max(len(times), 1)
    t_ns = np.zeros((rows, 2), np.int64)
    t_ns[: len(times), 1] = times
    grid = Grid(
        t_ns, t_ns.astype(float), np.zeros((rows, 2), np.uint8), np.array([0, len(times)])
    )
    return Step(until_ns, grid, events, ())


def track(values: list[float], *moves: Move) -> Track:
    """Make a track with a row each ns from 1 on."""
    count = len(values)
    value = np.array(values)
    quality = np.where(np.isnan(value), Quality.STALE, Quality.GOOD).astype(np.uint8)
    first = Move(0, 0, Place("ground", "normal"))
    return Track("run", 0, count, np.arange(1, count + 1), value, quality, (first, *moves))


def test_the_rows_of_one_column_are_kept() -> None:
    writer = TrackWriter("run", PLAN, 1, 100)
    for one in (step([101, 102], 102), step([], 110), step([111], 120)):
        writer.take(one)

    found = writer.track()

    assert found.t_ns.tolist() == [101, 102, 111]
    assert found.value.tolist() == [101.0, 102.0, 111.0]
    assert (found.start_ns, found.end_ns) == (100, 120)


def test_what_was_kept_does_not_change_with_the_grid_it_came_from() -> None:
    writer, one = TrackWriter("run", PLAN, 1, 100), step([101], 101)
    writer.take(one)
    one.grid.value[:] = 0

    assert writer.track().value.tolist() == [101.0]


def test_a_run_without_a_row_has_an_empty_track() -> None:
    assert TrackWriter("run", PLAN, 1, 100).track().t_ns.size == 0


def test_it_is_known_where_the_test_stood() -> None:
    writer = TrackWriter("run", PLAN, 1, 100)
    start = (
        entered(101, "phase.entered", "ground", "start of run"),
        entered(101, "mode.entered", "normal", "start of run"),
    )
    writer.take(step([101], 105, *start, entered(105, "phase.entered", "climb")))
    writer.take(step([106], 110, entered(107, "mode.entered", "loop")))

    assert writer.track().moves == (
        Move(100, 100, Place("ground", "normal")),
        Move(105, 105, Place("climb", "normal")),
        Move(107, 107, Place("climb", "loop"), is_phase=False),
    )


def test_rows_of_the_instant_of_a_phase_entered_by_itself_come_before_it() -> None:
    writer = TrackWriter("run", PLAN, 1, 100)
    writer.take(step([105], 110, entered(105, "phase.entered", "climb", "conditions")))

    assert writer.track().moves[1] == Move(105, 106, Place("climb", "normal"))


def test_stays_share_the_rows_out() -> None:
    found = track([1.0] * 4, Move(3, 3, Place("climb")), Move(9, 9, Place("ground")))

    assert [(place.phase, rows.start, rows.stop) for place, rows in found.stays()] == [
        ("ground", 0, 2),
        ("climb", 2, 4),
        ("ground", 4, 4),
    ]


def test_the_setpoint_is_that_of_the_phase_and_none_where_it_is_not_watched() -> None:
    limit = Limit(
        "A.high",
        0,
        Kind.HIGH,
        setpoint=10.0,
        setpoint_in={"climb": 5.0},
        watched_in=frozenset({"climb", "hold"}),
    )
    found = track([1.0] * 4, Move(2, 2, Place("climb")), Move(4, 4, Place("hold")))

    assert found.setpoints(limit).tolist() == pytest.approx([np.nan, 5, 5, 10], nan_ok=True)


def test_at_the_setpoint_is_not_beyond_it_and_bad_is_nowhere() -> None:
    low = Limit("A.low", 0, Kind.LOW, setpoint=10.0)
    found = track([9.0, 10.0, 11.0, np.nan])

    assert found.beyond(HIGH).tolist() == [False, False, True, False]
    assert found.beyond(low).tolist() == [True, False, False, False]


CLIMB, GROUND = (Place(name, "normal") for name in ("climb", "ground"))


@pytest.mark.parametrize(
    ("kind", "values"),
    [
        (Kind.HIGH, [12.0, 9.5, 12.0, 8.9, 12.0, 12.0]),
        (Kind.LOW, [8.0, 10.5, 8.0, 11.1, 8.0, 8.0]),
    ],
)
def test_a_limit_that_sleeps_has_no_setpoint_until_the_value_was_inside_the_band(
    kind: Kind, values: list[float]
) -> None:
    limit = Limit("A.x", 0, kind, 10.0, deadband=1.0, is_arming=True)

    # At 9.5 (10.5) it is within the deadband, which is not inside.
    assert track(values).beyond(limit).tolist() == [False] * 4 + [True, True]


def test_one_that_was_never_inside_sleeps_all_along() -> None:
    limit = Limit("A.high", 0, Kind.HIGH, 10.0, is_arming=True)

    assert not track([12.0, 12.0]).beyond(limit).any()


def test_watched_again_it_has_to_wake_again_and_from_place_to_place_it_stays_awake() -> None:
    both = Limit("A.high", 0, Kind.HIGH, 10.0, is_arming=True)
    climb = Limit("A.high", 0, Kind.HIGH, 10.0, is_arming=True, watched_in=frozenset({"climb"}))
    moves = [Move(3, 3, CLIMB), Move(5, 5, GROUND), Move(7, 7, CLIMB)]
    found = track([5.0, 12.0, 5.0, 12.0, 12.0, 12.0, 12.0, 12.0], *moves)

    assert found.beyond(both).tolist() == [False, True, False, True, True, True, True, True]
    assert found.beyond(climb).tolist() == [False, False, False, True, *[False] * 4]
