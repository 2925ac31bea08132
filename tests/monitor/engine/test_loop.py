"""Tests for monitor.engine.loop.

Source: hand-worked here. The pipeline is one that says what it was given.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager, suppress

import numpy as np
import pytest

from drivers.reading import Block
from monitor.engine import loop as module
from monitor.engine.board import Board, RunFacts
from monitor.engine.clock import RunClock
from monitor.engine.collector import Collector
from monitor.engine.gate import Gate
from monitor.engine.loop import Heart
from monitor.engine.supervise import LinkRecord
from monitor.events import Action, Control, Event, HostEvent, LinkChange
from monitor.link.messages import AlarmState, ForcedState, PhaseState, RecordingState, StandInfo
from monitor.pipeline import Step
from monitor.record.frame import Frame
from monitor.samples import Admitted, Bytes, Floats, Grid, Ints

SECOND_NS = 1_000_000_000
STAND = StandInfo("bench", "Bench", [], [], [], [], [], 0.1)


class Pipe:
    """A pipeline with one column: a row above 9 is an event; it keeps what it was given."""

    def __init__(self, until_ns: int) -> None:
        self.until_ns = until_ns
        self.waiting: list[tuple[int, float]] = []
        self.steps: list[tuple[int, int, int]] = []
        self.controls: list[Control] = []
        self.slow_s = 0.0

    def step(
        self, admitted: Sequence[Admitted], controls: Sequence[Control], until_ns: int
    ) -> Step:
        self.steps.append((len(admitted), len(controls), until_ns))
        self.controls += controls
        for part in admitted:
            pairs = zip(part.block.t_ns.tolist(), part.block.values[:, 0].tolist(), strict=True)
            self.waiting += pairs
        ready = [pair for pair in self.waiting if pair[0] <= until_ns]
        self.waiting = [pair for pair in self.waiting if pair[0] > until_ns]
        self.until_ns = until_ns
        events = [Event(t, "alarm.raised", "a.high", {"value": v}) for t, v in ready if v > 9]
        events += [Event(each.t_ns, "action.note", str(each.what)) for each in controls]
        rows = max(1, len(ready))
        grid = Grid(
            np.array([[t] for t, _ in ready] or [[0]], np.int64),
            np.array([[v] for _, v in ready] or [[0.0]]),
            np.zeros((rows, 1), np.uint8),
            np.array([len(ready)]),
        )
        return Step(until_ns, grid, tuple(events), ())

    def save(self) -> bytes:
        return b"W %d" % self.until_ns


class Nothing:
    def phase(self) -> PhaseState:
        return PhaseState("ground", 0)

    def alarm(self, position: int) -> AlarmState:
        raise AssertionError(position)

    def forced(self) -> list[ForcedState]:
        return []

    def newest(self) -> tuple[Ints, Floats, Bytes]:
        return np.zeros(1, np.int64), np.zeros(1), np.zeros(1, np.uint8)


class Record:
    def __init__(self) -> None:
        self.frames: list[Frame] = []
        self.events: list[Event] = []
        self.states: list[bytes] = []
        self.wants_state = False

    def put(self, frame: Frame, events: Sequence[Event], state: bytes = b"") -> None:
        self.frames.append(frame)
        self.events += events
        self.states.append(state)


class Bench:
    """A heart with all that belongs to it."""

    def __init__(self, lag_s: float = 0.0, speed: float = 1.0) -> None:
        self.clock = RunClock(speed=speed)
        start_ns = self.clock.now_ns()
        self.pipe = Pipe(start_ns)
        facts = RunFacts("run-1", start_ns, speed, STAND, np.array([0]), 0)
        links: dict[str, LinkRecord] = {}
        self.board = Board(facts, Nothing(), links, RecordingState("recording", "", "", 0, 0))
        self.record = Record()
        self.heart = Heart(
            self.pipe,
            Gate(start_ns, int(lag_s * SECOND_NS)),
            self.clock,
            self.board,
            self.record,
            Collector(),
        )

    def block(self, *values: float) -> Block:
        t_ns = self.clock.now_ns() + np.arange(len(values), dtype=np.int64)
        return Block("bench", ("a",), t_ns, np.array(values)[:, None])

    @asynccontextmanager
    async def running(self) -> AsyncIterator[None]:
        task = asyncio.create_task(self.heart.run(), name="heart")
        await asyncio.sleep(0.01)
        try:
            yield
        finally:
            task.cancel()
            with suppress(asyncio.CancelledError):
                await task

    def alarms(self) -> list[Event]:
        return [event for event in self.record.events if event.kind == "alarm.raised"]


async def published(board: Board, kind: str) -> float:
    """Wait until an event of that kind is on the board; give the loop's time."""
    loop = asyncio.get_running_loop()
    seen = loop.create_future()

    def look() -> None:
        if any(e.kind == kind for e in board.snapshot().events) and not seen.done():
            seen.set_result(loop.time())

    board.listeners.add(look)
    async with asyncio.timeout(2):
        return float(await seen)


