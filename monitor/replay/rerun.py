"""The log of a run through the pipeline again, as fast as it goes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from drivers.registry import instrument_kinds
from monitor.errors import RecordError
from monitor.pipeline import Pipeline, Plan, Step
from monitor.record.frame import Frame
from monitor.record.input_log import FileHead, log_files
from monitor.record.log_reader import LogDamage, MissingSteps, read_head, read_log
from monitor.record.run_folder import STAND_FILE
from monitor.stand.load import load_stand
from monitor.stand.model import Stand

#: Steps of the record that are taken as one: how a run is cut changes nothing.
MOST_FRAMES = 4000
#: Size of the grid that one step may make: rows of the fastest instrument times columns.
_MOST_CELLS = 2_000_000
_NS_PER_S = 1_000_000_000


@dataclass(frozen=True, slots=True)
class RunFacts:
    """What a replay starts from.

    Attributes:
        folder: The run's folder.
        stand: The copy of its stand file, loaded as of the day on which the run began.
        started_ns: When that was.
    """

    folder: Path
    stand: Stand
    started_ns: int


@dataclass(frozen=True, slots=True)
class Passage:
    """Recorded steps and what the pipeline makes of them.

    Attributes:
        frames: The steps, at least one.
        step: The pipeline's, over all of them.
        is_sure: Whether the pipeline had all that it had in the run; not so behind a gap,
            until a state was found.
    """

    frames: tuple[Frame, ...]
    step: Step
    is_sure: bool


@dataclass(frozen=True, slots=True)
class Restart:
    """A file of the log begins. *is_restored*: behind a gap, its saved state was taken up."""

    head: FileHead
    is_restored: bool


RerunItem = Passage | Restart | LogDamage | MissingSteps


def run_facts(folder: Path) -> RunFacts:
    """Load what a replay starts from.

    Raises:
        RecordError: The folder holds no run that can be read.
        StandError: Its stand file cannot be used by this version.
    """
    heads = (read_head(path) for path in log_files(folder))
    head = next((head for head in heads if head is not None), None)
    if head is None:
        raise RecordError(str(folder), "no input log with an intact head; is it a run folder?")
    # The day decides whether a calibration was overdue: as it was, not as it is by now.
    day = datetime.fromtimestamp(head.started_ns // _NS_PER_S, UTC).date()
    stand = load_stand(folder / STAND_FILE, instrument_kinds(), today=day)
    return RunFacts(folder, stand, head.started_ns)


class Rerun:
    """Iterates over a run.

    Args:
        facts: From :func:`run_facts`.
        most_frames: Steps of the record that are taken as one, at most.
    """

    def __init__(self, facts: RunFacts, most_frames: int = MOST_FRAMES) -> None:
        """Stand at the beginning."""
        self._folder = facts.folder
        self._plan: Plan = facts.stand.plan
        self._most_frames = most_frames
        self._pipeline = Pipeline(self._plan, facts.started_ns)
        self._is_sure = True
        self._frames: list[Frame] = []
        self._rows: Counter[str] = Counter()

    def __iter__(self) -> Iterator[RerunItem]:
        """Give everything in the order of the record."""
        for item in read_log(self._folder):
            if isinstance(item, Frame):
                self._take(item)
                if self._is_enough():
                    yield from self._passage()
                continue
            yield from self._passage()
            if isinstance(item, FileHead):
                yield self._restart(item)
            else:
                self._is_sure &= not isinstance(item, MissingSteps)
                yield item
        yield from self._passage()

    def _take(self, frame: Frame) -> None:
        """Keep a step for the next passage."""
        self._frames.append(frame)
        for part in frame.admitted:
            self._rows[part.block.instrument] += len(part.block.t_ns)

    def _is_enough(self) -> bool:
        """Whether the steps that are kept make a passage."""
        rows = max(self._rows.values(), default=0)
        is_large = rows * len(self._plan.channels.column) >= _MOST_CELLS
        return is_large or len(self._frames) >= self._most_frames

    def _passage(self) -> Iterator[Passage]:
        """Run what is kept through the pipeline."""
        if not self._frames:
            return
        frames = tuple(self._frames)
        self._frames.clear()
        self._rows.clear()
        admitted = [part for frame in frames for part in frame.admitted]
        controls = [control for frame in frames for control in frame.controls]
        step = self._pipeline.step(admitted, controls, frames[-1].until_ns)
        yield Passage(frames, step, self._is_sure)

    def _restart(self, head: FileHead) -> Restart:
        """Take up the state in a head, if it is needed."""
        is_restored = bool(head.state) and not self._is_sure
        if is_restored:
            self._pipeline = Pipeline.restore(self._plan, head.state)
            self._is_sure = True
        return Restart(head, is_restored)
