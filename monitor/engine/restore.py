"""Going on with a run that was not closed: its log through the pipeline again, quickly."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from monitor.events import Event
from monitor.pipeline import Pipeline, Plan, Step
from monitor.record.frame import Frame
from monitor.record.input_log import FileHead
from monitor.record.journal import read_lines
from monitor.record.log_reader import LogDamage, LogItem, MissingSteps, read_log
from monitor.record.run_folder import JOURNAL_FILE, STAND_FILE, find_open
from monitor.samples import Admitted

#: Steps are joined until they hold so many numbers: a step costs the same for few as for many.
_CELLS = 200_000
#: Steps joined at most: between them lie delays and stale values, which cost memory, too.
_FRAMES = 1_000


@dataclass(slots=True)
class Restored:
    """A run as its log leaves it.

    Attributes:
        pipeline: The pipeline after the last step of the log.
        started_ns: When the run began.
        until_ns: W of the last step.
        unwritten: Events that the log gives and the journal lacks: it was killed between.
        lines_ahead: Lines that the journal has and the log does not give: after a power cut.
        problems: What of the log could not be read, for a person.
    """

    pipeline: Pipeline
    started_ns: int
    until_ns: int
    unwritten: list[Event] = field(default_factory=list)
    lines_ahead: int = 0
    problems: list[str] = field(default_factory=list)


class Restorer:
    """Runs a log through a pipeline, step by step, for who wants to see the steps.

    Args:
        folder: The run's folder.
        plan: The stand's plan, the same as when the run began.
    """

    def __init__(self, folder: Path, plan: Plan) -> None:
        """Read the journal's length, and the log as far as its first head."""
        self._plan = plan
        self._items = read_log(folder)
        head = next((item for item in self._items if isinstance(item, FileHead)), None)
        self._journal_lines = _line_count(folder)
        started_ns = 0 if head is None else head.started_ns
        self.run = Restored(Pipeline(plan, started_ns), started_ns, started_ns)
        self._events = 0
        self._is_doubtful = False

    def steps(self) -> Iterator[Step]:
        """Give every step; :attr:`run` is complete when there are no more."""
        pending: list[Frame] = []
        cells = 0
        for item in self._items:
            if isinstance(item, Frame):
                pending.append(item)
                cells += sum(part.block.values.size for part in item.admitted)
                if cells < _CELLS and len(pending) < _FRAMES:
                    continue
            yield from self._stepped(pending)
            pending, cells = [], 0
            self._note(item)
        yield from self._stepped(pending)
        self.run.lines_ahead = max(0, self._journal_lines - self._events)

    def _stepped(self, frames: list[Frame]) -> Iterator[Step]:
        """Evaluate frames in one step."""
        if not frames:
            return
        admitted: list[Admitted] = [part for frame in frames for part in frame.admitted]
        controls = [control for frame in frames for control in frame.controls]
        step = self.run.pipeline.step(admitted, controls, frames[-1].until_ns)
        self.run.until_ns = step.until_ns
        already = max(0, self._journal_lines - self._events)
        if not self._is_doubtful:
            self.run.unwritten += step.events[already:]
        self._events += len(step.events)
        yield step

    def _note(self, item: LogItem) -> None:
        """Take in what is not a step."""
        if isinstance(item, LogDamage):
            self.run.problems.append(
                f"{item.file}: {item.length} bytes at {item.offset}: {item.why}"
            )
        elif isinstance(item, MissingSteps):
            self._is_doubtful = True
            self.run.problems.append(f"steps {item.first} to {item.end - 1} are missing")
        elif isinstance(item, FileHead) and item.state and self._is_doubtful:
            # What was lost before this file is in the state that was saved at its head.
            self.run.pipeline = Pipeline.restore(self._plan, item.state)
            self._events = item.journal_count
            self._is_doubtful = False


def run_to_go_on_with(run_dir: Path, stand: str, stand_text: str) -> Path | None:
    """Give the newest run of this very stand file that was never closed."""
    folder = find_open(run_dir, stand)
    if folder is None:
        return None
    return folder if (folder / STAND_FILE).read_bytes() == stand_text.encode() else None


def _line_count(folder: Path) -> int:
    """Count the whole lines of the journal; a missing one has none."""
    path = folder / JOURNAL_FILE
    return len(read_lines(path)[0]) if path.exists() else 0
