"""Going on with a run that was not closed: its state from its log, its past from its journal.

The log holds the pipeline's state at the head of its files. What comes after the newest one is
run through the pipeline, which takes a second or two however long the run is. The older part
only matters for charts and is brought in later, see ``monitor.engine.backfill``.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import chain, islice
from pathlib import Path

import msgspec

from monitor.events import Event
from monitor.pipeline import Pipeline, Plan, Step
from monitor.record.frame import Frame
from monitor.record.input_log import FileHead, log_files
from monitor.record.journal import read_lines
from monitor.record.log_reader import LogDamage, LogItem, MissingSteps, read_head, read_log
from monitor.record.run_folder import JOURNAL_FILE, STAND_FILE, run_state
from monitor.samples import Admitted

#: Frames are joined to one step until they hold so many numbers: a step costs much the same
#: for few as for many.
CELLS = 200_000
#: Frames joined at most: between them lie delays and stale values, which cost memory, too.
_FRAMES = 1_000
#: Events of the journal that are shown again.
_SHOWN_EVENTS = 2_000

#: A line of the journal is an event with its place in the chain around it.
_EVENT = msgspec.json.Decoder(Event)


@dataclass(slots=True)
class Restored:
    """A run as its log leaves it.

    Attributes:
        pipeline: The pipeline after the last step of the log.
        started_ns: When the run began.
        until_ns: W of the last step.
        shown: Events before the steps that are run again, newest part of the journal.
        unwritten: Events that the log gives and the journal lacks: it was killed between.
        lines_ahead: Lines that the journal has and the log does not give: after a power cut.
        problems: What of the log could not be read, for a person.
    """

    pipeline: Pipeline
    started_ns: int
    until_ns: int
    shown: list[Event] = field(default_factory=list)
    unwritten: list[Event] = field(default_factory=list)
    lines_ahead: int = 0
    problems: list[str] = field(default_factory=list)


class Restorer:
    """Runs the end of a log through a pipeline.

    Args:
        folder: The run's folder.
        plan: The stand's plan, the same as when the run began.

    Attributes:
        run: What is restored; complete when :meth:`steps` has ended.
        older: Files of the log before those that are run again.

    Raises:
        RecordError: The log cannot be read.
    """

    def __init__(self, folder: Path, plan: Plan) -> None:
        """Find the newest state to start from."""
        lines = _journal(folder)
        files = log_files(folder)
        first = _first_to_read(files, len(lines))
        self.older = files[:first]
        self._replay = replay = Replay(folder, plan, files[first:])
        self._journal_lines = len(lines)
        shown = lines[: replay.journal_count][-_SHOWN_EVENTS:]
        self.run = Restored(
            replay.pipeline, replay.started_ns, replay.pipeline.until_ns, _events_of(shown)
        )

    def steps(self) -> Iterator[Step]:
        """Give every step."""
        replay, run = self._replay, self.run
        for step in replay.steps():
            run.pipeline, run.until_ns = replay.pipeline, step.until_ns
            before = replay.journal_count - len(step.events)
            if not replay.is_doubtful:
                run.unwritten += step.events[max(0, self._journal_lines - before) :]
            yield step
        run.pipeline, run.problems = replay.pipeline, replay.problems
        run.lines_ahead = max(0, self._journal_lines - replay.journal_count)


class Replay:
    """Runs files of a log through a pipeline, from the state at the head of the first one.

    Args:
        folder: The run's folder.
        plan: The stand's plan.
        files: Neighbouring files of its log.
        cells: Frames are joined to one step until they hold so many numbers.

    Attributes:
        pipeline: The pipeline.
        started_ns: When the run began.
        journal_count: Lines that the journal has after the last step.
        is_doubtful: Steps were lost, and no state has come since.
        problems: What could not be read, for a person.
    """

    def __init__(
        self, folder: Path, plan: Plan, files: Sequence[Path], cells: int = CELLS
    ) -> None:
        """Read as far as the first head."""
        self._plan = plan
        self._cells = cells
        items = read_log(folder, files)
        first = list(islice(items, 1))
        self._items = chain(first, items)
        head = first[0] if first and isinstance(first[0], FileHead) else None
        self.started_ns = 0 if head is None else head.started_ns
        self.journal_count = 0 if head is None else head.journal_count
        self.pipeline = (
            Pipeline.restore(plan, head.state)
            if head is not None and head.state
            else Pipeline(plan, self.started_ns)
        )
        self.is_doubtful = False
        self.problems: list[str] = []

    def steps(self) -> Iterator[Step]:
        """Give every step."""
        pending: list[Frame] = []
        cells = 0
        for item in self._items:
            if isinstance(item, Frame):
                pending.append(item)
                cells += sum(part.block.values.size for part in item.admitted)
                if cells < self._cells and len(pending) < _FRAMES:
                    continue
            yield from self._stepped(pending)
            pending, cells = [], 0
            self._note(item)
        yield from self._stepped(pending)

    def _stepped(self, frames: list[Frame]) -> Iterator[Step]:
        """Evaluate frames in one step."""
        if not frames:
            return
        admitted: list[Admitted] = [part for frame in frames for part in frame.admitted]
        controls = [control for frame in frames for control in frame.controls]
        step = self.pipeline.step(admitted, controls, frames[-1].until_ns)
        self.journal_count += len(step.events)
        yield step

    def _note(self, item: LogItem) -> None:
        """Take in what is not a step."""
        if isinstance(item, LogDamage):
            self.problems.append(
                f"{item.file}: {item.length} bytes at {item.offset}: {item.why}"
            )
        elif isinstance(item, MissingSteps):
            self.is_doubtful = True
            self.problems.append(f"steps {item.first} to {item.end - 1} are missing")
        elif isinstance(item, FileHead) and item.state and self.is_doubtful:
            # What was lost before this file is in the state that was saved at its head.
            self.pipeline = Pipeline.restore(self._plan, item.state)
            self.journal_count = item.journal_count
            self.is_doubtful = False


def run_to_go_on_with(run_dir: Path, stand: str, stand_text: str) -> Path | None:
    """Give the stand's newest run, if it is of this very stand file and was never closed.

    Only heads are read: there may be years of runs in the folder.
    """
    folder = left_open(run_dir, stand)
    if folder is None or (folder / STAND_FILE).read_bytes() != stand_text.encode():
        return None
    return folder


def left_open(run_dir: Path, stand: str) -> Path | None:
    """Give the stand's newest run, if it was never closed and nobody records it."""
    for folder in sorted(run_dir.glob("run-*"), reverse=True):
        files = log_files(folder)
        head = read_head(files[0]) if files else None
        if head is not None and head.stand == stand:
            return folder if run_state(folder) == "open" else None
    return None


def _first_to_read(files: Sequence[Path], journal_lines: int) -> int:
    """Find the newest file with a state to start from.

    A state that is ahead of the journal will not do: the lines between could not be written.
    """
    for position in range(len(files) - 1, 0, -1):
        head = read_head(files[position])
        if head is not None and head.state and head.journal_count <= journal_lines:
            return position
    return 0


def _journal(folder: Path) -> list[bytes]:
    """Give the whole lines of the journal; a missing one has none."""
    path = folder / JOURNAL_FILE
    return read_lines(path)[0] if path.exists() else []


def _events_of(lines: Sequence[bytes]) -> list[Event]:
    """Read lines of the journal; one that is broken is left to those who check it."""
    events = []
    for line in lines:
        with contextlib.suppress(msgspec.DecodeError):
            events.append(_EVENT.decode(line))
    return events