async def test_without_lag_a_row_is_evaluated_as_soon_as_it_comes() -> None:
    bench = Bench()
    async with bench.running():
        told = asyncio.create_task(published(bench.board, "alarm.raised"))
        await asyncio.sleep(0.005)
        began = asyncio.get_running_loop().time()
        bench.heart.take(bench.block(10.0))
        took = await told - began

    assert took < 0.01


async def test_with_lag_a_row_is_evaluated_when_the_lag_has_passed_over_it() -> None:
    bench = Bench(lag_s=0.15)
    async with bench.running():
        told = asyncio.create_task(published(bench.board, "alarm.raised"))
        await asyncio.sleep(0.005)
        began = asyncio.get_running_loop().time()
        bench.heart.take(bench.block(10.0))
        took = await told - began

    # Well below the next tick: a step is made for the row, not at some time after it.
    assert 0.15 <= took < 0.15 + module.TICK_S / 2


async def test_blocks_that_come_together_are_evaluated_together() -> None:
    bench = Bench()
    async with bench.running():
        for _ in range(5):
            bench.heart.take(bench.block(1.0))
        await asyncio.sleep(0.01)

    assert [count for count, _, _ in bench.pipe.steps if count] == [5]


async def test_the_history_knows_what_was_evaluated() -> None:
    bench = Bench()
    async with bench.running():
        bench.heart.take(bench.block(1.0))
        await asyncio.sleep(0.02)
        while_running = bench.board.history.answer(0, 0, 2**62, 10)[1].tolist()
        bench.heart.take(bench.block(2.0))
    bench.heart.close(HostEvent("run_closed"))

    assert while_running == [1.0]
    assert bench.board.history.answer(0, 0, 2**62, 10)[1].tolist() == [1.0, 2.0]


async def test_w_moves_on_when_nothing_comes() -> None:
    bench = Bench(lag_s=0.1)
    async with bench.running():
        await asyncio.sleep(0.25)
        behind_ns = bench.clock.now_ns() - bench.pipe.until_ns

    assert len(bench.pipe.steps) >= 3
    assert behind_ns < int((0.1 + 3 * module.TICK_S) * SECOND_NS)


async def test_a_run_at_speed_keeps_the_lag_in_data_time() -> None:
    bench = Bench(lag_s=1.0, speed=10.0)
    async with bench.running():
        told = asyncio.create_task(published(bench.board, "alarm.raised"))
        await asyncio.sleep(0.005)
        began = asyncio.get_running_loop().time()
        bench.heart.take(bench.block(10.0))
        took = await told - began

    assert 0.1 <= took < 0.12


async def test_an_action_counts_from_now_and_is_evaluated_in_the_next_steps() -> None:
    bench = Bench(lag_s=0.05)
    async with bench.running():
        before_ns = bench.clock.now_ns()
        effective_ns = bench.heart.act(Action("silence", "", "K"))
        await published(bench.board, "action.note")

    assert before_ns <= effective_ns <= bench.clock.now_ns()
    assert bench.pipe.controls[0].t_ns == effective_ns


