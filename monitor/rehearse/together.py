"""Several runs rehearsed one after the other, and a suggestion from all of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from monitor.rehearse.run import Case, RunOutcome, case_of, end_of, rehearse
from monitor.rehearse.subject import Subject, subject_of
from monitor.rehearse.suggest import Suggestion, suggest
from monitor.rehearse.track import TrackWriter

#: Is told now and then which share of all data was looked at, from 0 to 1.
Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """What was found. *suggestion* is None where none was asked for."""

    outcomes: tuple[RunOutcome, ...]
    suggestion: Suggestion | None


def rehearse_all(
    folders: Sequence[Path],
    stand: Path,
    limit_id: str = "",
    progress: Progress = lambda _: None,
) -> Rehearsal:
    """Rehearse runs with a stand file.

    Everything that can be refused is refused before any reading is looked at.

    Args:
        folders: Of the runs, at least one.
        stand: The stand file to come.
        limit_id: The limit for which something is to be suggested; empty for none.
        progress: Is told how far it is.

    Raises:
        RecordError: A folder holds no run that can be read.
        StandError: A stand file cannot be used, or a run lacks a signal.
        SuggestError: Nothing can be suggested for the limit.
    """
    cases = [case_of(folder, stand) for folder in folders]
    subjects = [subject_of(case.new, limit_id) for case in cases] if limit_id else []
    tracks = [
        TrackWriter(case.name, case.new.plan, subject.column, case.facts.started_ns)
        for case, subject in zip(cases, subjects, strict=False)
    ]
    bar = _Bar(cases, progress)
    outcomes = []
    for number, case in enumerate(cases):
        watch = tracks[number].take if tracks else None
        outcomes.append(rehearse(case, bar.listener(number), watch))
    return Rehearsal(tuple(outcomes), _suggested(subjects, tracks))


def _suggested(subjects: Sequence[Subject], tracks: Sequence[TrackWriter]) -> Suggestion | None:
    """Suggest from all runs, if it was asked for."""
    if not subjects:
        return None
    return suggest(subjects[0], [writer.track() for writer in tracks])


class _Bar:
    """Turns the times of several runs into a share of the whole."""

    def __init__(self, cases: Sequence[Case], progress: Progress) -> None:
        self._progress = progress
        self._starts = [case.facts.started_ns for case in cases]
        ends = [end_of(case.facts.folder) for case in cases]
        self._lengths_ns = [
            max((end_ns or start_ns) - start_ns, 1)
            for start_ns, end_ns in zip(self._starts, ends, strict=True)
        ]

    def listener(self, number: int) -> Callable[[int], None]:
        """Give what listens to one of the runs."""
        before_ns = sum(self._lengths_ns[:number])

        def listen(until_ns: int) -> None:
            """Tell how far all runs together are."""
            done_ns = min(until_ns - self._starts[number], self._lengths_ns[number])
            self._progress((before_ns + done_ns) / sum(self._lengths_ns))

        return listen
