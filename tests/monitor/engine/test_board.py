"""Tests for monitor.engine.board.

Source: hand-worked here.
"""

from __future__ import annotations

import numpy as np
import pytest

from drivers.reading import Block
from monitor.engine import backlog as backlog_module
from monitor.engine.board import Board, RunFacts
from monitor.engine.supervise import LinkRecord
from monitor.events import Event, EventKind, LinkChange
from monitor.link.messages import (
    AlarmState,
    Change,
    Column,
    ForcedState,
    PhaseState,
    RecordingState,
    Snapshot,
    StandInfo,
    Value,
)
from monitor.pipeline import Step
from monitor.samples import Bytes, Floats, Grid, Ints, Quality

SECOND_NS = 1_000_000_000
STARTED_NS = 10 * SECOND_NS
STAND = StandInfo("bench", "Bench", [], [], [], ["panel"], [], 0.1)
RECORDING = RecordingState("recording", "/runs/one", "", 0, 0)


class Standing:
    """What stands, as a test says."""

    def __init__(self) -> None:
        self.phase_now = PhaseState("ground", STARTED_NS)
        self.active: set[int] = set()
        self.forced_now: list[ForcedState] = []

    def phase(self) -> PhaseState:
        return self.phase_now

    def alarm(self, position: int) -> AlarmState:
        return AlarmState(f"limit {position}", is_active=position in self.active)

    def forced(self) -> list[ForcedState]:
        return self.forced_now

    def newest(self) -> tuple[Ints, Floats, Bytes]:
        return (
            np.array([5, 6, 7]),
            np.array([1.5, np.nan, 3.0]),
            np.array([Quality.GOOD, Quality.STALE, Quality.FORCED], np.uint8),
        )


class NoTaker:
    def take(self, block: Block) -> dict[str, int]:
        raise AssertionError("no block in this test")

    def change_link(self, change: LinkChange) -> None:
        self.change = change


def step(
    until_s: float,
    rows: dict[int, list[tuple[int, float]]] | None = None,
    events: tuple[Event, ...] = (),
    alarms: tuple[int, ...] = (),
) -> Step:
    """Make a step over a grid of four columns, of which 1 to 3 are shown."""
    rows = rows or {}
    deepest = max([1, *(len(pairs) for pairs in rows.values())])
    grid = Grid(
        np.zeros((deepest, 4), np.int64),
        np.zeros((deepest, 4)),
        np.zeros((deepest, 4), np.uint8),
        np.zeros(4, np.int64),
    )
    for column, pairs in rows.items():
        grid.count[column] = len(pairs)
        for k, (t_ns, value) in enumerate(pairs):
            grid.t_ns[k, column], grid.value[k, column] = t_ns, value
    return Step(STARTED_NS + int(until_s * SECOND_NS), grid, events, alarms)


def column(channel: int, *pairs: tuple[int, float]) -> Column:
    return Column(
        channel,
        np.array([t for t, _ in pairs], np.int64).tobytes(),
        np.array([v for _, v in pairs], np.float64).tobytes(),
        bytes(len(pairs)),
    )


@pytest.fixture
def standing() -> Standing:
    return Standing()


@pytest.fixture
def link() -> LinkRecord:
    return LinkRecord("panel", NoTaker(), lambda: STARTED_NS)


@pytest.fixture
def board(standing: Standing, link: LinkRecord) -> Board:
    facts = RunFacts("run-1", STARTED_NS, 1.0, STAND, np.array([1, 2, 3]), 5)
    made = Board(facts, standing, {"panel": link}, RECORDING)
    made.note_links()
    return made


def change(board: Board, seq: int) -> Change:
    got = board.change_since(seq)
    assert isinstance(got, Change)
    return got


def test_a_snapshot_holds_the_newest_values_and_no_number_where_bad(board: Board) -> None:
    assert board.snapshot().values == [
        Value(5, 1.5, Quality.GOOD),
        Value(6, None, Quality.STALE),
        Value(7, 3.0, Quality.FORCED),
    ]


