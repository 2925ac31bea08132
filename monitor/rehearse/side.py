"""One of the two stands of a rehearsal: its pipeline, and what it says."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from monitor.events import Event
from monitor.pipeline import Pipeline, Plan, Step
from monitor.rehearse.feed import Portion
from monitor.rehearse.occurrences import Occurrence, Occurrences

#: Who enters the phase and the mode in which a run begins, as the journal has it.
_AT_START = "start of run"
#: What a refusal is counted by: verb, subject, why.
Refusal = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Entered:
    """A phase or a mode was entered."""

    t_ns: int
    what: str
    name: str


class Side:
    """Goes through a run with one stand.

    Attributes:
        plan: The stand's.
        until_ns: W so far.
        places: The phases and modes in their order, those of the start left out.
        refusals: Acts of the record that this stand refused, and how often.
        edited: Ids of the limits that were edited in mid-run.
    """

    def __init__(self, plan: Plan, start_ns: int) -> None:
        """Stand at the beginning of the run."""
        self.plan = plan
        self.until_ns = start_ns
        self.places: list[Entered] = []
        self.refusals: Counter[Refusal] = Counter()
        self.edited: dict[str, None] = {}
        self._pipeline = Pipeline(plan, start_ns)
        self._occurrences = Occurrences()

    def take(self, portion: Portion) -> Step:
        """Run a portion through the pipeline."""
        step = self._pipeline.step(portion.admitted, portion.controls, portion.until_ns)
        self.until_ns = portion.until_ns
        self._occurrences.add(step.events)
        for event in step.events:
            self._note(event)
        return step

    def occurrences(self) -> dict[str, tuple[Occurrence, ...]]:
        """End the record; give the occurrences by limit."""
        return self._occurrences.result(self.until_ns)

    def _note(self, event: Event) -> None:
        """Keep what is told beside the alarms."""
        if event.kind in ("phase.entered", "mode.entered") and not is_start(event):
            what = event.kind.removesuffix(".entered")
            self.places.append(Entered(event.t_ns, what, event.subject))
        elif event.kind == "limit.edited":
            self.edited[event.subject] = None
        elif event.kind == "action.refused":
            fields = event.fields
            self.refusals[str(fields["verb"]), event.subject, str(fields["why"])] += 1


def is_start(event: Event) -> bool:
    """Whether an event only tells where a run begins."""
    return event.fields.get("by") == _AT_START
