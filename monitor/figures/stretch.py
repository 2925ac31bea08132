"""What happened to alarms in a stretch of a run: the whole run, or one phase of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeVar

from monitor.events import Event

#: The three flags that keep an alarm from being shown.
Inhibit = Literal["suppressed", "shelved", "out of service"]


@dataclass(frozen=True, slots=True)
class Activation:
    """An alarm was shown to people.

    Attributes:
        t_ns: When.
        subject: The alarm's id.
        priority: Its priority.
        fled_ns: After what time it went away with nobody having done anything about it;
            None when it did not, or somebody had.
    """

    t_ns: int
    subject: str
    priority: str
    fled_ns: int | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """Somebody acknowledged an alarm, so long after it was shown."""

    t_ns: int
    subject: str
    waited_ns: int


@dataclass(frozen=True, slots=True)
class Held:
    """An alarm was in one condition for a time.

    Attributes:
        subject: The alarm's id.
        priority: Its priority.
        since_ns: From when.
        until_ns: Until when.
        is_over: Whether it ended then; else the stretch did.
    """

    subject: str
    priority: str
    since_ns: int
    until_ns: int
    is_over: bool

    @property
    def lasted_ns(self) -> int:
        """How long."""
        return self.until_ns - self.since_ns


@dataclass(frozen=True, slots=True)
class Mark:
    """Something that is only counted. ``hidden``: an alarm came while it was inhibited."""

    t_ns: int
    what: Inhibit | Literal["hidden", "realarm"]


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a run, and what its alarms did.

    Attributes:
        run: Name of the run.
        start_ns: Begin.
        end_ns: End.
        activations: By time, as are answers and marks.
        answers: Alarms that were acknowledged.
        marks: What is only counted.
        shown: Alarms annunciated: shown and not inhibited, the condition standing or not.
        standing: Of these, the times at which the condition stood.
        waiting: Of these, the times at which nobody had acknowledged.
    """

    run: str
    start_ns: int
    end_ns: int
    activations: tuple[Activation, ...] = ()
    answers: tuple[Answer, ...] = ()
    marks: tuple[Mark, ...] = ()
    shown: tuple[Held, ...] = ()
    standing: tuple[Held, ...] = ()
    waiting: tuple[Held, ...] = ()

    @property
    def lasted_ns(self) -> int:
        """How long."""
        return self.end_ns - self.start_ns


@dataclass(frozen=True, slots=True)
class Visit:
    """A phase from its entry to the next one's, or to the end of the run.

    What happens in the instant of its end belongs to the next phase; at the end of the run,
    to the last.
    """

    phase: str
    since_ns: int
    until_ns: int
    is_last: bool

    def has(self, t_ns: int) -> bool:
        """Whether an instant belongs to it."""
        return self.since_ns <= t_ns and (self.is_last or t_ns < self.until_ns)


_Timed = TypeVar("_Timed", Activation, Answer, Mark)


def phase_visits(events: Iterable[Event], start_ns: int, end_ns: int) -> list[Visit]:
    """Give the phases of a run in their order, from its events by time.

    A run begins in its first phase; one that tells of no phase has one without a name. A phase
    that is left in the very instant in which it was entered is not among them.
    """
    entries = [(event.t_ns, event.subject) for event in events if event.kind == "phase.entered"]
    entries[:1] = [(start_ns, entries[0][1] if entries else "")]
    last = len(entries) - 1
    ends = [t_ns for t_ns, _ in entries[1:]] + [end_ns]
    visits = [
        Visit(phase, since_ns, until_ns, number == last)
        for number, ((since_ns, phase), until_ns) in enumerate(zip(entries, ends, strict=True))
    ]
    return [visit for visit in visits if visit.is_last or visit.since_ns < visit.until_ns]


def part_of(whole: Stretch, visit: Visit) -> Stretch:
    """Cut a phase out of a run; what an alarm was in for a time is cut off at both ends."""
    return replace(
        whole,
        start_ns=visit.since_ns,
        end_ns=visit.until_ns,
        activations=_within(whole.activations, visit),
        answers=_within(whole.answers, visit),
        marks=_within(whole.marks, visit),
        shown=_clipped(whole.shown, visit),
        standing=_clipped(whole.standing, visit),
        waiting=_clipped(whole.waiting, visit),
    )


def _within(rows: Sequence[_Timed], visit: Visit) -> tuple[_Timed, ...]:
    """Give the rows of a phase."""
    return tuple(row for row in rows if visit.has(row.t_ns))


def _clipped(rows: Sequence[Held], visit: Visit) -> tuple[Held, ...]:
    """Give what was held during a phase, and only for so long."""
    clipped = []
    for row in rows:
        since_ns, until_ns = (
            max(row.since_ns, visit.since_ns),
            min(row.until_ns, visit.until_ns),
        )
        if since_ns < until_ns or (since_ns == until_ns and visit.has(row.since_ns)):
            is_over = row.is_over and visit.has(row.until_ns)
            clipped.append(replace(row, since_ns=since_ns, until_ns=until_ns, is_over=is_over))
    return tuple(clipped)