async def test_a_frame_is_put_in_time_and_holds_what_came() -> None:
    bench = Bench()
    async with bench.running():
        for _ in range(20):
            bench.heart.take(bench.block(1.0))
            await asyncio.sleep(0.02)
        rows = sum(len(frame.admitted) for frame in bench.record.frames)

    assert [frame.seq for frame in bench.record.frames] == [
        *range(1, len(bench.record.frames) + 1)
    ]
    # 0.4 s at a frame each 0.2 s, the first at once.
    assert 2 <= len(bench.record.frames) <= 3
    assert rows >= 10


async def test_an_event_is_in_a_frame_soon() -> None:
    bench = Bench()
    async with bench.running():
        await asyncio.sleep(0.06)
        bench.heart.take(bench.block(10.0))
        await asyncio.sleep(module.EVENT_FRAME_S + 2 * module.TICK_S)

        assert len(bench.alarms()) == 1


async def test_frames_and_w_never_leave_anything_out() -> None:
    bench = Bench(lag_s=0.02)
    async with bench.running():
        for number in range(50):
            bench.heart.take(bench.block(float(number % 8)))
            await asyncio.sleep(0.003)
    bench.heart.close(HostEvent("run_closed"))

    times = [int(part.block.t_ns[0]) for f in bench.record.frames for part in f.admitted]
    ends = [frame.until_ns for frame in bench.record.frames]
    assert len(times) == 50
    assert times == sorted(times)
    assert ends == sorted(ends)
    assert bench.pipe.waiting == []
    assert bench.record.frames[-1].controls[-1].what == HostEvent("run_closed")
    assert bench.record.frames[-1].controls[-1].t_ns <= ends[-1]


async def test_a_state_goes_with_the_frame_that_it_stands_after() -> None:
    bench = Bench()
    bench.heart.take(bench.block(1.0))
    bench.heart.step(bench.clock.now_ns())
    bench.heart.tidy()
    bench.record.wants_state = True
    bench.heart.close(HostEvent("run_closed"))

    first, last = bench.record.frames
    assert bench.record.states == [b"", b"W %d" % last.until_ns]
    assert last.until_ns > first.until_ns


async def test_too_much_at_once_is_dropped_counted_and_journalled(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "MOST_CELLS", 3)
    bench = Bench()
    async with bench.running():
        told = [
            dict(bench.heart.take(bench.block(*values)))
            for values in ((1.0, 2.0), (3.0, 4.0), (5.0,))
        ]
        await asyncio.sleep(0.1)

    reports = [control.what for control in bench.pipe.controls]
    assert [type(report) for report in reports] == [HostEvent]
    assert isinstance(reports[0], HostEvent)
    assert (reports[0].what, reports[0].numbers) == ("readings_dropped", {"rows": 2})
    assert bench.heart.gauges()["rows dropped"] == 2
    assert sum(blocks for blocks, _, _ in bench.pipe.steps) == 2
    assert told == [{}, {"rows dropped, too many at once": 2}, {}]


async def test_drops_not_told_yet_are_told_at_the_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_CELLS", 1)
    bench = Bench()
    bench.heart.take(bench.block(1.0, 2.0))

    bench.heart.close(HostEvent("run_closed"))

    assert [
        each.what.what for each in bench.pipe.controls if isinstance(each.what, HostEvent)
    ] == [
        "readings_dropped",
        "run_closed",
    ]


async def test_a_long_sleep_is_stepped_through_in_pieces(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "LONGEST_STEP_NS", 10 * SECOND_NS)
    bench = Bench()
    start_ns = bench.pipe.until_ns
    monkeypatch.setattr(bench.clock, "_anchor_ns", start_ns + 35 * SECOND_NS)
    bench.heart.take(bench.block(1.0))

    bench.heart.step(bench.clock.now_ns())

    assert [count for count, _, _ in bench.pipe.steps] == [1, 0, 0, 0]
    ends = [end - start_ns for _, _, end in bench.pipe.steps]
    assert ends[:3] == [10 * SECOND_NS, 20 * SECOND_NS, 30 * SECOND_NS]


