"""Replay: the journal that the log gives again, against the one on disk, byte for byte."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import msgspec

from monitor.events import Event
from monitor.record.journal import Chain, JournalCheck, line_hash, read_lines, verify
from monitor.record.log_reader import MissingSteps
from monitor.record.run_folder import JOURNAL_FILE
from monitor.replay.rerun import MOST_FRAMES, Passage, Rerun, RerunItem, Restart, run_facts

#: ``equal``: every line. ``ahead``: the journal on disk goes further than the log, as a power
#: cut can leave it; up to there all lines are equal. ``behind``: it ends before the log does,
#: as a kill can leave it. ``gaps``: readings are missing, so some lines could not be made
#: again; all others are equal. ``differs``: see the line.
Verdict = Literal["equal", "ahead", "behind", "gaps", "differs"]


@dataclass(frozen=True, slots=True)
class ReplayResult:
    """What a replay gave.

    Attributes:
        verdict: See :data:`Verdict`.
        lines_made: Lines that the log gave again.
        lines_recorded: Whole lines of the journal on disk.
        lines_ahead: Lines on disk behind the last one that the log gives.
        lines_behind: Lines that the log gives behind the last one on disk.
        lines_unsure: Lines on disk whose readings are missing, so that they cannot be checked.
        line: Number of the first line that differs; 0 when none does.
        made: That line as the log gives it; empty when it gives none.
        recorded: That line as it is on disk; empty when there is none.
        steps: Steps in the log.
        problems: What of the log could not be read, for a person.
        journal: Whether the journal's own chain holds.
    """

    verdict: Verdict
    lines_made: int
    lines_recorded: int
    lines_ahead: int
    lines_behind: int
    lines_unsure: int
    line: int
    made: str
    recorded: str
    steps: int
    problems: tuple[str, ...]
    journal: JournalCheck

    @property
    def is_good(self) -> bool:
        """Whether nothing speaks against the record."""
        return self.verdict != "differs" and not self.journal.broken_line


def replay_run(folder: Path, *, chunk_frames: int | None = None) -> ReplayResult:
    """Run a recorded run through the pipeline again and compare the journals.

    Args:
        folder: The run's folder.
        chunk_frames: Steps of the record that are taken as one; changes nothing but speed.

    Raises:
        RecordError: The folder holds no run that can be read.
        StandError: Its stand file cannot be used by this version.
    """
    comparison = Comparison(folder)
    for item in Rerun(run_facts(folder), chunk_frames or MOST_FRAMES):
        comparison.add(item)
        if comparison.is_over:
            break
    return comparison.result()


class Comparison:
    """Compares while a run is replayed.

    Attributes:
        is_over: A line differs; what follows means nothing.
    """

    def __init__(self, folder: Path) -> None:
        """Read the journal on disk; one that is not there has no lines."""
        path = folder / JOURNAL_FILE
        self._recorded = read_lines(path)[0] if path.exists() else []
        self._check = verify(path) if path.exists() else JournalCheck(0, "", 0, "", 0)
        self._chain = Chain()
        self._made = 0
        self._unsure = 0
        self._steps = 0
        self._until_ns = 0
        self._is_sure = True
        self._may_jump = False
        self._problems: list[str] = []
        self._line, self._made_line, self._recorded_line = 0, "", ""

    @property
    def is_over(self) -> bool:
        """Whether a line differs."""
        return self._line > 0

    def add(self, item: RerunItem) -> None:
        """Take the next part of the replay."""
        if isinstance(item, Passage):
            self._passage(item)
        elif isinstance(item, Restart):
            self._restart(item)
        elif isinstance(item, MissingSteps):
            self._is_sure = False
            self._problems.append(f"steps {item.first} to {item.end - 1} are in no file")
        else:
            self._may_jump = True
            where = f"{item.file}: {item.length} bytes from byte {item.offset}"
            self._problems.append(f"{where}: {item.why}")

    def result(self) -> ReplayResult:
        """Say how it went."""
        self._refuse_what_the_log_should_have_given()
        rest = len(self._recorded) - self._chain.count
        if not self._is_sure and not self.is_over:
            self._unsure += max(rest, 0)
        is_at_end = self._is_sure and not self.is_over
        return ReplayResult(
            verdict=self._verdict(rest),
            lines_made=self._made,
            lines_recorded=len(self._recorded),
            lines_ahead=max(rest, 0) if is_at_end else 0,
            lines_behind=max(-rest, 0) if is_at_end else 0,
            lines_unsure=self._unsure,
            line=self._line,
            made=self._made_line,
            recorded=self._recorded_line,
            steps=self._steps,
            problems=tuple(self._problems),
            journal=self._check,
        )

    def _refuse_what_the_log_should_have_given(self) -> None:
        """A line on disk of a time that the log covers, and that it does not give, differs."""
        at = self._chain.count
        if self.is_over or not self._is_sure or at >= len(self._recorded):
            return
        if msgspec.json.decode(self._recorded[at])["t_ns"] <= self._until_ns:
            self._differ("")

    def _verdict(self, rest: int) -> Verdict:
        """Put the result into a word."""
        if self.is_over:
            return "differs"
        if self._unsure or not self._is_sure:
            return "gaps"
        if rest:
            return "ahead" if rest > 0 else "behind"
        return "equal"

    def _passage(self, passage: Passage) -> None:
        """Compare the lines of some steps."""
        self._steps += len(passage.frames)
        self._until_ns = passage.frames[-1].until_ns
        if not passage.is_sure:
            return
        count = passage.frames[0].journal_count
        if count > self._chain.count:
            self._jump(count)
        self._may_jump = False
        self._compare(passage.step.events)

    def _jump(self, count: int) -> None:
        """Go on behind lines that the log does not give.

        Only where the run was gone on with, or a head that would say so is damaged: the
        journal can have been ahead of the log there.
        """
        if not self._may_jump:
            self._differ("")
            return
        self._unsure += count - self._chain.count
        self._chain = Chain(count, self._hash(count))

    def _restart(self, restart: Restart) -> None:
        """A file begins; after a gap the lines go on where its head says."""
        self._may_jump = True
        if not restart.is_restored:
            return
        count, head = restart.head.journal_count, restart.head.journal_head
        self._unsure += max(count - self._chain.count, 0)
        self._chain = Chain(count, head)
        self._is_sure = True
        if self._hash(count) != head:
            self._chain.count = max(count - 1, 0)
            self._differ("")

    def _compare(self, events: Sequence[Event]) -> None:
        """Compare the lines of events with those on disk."""
        for event in events:
            if self.is_over:
                return
            line = self._chain.line(event)
            self._made += 1
            at = self._chain.count - 1
            if at < len(self._recorded) and line != self._recorded[at]:
                self._chain.count = at
                self._differ(line.decode())

    def _differ(self, made: str) -> None:
        """Keep the first line that differs: the one behind the chain."""
        at = self._chain.count
        self._line, self._made_line = at + 1, made
        self._recorded_line = (
            self._recorded[at].decode(errors="replace") if at < len(self._recorded) else ""
        )

    def _hash(self, count: int) -> str:
        """Give the hash of a line on disk; empty for the line before the first."""
        return line_hash(self._recorded[count - 1]) if 0 < count <= len(self._recorded) else ""
