"""Tables and summary of a run, made anew from its log."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from monitor.errors import RecordError
from monitor.events import Event
from monitor.figures import RunJournal, alarm_figures
from monitor.record.frame import Frame
from monitor.record.journal import iso_time
from monitor.record.run_folder import run_state, write_summary
from monitor.record.tables import Samples, TableWriter
from monitor.record.tally import ChannelTally, EventTally
from monitor.replay.compare import Comparison, ReplayResult
from monitor.replay.raw import RawRows
from monitor.replay.rerun import Passage, Rerun, RunFacts, run_facts
from monitor.samples import Grid
from monitor.stand.model import ChannelEntry

_S_PER_NS = 1e-9


def rebuild(folder: Path) -> ReplayResult:
    """Make ``samples-NNN.parquet`` and, last, ``summary.json`` of a run anew.

    Returns:
        What the replay gave that this took.

    Raises:
        RecordError: The folder holds no run that can be read, or it is being recorded.
        StandError: Its stand file cannot be used by this version.
        OSError: As the system says.
    """
    if run_state(folder) == "recording":
        raise RecordError(str(folder), "is being recorded; close the run first")
    builder = _Builder(run_facts(folder))
    with contextlib.ExitStack() as undo:
        undo.callback(builder.tables.abandon)
        builder.run()
        undo.pop_all()
    files = builder.tables.close()
    result = builder.comparison.result()
    write_summary(folder, builder.summary(result, [file.name for file in files]))
    return result


class _Builder:
    """Goes through a run once."""

    def __init__(self, facts: RunFacts) -> None:
        """Begin."""
        self._facts = facts
        self._entries: tuple[ChannelEntry, ...] = facts.stand.channels
        self._raw = RawRows(facts.stand.plan.channels.measured)
        self._events = EventTally()
        self._journal: list[Event] = []
        self._tallies = [ChannelTally(facts.started_ns) for _ in self._entries]
        self._until_ns = facts.started_ns
        self._late_rows = 0
        self._rows = 0
        self.comparison = Comparison(facts.folder)
        pairs = [(entry.tag, entry.unit) for entry in self._entries]
        self.tables = TableWriter(facts.folder, pairs)

    def run(self) -> None:
        """Take everything in."""
        for item in Rerun(self._facts):
            if not self.comparison.is_over:
                self.comparison.add(item)
            if isinstance(item, Passage):
                self._passage(item)

    def _passage(self, passage: Passage) -> None:
        """Take some steps in."""
        self._until_ns = passage.step.until_ns
        self._events.add(passage.step.events)
        self._journal += passage.step.events
        self._count_rows(passage.frames)
        self._raw.add(passage.frames)
        for position, entry in enumerate(self._entries):
            self._channel(position, entry, passage.step.grid)
        self._raw.forget(self._until_ns)

    def _channel(self, position: int, entry: ChannelEntry, grid: Grid) -> None:
        """Take one channel's samples in, and its late readings."""
        rows = int(grid.count[entry.column])
        t_ns = grid.t_ns[:rows, entry.column]
        value = grid.value[:rows, entry.column]
        quality = grid.quality[:rows, entry.column]
        self._tallies[position].add(t_ns, value, quality)
        raw = self._raw.at(entry.tag, t_ns)
        self.tables.add(Samples(position, t_ns, raw, value, quality))
        late_ns, late_raw = self._raw.late(entry.tag)
        nothing = np.full(len(late_ns), np.nan)
        no_quality = np.zeros(len(late_ns), np.uint8)
        is_late = np.ones(len(late_ns), np.bool_)
        self.tables.add(Samples(position, late_ns, late_raw, nothing, no_quality, is_late))

    def _count_rows(self, frames: Sequence[Frame]) -> None:
        """Count rows of readings and those that were late."""
        for frame in frames:
            for part in frame.admitted:
                self._rows += len(part.block.t_ns)
                self._late_rows += 0 if part.late is None else int(np.count_nonzero(part.late))

    def summary(self, result: ReplayResult, files: Sequence[str]) -> dict[str, object]:
        """Put everything together."""
        end_ns, started_ns = self._until_ns, self._facts.started_ns
        run = RunJournal(self._facts.folder.name, started_ns, end_ns, tuple(self._journal))
        tallies = zip(self._entries, self._tallies, strict=True)
        return {
            "closed": self._events.is_closed,
            "stand": self._facts.stand.name,
            "title": self._facts.stand.title,
            "started": iso_time(started_ns),
            "started_ns": started_ns,
            "ended": iso_time(end_ns),
            "ended_ns": end_ns,
            "lasted_s": (end_ns - started_ns) * _S_PER_NS,
            "rows": self._rows,
            "late_rows": self._late_rows,
            "dropped_rows": self._events.dropped_rows,
            "steps": result.steps,
            "gaps": list(result.problems),
            "times_resumed": self._events.resumes,
            "recording_stops": self._events.stops,
            "journal": {
                "lines": result.journal.count,
                "head": result.journal.head,
                "intact": result.journal.broken_line == 0,
                "replay": result.verdict,
            },
            "phases": self._events.phases(end_ns),
            "alarms": self._events.alarms(end_ns),
            "alarm_figures": alarm_figures([run]).runs[0],
            "channels": {
                entry.tag: {"unit": entry.unit, **tally.result(end_ns)}
                for entry, tally in tallies
            },
            "tables": list(files),
        }