async def test_slow_steps_leave_the_loop_to_others(monkeypatch: pytest.MonkeyPatch) -> None:
    bench = Bench()
    plain = bench.pipe.step

    def slow(admitted: Sequence[Admitted], controls: Sequence[Control], until_ns: int) -> Step:
        time.sleep(0.02)
        return plain(admitted, controls, until_ns)

    monkeypatch.setattr(bench.pipe, "step", slow)
    async with bench.running():
        began = asyncio.get_running_loop().time()
        while asyncio.get_running_loop().time() - began < 0.4:
            bench.heart.take(bench.block(1.0))
            await asyncio.sleep(0.001)

    # 0.4 s of which at most about half may go into steps of 0.02 s.
    assert len(bench.pipe.steps) <= 13


async def test_link_changes_reach_the_pipeline() -> None:
    bench = Bench()
    change = LinkChange("bench", False, "unplugged")
    bench.heart.change_link(change)

    bench.heart.close(HostEvent("run_closed"))

    assert bench.pipe.controls[0].what == change


def be_busy(seconds: float) -> None:
    time.sleep(seconds)


async def test_what_was_handed_over_before_a_tick_is_taken_before_its_step() -> None:
    bench = Bench()
    loop = asyncio.get_running_loop()
    rows: asyncio.Queue[Block] = asyncio.Queue()

    async def driver() -> None:
        while True:
            bench.heart.take(await rows.get())

    task = asyncio.create_task(driver(), name="driver")
    async with bench.running():
        for _ in range(8):
            bench.heart.take(bench.block(1.0))
            await asyncio.sleep(0.002)
            # The heart is about to step; meanwhile the loop is busy for a long time, and a
            # thread reads a row and hands it over.
            bench.heart.take(bench.block(2.0))
            row = bench.block(3.0)
            be_busy(0.15)
            loop.call_soon(rows.put_nowait, row)
        await asyncio.sleep(0.3)
    task.cancel()

    assert bench.heart.gauges()["rows too late"] == 0


async def test_a_failing_pipeline_ends_the_watch_and_is_not_hidden(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    bench = Bench()

    def fail(*_: object) -> Step:
        raise ZeroDivisionError

    monkeypatch.setattr(bench.pipe, "step", fail)
    bench.heart.take(bench.block(1.0))

    with pytest.raises(ZeroDivisionError):
        await asyncio.wait_for(bench.heart.run(), 1)


async def test_after_a_fault_the_steps_that_were_whole_are_handed_over(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    bench = Bench()
    bench.heart.take(bench.block(1.0))
    bench.heart.step(bench.clock.now_ns())
    whole_ns = bench.pipe.until_ns

    def fail(*_: object) -> Step:
        raise ZeroDivisionError

    monkeypatch.setattr(bench.pipe, "step", fail)
    bench.heart.take(bench.block(2.0))
    with pytest.raises(ZeroDivisionError):
        bench.heart.step(bench.clock.now_ns())
    bench.heart.abandon()
    bench.heart.abandon()

    assert [frame.until_ns for frame in bench.record.frames] == [whole_ns]
    assert len(bench.record.frames[0].admitted) == 1


async def test_gauges_tell_of_late_rows_and_frames() -> None:
    bench = Bench()
    block = bench.block(1.0)
    async with bench.running():
        await asyncio.sleep(0.3)
        told = bench.heart.take(block)
        await asyncio.sleep(3 * module.TICK_S)
    gauges = bench.heart.gauges()

    assert told == {"rows too late, recorded and not evaluated": 1}
    assert gauges["rows too late"] == 1
    assert gauges["frames"] >= 1
    assert gauges["steps"] >= 3
    assert gauges["numbers waiting"] == 0