def test_a_snapshot_is_complete(board: Board) -> None:
    event = Event(STARTED_NS, "run.started", "")
    board.publish(step(0.0, events=(event,)))
    board.note_health({"steps": 1.0})
    snapshot = board.snapshot()

    assert (snapshot.run_id, snapshot.started_ns, snapshot.speed) == ("run-1", STARTED_NS, 1.0)
    assert snapshot.stand == STAND
    assert snapshot.phase == PhaseState("ground", STARTED_NS)
    assert [alarm.id for alarm in snapshot.alarms] == [f"limit {i}" for i in range(5)]
    assert snapshot.events == [event]
    assert [state.instrument for state in snapshot.links] == ["panel"]
    assert snapshot.recording == RECORDING
    assert snapshot.health == {"steps": 1.0}


def test_rows_of_several_steps_come_merged_and_in_peoples_order(board: Board) -> None:
    before = board.seq
    board.publish(step(1, {0: [(9, 9.0)], 1: [(11, 1.0)], 3: [(12, 2.0)]}))
    board.publish(step(2, {1: [(21, 3.0), (22, 4.0)]}))

    got = change(board, before)

    assert got.columns == [column(0, (11, 1.0), (21, 3.0), (22, 4.0)), column(2, (12, 2.0))]
    assert got.until_ns == STARTED_NS + 2 * SECOND_NS
    assert got.seq == board.seq


def test_what_was_taken_does_not_come_again(board: Board) -> None:
    board.publish(step(1, {1: [(11, 1.0)]}, (Event(1, "link.up", "panel"),), (2,)))

    got = change(board, board.seq)

    assert (got.columns, got.events, got.alarms) == ([], [], [])
    assert (got.links, got.phase, got.recording, got.health) == ([], None, None, None)


def test_an_alarm_that_changed_twice_is_told_once_as_it_stands_now(
    board: Board, standing: Standing
) -> None:
    before = board.seq
    standing.active = {3}
    board.publish(step(1, alarms=(3,)))
    standing.active = set()
    board.publish(step(2, alarms=(3, 1)))

    assert change(board, before).alarms == [AlarmState("limit 1"), AlarmState("limit 3")]


def test_an_event_is_urgent_and_a_value_is_not(board: Board) -> None:
    board.publish(step(1, {1: [(11, 1.0)]}))
    assert board.urgent_seq < board.seq

    board.publish(step(2, events=(Event(1, "link.up", "panel"),)))

    assert board.urgent_seq == board.seq


def test_a_phase_is_told_when_it_changes(board: Board, standing: Standing) -> None:
    before = board.seq
    standing.phase_now = PhaseState("climb", STARTED_NS + 5)
    board.publish(step(1, events=(Event(1, "phase.entered", "climb"),)))

    assert change(board, before).phase == standing.phase_now
    assert change(board, board.seq).phase is None


def test_a_link_is_told_when_it_changes(board: Board, link: LinkRecord) -> None:
    before = board.seq
    board.note_links()
    assert change(board, before).links == []

    link.opened("port opened")
    link.count("noise", 2, "abc")
    board.note_links()

    (told,) = change(board, before).links
    assert (told.is_up, told.why, told.counts, told.examples) == (
        True,
        "port opened",
        {"noise": 2},
        {"noise": "abc"},
    )


def test_what_was_told_of_a_link_does_not_change_afterwards(
    board: Board, link: LinkRecord
) -> None:
    before = board.seq
    link.count("noise")
    board.note_links()
    told = change(board, before).links[0]
    link.count("noise")

    assert told.counts == {"noise": 1}


def test_the_recording_is_told_when_it_changes(board: Board) -> None:
    before = board.seq
    stopped = RecordingState("stopped", "/runs/one", "disk full", 9, 5)
    board.note_recording(RECORDING)
    assert change(board, before).recording is None

    board.note_recording(stopped)

    assert change(board, before).recording == stopped


