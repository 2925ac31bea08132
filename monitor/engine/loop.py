"""The heart of the engine: steps the pipeline when data comes and on a tick."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator, Mapping, Sequence
from typing import Protocol

from drivers.reading import Block, Clock
from monitor.engine.board import Board
from monitor.engine.collector import Collector
from monitor.engine.gate import Gate
from monitor.engine.health import StepTimes
from monitor.events import Action, Control, Event, HostEvent, LinkChange
from monitor.pipeline import Step
from monitor.record.frame import Frame
from monitor.samples import Admitted

#: Without anything to do a step is made this often, for delays and staleness; real seconds.
TICK_S = 0.04
#: A frame is put this often, and sooner when there are events; real seconds.
FRAME_S = 0.2
EVENT_FRAME_S = 0.05
#: Numbers that may wait for a step; a step takes all, so this is a jam of seconds.
MOST_CELLS = 2_000_000
#: After a sleep of the machine a long time is stepped through in pieces, in ns of data time.
LONGEST_STEP_NS = 60_000_000_000
#: Turns of the loop from a call of a reading thread to its row.
_HANDOVER_TURNS = 2
#: However long a step took, the next one is not put off longer than this; real seconds.
_LONGEST_REST_S = 0.1
_REPORT_S = 1.0
_DROPPED = "rows dropped, too many at once"
_LATE = "rows too late, recorded and not evaluated"
_NOTHING: Mapping[str, int] = {}
#: The pipeline's state goes into the record this often, so that a restart is quick; real s.
CHECKPOINT_S = 600.0


class Steppable(Protocol):
    """What the heart needs of the pipeline."""

    until_ns: int

    def step(
        self, admitted: Sequence[Admitted], controls: Sequence[Control], until_ns: int
    ) -> Step:
        """Take what has come; evaluate everything up to and including *until_ns*."""

    def save(self) -> bytes:
        """Give the whole state."""


class FrameTaker(Protocol):
    """Where frames go. Never blocks."""

    @property
    def wants_state(self) -> bool:
        """Whether the next frame should bring the state of the pipeline after it."""

    def put(self, frame: Frame, events: Sequence[Event], state: bytes = b"") -> None:
        """Write a frame and its events as soon as may be."""


class Heart:
    """Takes blocks, link changes, actions and host events; gives steps and frames.

    All methods belong to the event loop's thread.

    Args:
        pipeline: The pipeline, at the W of *gate*.
        gate: Marks what is late and gives controls their time.
        clock: Data time.
        board: What displays are told.
        recorder: Where frames go.
        collector: Makes frames of steps.
    """

    def __init__(
        self,
        pipeline: Steppable,
        gate: Gate,
        clock: Clock,
        board: Board,
        recorder: FrameTaker,
        collector: Collector,
    ) -> None:
        """Take nothing before :meth:`run`."""
        self._pipeline = pipeline
        self._gate = gate
        self._clock = clock
        self._board = board
        self._recorder = recorder
        self._collector = collector
        self._admitted: list[Admitted] = []
        self._controls: list[Control] = []
        self._cells = 0
        self.dropped_rows = 0
        self._unreported_rows = 0
        self._reported_s = float("-inf")
        self.step_times = StepTimes()
        self._wake = asyncio.Event()
        self._timer: asyncio.TimerHandle | None = None
        self._tick_s = 0.0
        self._rest_until_s = 0.0
        self._framed_s = float("-inf")
        self._saved_s = self._now_s()

    def take(self, block: Block) -> Mapping[str, int]:
        """Take a block of readings; drop it, and say so, when too much waits already.

        Returns:
            Rows that are not evaluated, by reason.
        """
        if self._cells + block.values.size > MOST_CELLS:
            self.dropped_rows += len(block.t_ns)
            self._unreported_rows += len(block.t_ns)
            self._arm()
            return {_DROPPED: len(block.t_ns)}
        admitted = self._gate.admit(block)
        self._admitted.append(admitted)
        self._cells += block.values.size
        self._arm()
        return _NOTHING if admitted.late is None else {_LATE: int(admitted.late.sum())}

    def change_link(self, change: LinkChange) -> None:
        """Take a change of a link."""
        self._control(change)
        self._board.note_links()

    def act(self, action: Action) -> int:
        """Take an operator's action; give its effective time in ns."""
        return self._control(action)

    def host(self, event: HostEvent) -> int:
        """Take something that happened to the engine itself; give its effective time in ns."""
        return self._control(event)

    def gauges(self) -> dict[str, float]:
        """Give what the health page shows of this."""
        return {
            **self.step_times.gauges(),
            "numbers waiting": float(self._cells),
            "rows too late": float(self._gate.late_rows),
            "rows dropped": float(self.dropped_rows),
            "frames": float(self._collector.frames),
        }

    async def run(self) -> None:
        """Step until cancelled."""
        try:
            while True:
                self._arm()
                await self._wake.wait()
                now_ns = self._clock.now_ns()
                # What reading threads handed over before that moment is taken first: they wake
                # a task of the driver, which brings it here.
                for _ in range(_HANDOVER_TURNS):
                    await asyncio.sleep(0)
                self._wake.clear()
                self.step(now_ns)
                # Displays are told now; history and record take their turn after them.
                await asyncio.sleep(0)
                self.tidy()
        finally:
            self._disarm()

    def step(self, now_ns: int) -> None:
        """Evaluate what has come, as far as W may move at *now_ns*."""
        began_s = self._now_s()
        if self._unreported_rows and began_s - self._reported_s >= _REPORT_S:
            self._report_drops(began_s)
        self._evaluate(self._gate.advance(now_ns))
        ended_s = self._now_s()
        self.step_times.add(ended_s - began_s)
        self._tick_s = ended_s + TICK_S
        self._rest_until_s = ended_s + min(ended_s - began_s, _LONGEST_REST_S)

    def tidy(self) -> None:
        """Do what can wait until displays were told: history, and a frame if it is time."""
        self._board.remember()
        age_s = self._now_s() - self._framed_s
        if age_s >= (EVENT_FRAME_S if self._collector.has_events else FRAME_S):
            self._put_frame()

    def close(self, event: HostEvent) -> None:
        """Evaluate all that came and end with *event*, in a last frame."""
        if self._unreported_rows:
            self._report_drops(self._now_s())
        self._control(event)
        self._evaluate(self._gate.finish())
        self._board.remember()
        self._put_frame()
        self._disarm()

    def abandon(self) -> None:
        """After a fault: hand over the steps that were whole, and evaluate nothing more."""
        if not self._collector.is_empty:
            self._recorder.put(*self._collector.take())
        self._disarm()

    def _control(self, what: Action | LinkChange | HostEvent) -> int:
        """Let anything that is not a reading in."""
        control = self._gate.control(what, self._clock.now_ns())
        self._controls.append(control)
        self._arm()
        return control.t_ns

    def _evaluate(self, until_ns: int) -> None:
        """Step the pipeline with everything that waits."""
        admitted: Sequence[Admitted] = self._admitted
        controls: Sequence[Control] = self._controls
        if not admitted and not controls and until_ns <= self._pipeline.until_ns:
            return
        self._admitted, self._controls, self._cells = [], [], 0
        for cut_ns in _cuts(self._pipeline.until_ns, until_ns):
            step = self._pipeline.step(admitted, controls, cut_ns)
            self._collector.add(admitted, controls, step.events, cut_ns)
            self._board.publish(step)
            admitted = controls = ()

    def _put_frame(self) -> None:
        """Hand the steps since the last frame to the record."""
        if self._collector.is_empty:
            return
        now_s = self._framed_s = self._now_s()
        state = b""
        if self._recorder.wants_state or now_s - self._saved_s >= CHECKPOINT_S:
            self._saved_s = now_s
            state = self._pipeline.save()
        self._recorder.put(*self._collector.take(), state)

    def _report_drops(self, now_s: float) -> None:
        """Put into the journal how many rows were dropped since the last report."""
        rows, self._unreported_rows = self._unreported_rows, 0
        self._reported_s = now_s
        detail = "readings came faster than they could be evaluated"
        self.host(HostEvent("readings_dropped", detail, {"rows": rows}))

    def _arm(self) -> None:
        """Have a step made when it is due: for waiting rows, or else at the next tick."""
        if self._wake.is_set():
            return
        now_s = self._now_s()
        when_s = max(self._rest_until_s, min(self._tick_s, now_s + self._due_in_s()))
        if self._timer is not None and self._timer.when() <= when_s:
            return
        self._disarm()
        if when_s <= now_s:
            self._wake.set()
        else:
            self._timer = asyncio.get_running_loop().call_at(when_s, self._ring)

    def _due_in_s(self) -> float:
        """Give the real seconds until W may pass over what waits."""
        due_ns = self._gate.due_ns()
        if due_ns is None:
            return float("inf")
        return max(0.0, (due_ns - self._clock.now_ns()) * 1e-9 / self._clock.speed)

    def _ring(self) -> None:
        self._timer = None
        self._wake.set()

    def _disarm(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def _now_s(self) -> float:
        return asyncio.get_running_loop().time()


def _cuts(from_ns: int, until_ns: int) -> Iterator[int]:
    """Cut a span into ends of steps that are not too long."""
    while until_ns - from_ns > LONGEST_STEP_NS:
        from_ns += LONGEST_STEP_NS
        yield from_ns
    yield until_ns
