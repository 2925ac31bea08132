"""Recordings of real sensors through the pipeline, and what the journal then holds.

A case is a folder with ``recording.csv`` (time, then one column for each signal of the only
instrument), ``stand.toml`` and ``journal.txt``; with ``controls.toml`` where phases are entered
and people act.
``python -m tests.golden.real_data CASE`` prints the journal as it would be now. Nothing writes
the file: whoever means a change puts it there, and reads the difference beside a plot.
"""

from __future__ import annotations

import csv
import sys
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import numpy as np

from drivers.reading import Block
from drivers.registry import instrument_kinds
from monitor.events import Action, Control, Event
from monitor.pipeline import Pipeline, Plan
from monitor.samples import Admitted
from monitor.stand.load import load_stand
from monitor.stand.model import Stand

HERE = Path(__file__).parent
CASES = sorted(path.parent.name for path in HERE.glob("*/recording.csv"))
S = 1_000_000_000


@dataclass(frozen=True)
class Case:
    """A recording and the stand that watches it.

    Attributes:
        stand: As loaded from the file.
        block: All readings.
        controls: Phases entered by the clock, and what people did.
    """

    stand: Stand
    block: Block
    controls: list[Control]

    @property
    def start_ns(self) -> int:
        """When the run starts: a second before the first reading."""
        return int(self.block.t_ns[0]) - S

    @property
    def end_ns(self) -> int:
        """When it ends: with the last reading."""
        return int(self.block.t_ns[-1])


def load_case(name: str) -> Case:
    """Load a case; calibrations play no part, so any day will do."""
    stand = load_stand(HERE / name / "stand.toml", instrument_kinds(), today=date(2026, 1, 1))
    with (HERE / name / "recording.csv").open(newline="", encoding="utf-8") as file:
        _, *rows = csv.reader(file)
    t_ns = np.array([ns_of(row[0]) for row in rows], dtype=np.int64)
    # An empty cell: this row says nothing about this signal.
    values = np.array([[float(cell or "nan") for cell in row[1:]] for row in rows])
    (entry,) = stand.instruments
    signals = instrument_kinds()[entry.kind].signals(entry.settings)
    return Case(stand, Block(entry.name, signals, t_ns, values), _controls(name, t_ns))


def ns_of(text: str) -> int:
    """Read a time of a recording. Without a zone it is taken as UTC."""
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        at = datetime.strptime(text, "%m/%d/%Y %H:%M").replace(tzinfo=UTC)
    return round((at if at.tzinfo else at.replace(tzinfo=UTC)).timestamp()) * S


def _controls(name: str, t_ns: np.ndarray) -> list[Control]:
    """Do what ``controls.toml`` says, where there is one."""
    path = HERE / name / "controls.toml"
    if not path.exists():
        return []
    file = tomllib.loads(path.read_text(encoding="utf-8"))
    done = _daily(file.get("daily", {}), t_ns)
    for row in file.get("actions", []):
        at_ns = round(row["at"].timestamp()) * S
        done += [
            (at_ns, Action(verb, row["subject"], row["by"], row.get("reason", "")))
            for verb in row["verbs"]
        ]
    done.sort(key=lambda one: one[0])
    return [Control(at_ns, number, action) for number, (at_ns, action) in enumerate(done)]


def _daily(times: dict[str, str], t_ns: np.ndarray) -> list[tuple[int, Action]]:
    """Enter each phase every day at its time."""
    first = datetime.fromtimestamp(int(t_ns[0]) // S, UTC).date()
    days = (int(t_ns[-1]) - int(t_ns[0])) // (86_400 * S) + 2
    wanted = [
        (round(datetime.combine(first + timedelta(day), at, UTC).timestamp()) * S, phase)
        for day in range(days)
        for phase, at in ((phase, time.fromisoformat(text)) for phase, text in times.items())
    ]
    return [
        (at_ns, Action("enter_phase", phase, "the clock"))
        for at_ns, phase in wanted
        if t_ns[0] < at_ns <= t_ns[-1]
    ]


def run_whole(case: Case) -> list[Event]:
    """Give the events of a run in one step."""
    pipeline = Pipeline(case.stand.plan, case.start_ns)
    return list(pipeline.step([Admitted(case.block)], case.controls, case.end_ns).events)


def run_cut(case: Case, rng: np.random.Generator, pieces: int) -> list[Event]:
    """Give the events of a run in random steps, saved and restored once in between."""
    plan: Plan = case.stand.plan
    ends = np.unique(rng.integers(case.start_ns + 1, case.end_ns, pieces))
    restore_at, first, events = int(rng.integers(len(ends))), 0, list[Event]()
    pipeline, controls = Pipeline(plan, case.start_ns), list(case.controls)
    for number, until_ns in enumerate([*(int(end) for end in ends), case.end_ns]):
        if number == restore_at:
            pipeline = Pipeline.restore(plan, pipeline.save())
        # Some readings come before their step: they wait.
        early = until_ns + int(rng.integers(6 * 3600)) * S
        last = max(int(np.searchsorted(case.block.t_ns, early, side="right")), first)
        due = [control for control in controls if control.t_ns <= until_ns]
        controls = controls[len(due) :]
        admitted = [Admitted(rows(case.block, first, last))] if last > first else []
        events += pipeline.step(admitted, due, until_ns).events
        first = last
    return events


def rows(block: Block, first: int, last: int) -> Block:
    """Give some rows of a block."""
    part = slice(first, last)
    return Block(block.instrument, block.signals, block.t_ns[part], block.values[part])


def journal_lines(events: Sequence[Event]) -> list[str]:
    """Write events as the golden file has them: time, kind, subject, value."""
    lines = []
    for event in events:
        seconds, rest_ns = divmod(event.t_ns, S)
        at = datetime.fromtimestamp(seconds, UTC).strftime("%Y-%m-%d %H:%M:%S")
        value = event.fields.get("value")
        text = f"{value:.6g}" if isinstance(value, float) else "-"
        # Where a fraction of a second is left over, it is shown.
        fraction = f".{rest_ns:09d}" if rest_ns else ""
        lines.append(f"{at}{fraction}Z  {event.kind:<20}  {event.subject:<28}  {text}")
    return lines


def golden(name: str) -> list[str]:
    """Give the journal that a case must give, line by line."""
    return (HERE / name / "journal.txt").read_text(encoding="utf-8").splitlines()


if __name__ == "__main__":
    sys.stdout.write("\n".join(journal_lines(run_whole(load_case(sys.argv[1])))) + "\n")
