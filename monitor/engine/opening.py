"""Beginning a run, or going on with one that was not closed."""

from __future__ import annotations

import logging
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np

from drivers.registry import instrument_kinds
from monitor.engine.board import Board, RunFacts
from monitor.engine.clock import RunClock
from monitor.engine.collector import Collector
from monitor.engine.describe import described
from monitor.engine.gate import HANDOVER_NS, Gate
from monitor.engine.restore import Restored, Restorer, left_open, run_to_go_on_with
from monitor.engine.standing import PipelineStanding
from monitor.engine.supervise import LinkRecord
from monitor.events import HostEvent
from monitor.link.messages import RecordingState
from monitor.pipeline import Pipeline
from monitor.record.input_log import log_files
from monitor.record.log_reader import read_head
from monitor.record.run_folder import STAND_FILE
from monitor.record.writer import RunStart, RunWriter
from monitor.samples import Ints
from monitor.stand.load import load_stand
from monitor.stand.model import Stand

_logger = logging.getLogger(__name__)

#: Where the pipeline says whether anything can be written.
_RECORDING_TAG = "host:recording"


@dataclass(frozen=True, slots=True)
class OpenRun:
    """A run that can be watched.

    Attributes:
        stand: What is watched.
        started_ns: When the run began.
        pipeline: At the W from which the run goes on.
        writer: Writes the run.
        clock: Data time, behind everything recorded.
        board: Knows the run so far.
        gate: At the same W as the pipeline.
        collector: Numbers the frames.
        links: The links of the instruments; filled by who starts them.
        first: What goes into the journal first.
        older: Files of the log whose readings no chart knows yet.
    """

    stand: Stand
    started_ns: int
    pipeline: Pipeline
    writer: RunWriter
    clock: RunClock
    board: Board
    gate: Gate
    collector: Collector
    links: dict[str, LinkRecord]
    first: tuple[HostEvent, ...]
    older: tuple[Path, ...]

    @property
    def columns(self) -> Ints:
        """Column of each channel that people see."""
        return _columns(self.stand)


def open_run(stand: Stand, run_dir: Path, speed: float, *, may_resume: bool) -> OpenRun:
    """Go on with the stand's open run, or begin a new one.

    Args:
        stand: What to watch.
        run_dir: The folder in which run folders are made.
        speed: Seconds of data time in a real second.
        may_resume: Whether an open run is gone on with.

    Raises:
        OSError: As the system says.
        RecordError: The open run cannot be gone on with; the text says why.
    """
    folder = run_to_go_on_with(run_dir, stand.name, stand.text) if may_resume else None
    if folder is not None:
        return _gone_on(stand, folder, speed)
    left = left_open(run_dir, stand.name)
    why = "it was not wanted" if not may_resume else "the stand file was changed since"
    note = f"{left.name} was not closed and is not gone on with: {why}" if left else ""
    if note and may_resume:
        _logger.warning("%s", note)
    return _begun(stand, run_dir, speed, note)


def _begun(stand: Stand, run_dir: Path, speed: float, note: str) -> OpenRun:
    """Begin a run; *note* tells of one that was left open."""
    clock = RunClock(speed=speed)
    started_ns = clock.anchor_ns
    pipeline = Pipeline(stand.plan, started_ns)
    start = RunStart(stand.name, stand.text, started_ns, pipeline.save())
    writer = RunWriter.create(run_dir, start)
    standing = PipelineStanding(pipeline, _columns(stand))
    links: dict[str, LinkRecord] = {}
    board = Board(
        _facts(stand, writer.folder, started_ns, speed), standing, links, _recording()
    )
    first = (HostEvent("run_started", "; ".join(filter(None, (stand.title, note)))),)
    return _open(OpenParts(stand, started_ns, pipeline, writer, clock, board, links), first, ())