def test_who_has_fallen_behind_gets_a_snapshot(
    board: Board, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(backlog_module, "MOST_ROWS", 2)
    before = board.seq
    for second in range(4):
        board.publish(step(second, {1: [(second, 1.0)]}))

    assert isinstance(board.change_since(before), Snapshot)
    assert isinstance(board.change_since(board.seq - 1), Change)


def test_the_history_takes_what_was_published(board: Board) -> None:
    board.publish(step(1, {1: [(11, 1.0)], 2: [(12, 5.0)]}))
    assert board.history.answer(0, 0, 99, 10)[0].tolist() == []

    board.remember()
    board.remember()

    assert board.history.answer(0, 0, 99, 10)[0].tolist() == [11]
    assert board.history.answer(1, 0, 99, 10)[1].tolist() == [5.0]


def test_steps_without_anything_are_told_now_and_then(board: Board) -> None:
    before = board.seq
    for tick in range(50):
        board.publish(step(tick * 0.02))

    assert board.until_ns == STARTED_NS + int(0.98 * SECOND_NS)
    assert board.seq - before == 4


def test_listeners_hear_of_everything_published(board: Board, link: LinkRecord) -> None:
    heard: list[int] = []
    board.listeners.add(lambda: heard.append(board.seq))

    board.publish(step(1, {1: [(11, 1.0)]}))
    board.note_health({})

    assert heard == [3, 4]


def test_events_from_before_a_restart_are_shown(board: Board) -> None:
    before = board.seq
    event = Event(1, "run.started", "")
    board.recall([event])

    assert board.snapshot().events == [event]
    assert change(board, before).events == [event]
    assert change(board, board.seq).events == []


def test_listeners_hear_of_links_and_of_the_recording(board: Board, link: LinkRecord) -> None:
    heard: list[int] = []
    board.listeners.add(lambda: heard.append(board.seq))
    link.opened("port opened")

    board.note_links()
    board.note_recording(RecordingState("stopped", "", "disk full", 0, 0))

    assert heard == [3, 4]


def test_a_good_value_that_is_no_number_is_not_shown_as_one(
    board: Board, standing: Standing, monkeypatch: pytest.MonkeyPatch
) -> None:
    waiting = (np.zeros(1, np.int64), np.array([np.nan]), np.array([Quality.GOOD], np.uint8))
    monkeypatch.setattr(standing, "newest", lambda: waiting)

    assert board.snapshot().values == [Value(0, None, Quality.GOOD)]


def test_health_is_told_after_it_changed_and_not_again(board: Board) -> None:
    before = board.seq
    board.note_health({"steps": 2.0})

    assert change(board, before).health == {"steps": 2.0}
    assert change(board, board.seq).health is None


def alarms_since(board: Board, seq: int) -> list[str]:
    """Give the alarms of which a display that has *seq* is told."""
    change = board.change_since(seq)
    assert isinstance(change, Change)
    return [alarm.id for alarm in change.alarms]


@pytest.mark.parametrize("kind", ["limit.edited", "limit.armed"])
def test_a_limit_that_is_edited_or_wakes_is_told_though_its_alarm_did_not_turn(
    board: Board, kind: EventKind
) -> None:
    seq = board.seq

    board.publish(step(1.0, events=(Event(STARTED_NS, kind, "limit 3", {}),)))

    assert alarms_since(board, seq) == ["limit 3"]


def test_an_event_of_something_else_tells_of_no_alarm(board: Board) -> None:
    seq = board.seq

    board.publish(step(1.0, events=(Event(STARTED_NS, "action.note", "limit 3", {}),)))

    assert alarms_since(board, seq) == []


@pytest.mark.parametrize(
    "phase",
    [
        PhaseState("climb", STARTED_NS),
        PhaseState("ground", STARTED_NS, "loop_only", STARTED_NS),
        PhaseState("ground", STARTED_NS, is_lapsed=True),
    ],
)
def test_every_alarm_is_told_when_other_setpoints_may_be_in_force(
    board: Board, standing: Standing, phase: PhaseState
) -> None:
    seq = board.seq
    standing.phase_now = phase

    board.publish(step(1.0, events=(Event(STARTED_NS, "mode.entered", "x", {}),)))

    assert len(alarms_since(board, seq)) == 5


def test_a_first_snapshot_tells_of_links_before_anything_was_noted(
    standing: Standing, link: LinkRecord
) -> None:
    facts = RunFacts("run-1", STARTED_NS, 1.0, STAND, np.array([1, 2, 3]), 5)

    board = Board(facts, standing, {"panel": link}, RECORDING)

    assert [state.instrument for state in board.snapshot().links] == ["panel"]


def test_forced_values_are_told_when_they_change_and_in_a_snapshot(
    board: Board, standing: Standing
) -> None:
    seq, forced = board.seq, ForcedState("PT-1", 5.0, 1, 2, "K", "", "wet")
    standing.forced_now = [forced]

    board.publish(step(1.0, events=(Event(STARTED_NS, "value.forced", "PT-1", {}),)))

    change = board.change_since(seq)
    assert isinstance(change, Change)
    assert change.forced == [forced]
    assert board.snapshot().forced == [forced]
    later = board.change_since(board.seq)
    assert isinstance(later, Change)
    assert later.forced is None
