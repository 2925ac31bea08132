"""The alarm figures of runs: of all together, of each run, and of each phase."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from operator import attrgetter

from monitor.events import Event
from monitor.figures.compute import figures_of
from monitor.figures.figures import Figures
from monitor.figures.follow import follow
from monitor.figures.stretch import Stretch, part_of, phase_visits


@dataclass(frozen=True, slots=True)
class RunJournal:
    """What the figures of a run are made from.

    Attributes:
        name: Of the run.
        start_ns: Data time of its start.
        end_ns: Data time up to which its journal is known.
        events: Its journal. Only times order it; events of one time are taken as they stand.
    """

    name: str
    start_ns: int
    end_ns: int
    events: tuple[Event, ...]


@dataclass(frozen=True, slots=True)
class Report:
    """The figures of some runs.

    Attributes:
        total: Of all together.
        runs: Of each, as they were given.
        phases: Of each phase over all runs, in the order of first entry.
    """

    total: Figures
    runs: tuple[Figures, ...]
    phases: tuple[Figures, ...]


def alarm_figures(runs: Sequence[RunJournal]) -> Report:
    """Compute the alarm figures of one or several runs."""
    stretches = []
    phases: defaultdict[str, list[Stretch]] = defaultdict(list)
    for run in runs:
        events = sorted(run.events, key=attrgetter("t_ns"))
        start_ns = min([run.start_ns, *(event.t_ns for event in events[:1])])
        end_ns = max([run.end_ns, start_ns, *(event.t_ns for event in events[-1:])])
        whole = follow(run.name, events, start_ns, end_ns)
        stretches.append(whole)
        for visit in phase_visits(events, start_ns, end_ns):
            phases[visit.phase].append(part_of(whole, visit))
    return Report(
        total=figures_of("", stretches),
        runs=tuple(figures_of(stretch.run, [stretch]) for stretch in stretches),
        phases=tuple(figures_of(phase, parts) for phase, parts in phases.items()),
    )