def _gone_on(stand: Stand, folder: Path, speed: float) -> OpenRun:
    """Go on with a run: its state, its past and its journal as the log gives them."""
    stand = _as_it_began(stand, folder)
    restorer = Restorer(folder, stand.plan)
    run = restorer.run
    standing = PipelineStanding(run.pipeline, _columns(stand))
    links: dict[str, LinkRecord] = {}
    board = Board(_facts(stand, folder, run.started_ns, speed), standing, links, _recording())
    board.recall(run.shown)
    for step in restorer.steps():
        standing.pipeline = run.pipeline
        board.publish(step)
        board.remember()
    for problem in run.problems:
        _logger.warning("%s: %s", folder, problem)
    writer = RunWriter.resume(folder, run.pipeline.save())
    writer.write([], run.unwritten)
    clock = RunClock(run.until_ns, speed)
    parts = OpenParts(stand, run.started_ns, run.pipeline, writer, clock, board, links)
    return _open(parts, _resumed(run, clock), tuple(restorer.older))


@dataclass(frozen=True, slots=True)
class OpenParts:
    """What both ways to open a run give."""

    stand: Stand
    started_ns: int
    pipeline: Pipeline
    writer: RunWriter
    clock: RunClock
    board: Board
    links: dict[str, LinkRecord]


def _open(parts: OpenParts, first: tuple[HostEvent, ...], older: tuple[Path, ...]) -> OpenRun:
    """Add what follows from the parts."""
    speed = parts.clock.speed
    return OpenRun(
        stand=parts.stand,
        started_ns=parts.started_ns,
        pipeline=parts.pipeline,
        writer=parts.writer,
        clock=parts.clock,
        board=parts.board,
        gate=Gate(
            parts.pipeline.until_ns,
            _lag_ns(parts.stand, speed),
            int(HANDOVER_NS * speed),
            parts.writer.control_seq + 1,
        ),
        collector=Collector(parts.writer.next_seq),
        links=parts.links,
        first=first,
        older=older,
    )


def _as_it_began(stand: Stand, folder: Path) -> Stand:
    """Give the stand with the plan that the run began with.

    Whether a calibration is overdue is decided by the day on which a run begins: a restart
    after midnight must not change what a replay gives.
    """
    head = next(filter(None, map(read_head, log_files(folder))), None)
    if head is None:
        return stand
    began = datetime.fromtimestamp(head.started_ns // 10**9, UTC).date()
    if began == _today():
        return stand
    loaded = load_stand(folder / STAND_FILE, instrument_kinds(), None, began)
    return replace(stand, plan=loaded.plan)


def _today() -> date:
    return datetime.now(UTC).date()


def _resumed(run: Restored, clock: RunClock) -> tuple[HostEvent, ...]:
    """Say how long nobody watched, and what was found."""
    numbers = {"gap_ns": clock.anchor_ns - run.until_ns}
    if run.lines_ahead:
        numbers["journal_lines_ahead"] = run.lines_ahead
    resumed = HostEvent("run_resumed", "; ".join(run.problems), numbers)
    column = run.pipeline.plan.channels.column.get(_RECORDING_TAG)
    if column is None or run.pipeline.channels.last_value[column] != 1:
        return (resumed,)
    return resumed, HostEvent("recording_resumed", "the run is gone on with")


def _lag_ns(stand: Stand, speed: float) -> int:
    """Give how far W stays behind the clock, in ns of data time.

    What takes some real time on the wire takes N times as much in data time.
    """
    return stand.lag_ns + int(max(0.0, speed - 1) * HANDOVER_NS)


def _columns(stand: Stand) -> Ints:
    """Give the column of each channel that people see."""
    return np.array([entry.column for entry in stand.channels], np.int64)


def _facts(stand: Stand, folder: Path, started_ns: int, speed: float) -> RunFacts:
    """Put together what does not change in the run."""
    return RunFacts(
        run_id=folder.name,
        started_ns=started_ns,
        speed=speed,
        stand=described(replace(stand, lag_ns=_lag_ns(stand, speed))),
        columns=_columns(stand),
        alarms=len(stand.plan.limits),
    )


def _recording() -> RecordingState:
    """Stand in until the recorder says how the recording stands."""
    return RecordingState("recording", "", "", 0, 0)
