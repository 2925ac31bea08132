"""A recorded run under two stands: its own, and the one that is to come."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import msgspec

from drivers.registry import instrument_kinds
from monitor.display.state.text import clock_text
from monitor.pipeline import Step
from monitor.record.journal import read_lines
from monitor.record.run_folder import JOURNAL_FILE
from monitor.rehearse.changes import changes
from monitor.rehearse.compare import LimitOutcome, compare
from monitor.rehearse.feed import Hole, portions
from monitor.rehearse.fit import load_new, notes_on
from monitor.rehearse.side import Entered, Side
from monitor.replay.rerun import RunFacts, run_facts
from monitor.stand.model import Stand

#: Is told W in ns now and then.
Listener = Callable[[int], None]
#: Is given each step of the new stand.
Watcher = Callable[[Step], None]
#: Lines of one kind that are told; more are counted.
_MOST_TOLD = 10


@dataclass(frozen=True, slots=True)
class Case:
    """A run and the stand to rehearse with it.

    Attributes:
        facts: The run, with its own stand.
        new: The stand to come, loaded as of the run's day.
    """

    facts: RunFacts
    new: Stand

    @property
    def name(self) -> str:
        """The run's name."""
        return self.facts.folder.name


@dataclass(frozen=True, slots=True)
class RunOutcome:
    """What a run gave under both stands.

    Attributes:
        run: Its name.
        started_ns: When it began.
        ended_ns: The last W that was recorded.
        limits: What became of each limit, those that did not differ too.
        changes: What the new stand says otherwise about a limit, by its id.
        notes: What a person must know to judge it.
    """

    run: str
    started_ns: int
    ended_ns: int
    limits: tuple[LimitOutcome, ...]
    changes: Mapping[str, tuple[str, ...]]
    notes: tuple[str, ...]

    @property
    def differs(self) -> bool:
        """Whether any alarm differs."""
        return any(row.differs for row in self.limits)


def case_of(folder: Path, stand: Path) -> Case:
    """Load a run's own stand and the new one; reads no readings.

    Raises:
        RecordError: The folder holds no run that can be read.
        StandError: One of the stand files cannot be used, or the run lacks a signal.
    """
    facts = run_facts(folder)
    kinds = instrument_kinds()
    return Case(facts, load_new(stand, kinds, folder.name, facts.stand, facts.started_ns))


def rehearse(
    case: Case, listen: Listener | None = None, watch: Watcher | None = None
) -> RunOutcome:
    """Run the readings of a run through both stands; the log is read once.

    Raises:
        RecordError: The log cannot be read.
    """
    facts = case.facts
    old = Side(facts.stand.plan, facts.started_ns)
    new = Side(case.new.plan, facts.started_ns)
    columns = max(len(side.plan.channels.column) for side in (old, new))
    holes = []
    for portion in portions(facts.folder, columns):
        if isinstance(portion, Hole):
            holes.append(f"in the log: {portion.text}; what came in them is lost to both")
            continue
        old.take(portion)
        step = new.take(portion)
        if watch is not None:
            watch(step)
        if listen is not None:
            listen(portion.until_ns)
    limits = compare(
        old.occurrences(),
        new.occurrences(),
        [limit.id for limit in old.plan.limits],
        [limit.id for limit in new.plan.limits],
    )
    notes = (*holes, *notes_on(facts.stand, case.new), *_beside(old, new))
    told = changes(old.plan, new.plan)
    return RunOutcome(case.name, facts.started_ns, new.until_ns, limits, told, notes)


def end_of(folder: Path) -> int | None:
    """Give the time of the last line of a run's journal, in ns, for a sense of its length.

    None where there is no such line: nothing but a bar hangs on it.
    """
    path = folder / JOURNAL_FILE
    lines = read_lines(path)[0] if path.exists() else []
    try:
        return msgspec.json.decode(lines[-1], type=_Line).t_ns if lines else None
    except msgspec.DecodeError:
        return None


class _Line(msgspec.Struct):
    """The part of a line that is read here."""

    t_ns: int


def _beside(old: Side, new: Side) -> list[str]:
    """Say what went otherwise beside the alarms."""
    notes = [
        f"{limit} was edited in the run: from then on the edit counts under the new stand too"
        for limit in new.edited
    ]
    gone, come = Counter(old.places), Counter(new.places)
    notes += _few([f"is not entered: {_place(one)}" for one in gone - come])
    notes += _few([f"is entered: {_place(one)}" for one in come - gone])
    more = new.refusals - old.refusals
    notes += _few(
        [
            f"refused{f' {count} times' if count > 1 else ''}: {verb} {subject}: {why}"
            for (verb, subject, why), count in more.items()
        ]
    )
    return notes


def _place(one: Entered) -> str:
    """Write when a phase or mode was entered."""
    return f"{one.what} {one.name!r} at {clock_text(one.t_ns)} UTC"


def _few(lines: Sequence[str]) -> list[str]:
    """Give the first lines, and count the rest."""
    rest = len(lines) - _MOST_TOLD
    return [*lines[:_MOST_TOLD], *([f"and {rest} more of that kind"] if rest > 0 else [])]
