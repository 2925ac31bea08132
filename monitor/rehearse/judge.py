"""What each way to set a limit up would have cost and saved, and which one is proposed.

The yardstick is what lasted: stretches in which the signal, unfiltered, was beyond the setpoint
for most of the time around (:func:`monitor.rehearse.noise.lasting`). The first alarm on such a
stretch is a true one. Every other alarm is a nuisance: one on nothing that lasted, and one more
on a stretch that has its alarm already.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from monitor.rehearse.choices import Choice
from monitor.rehearse.noise import Spans
from monitor.rehearse.occurrences import Occurrence

#: Of the nuisance alarms that can be saved, the proposed choice leaves one in so many at most.
_LEAVES_ONE_IN = 10


@dataclass(slots=True)
class Verdict:
    """What a choice would have given over all runs.

    Attributes:
        choice: The choice.
        delay_ns: What its filter and its delay cost by themselves.
        alarms: How many alarms it gives.
        true: How many of them are the first on a stretch that lasted.
        caught: For each stretch that has an alarm, by its number, how long after its
            beginning that came, in ns; 0 where it stood already.
        missed: Stretches without an alarm.
    """

    choice: Choice
    delay_ns: int
    alarms: int = 0
    true: int = 0
    caught: dict[int, int] = field(default_factory=dict)
    missed: int = 0

    @property
    def nuisance(self) -> int:
        """How many alarms are on nothing that lasted, or one more on what did."""
        return self.alarms - self.true

    def later_ns(self, present: Verdict) -> float | None:
        """How much later than *present* it is on what both caught, in the mean.

        None where there is nothing to compare.
        """
        both = self.caught.keys() & present.caught.keys()
        if not both:
            return None
        return sum(self.caught[n] - present.caught[n] for n in both) / len(both)

    def add(self, found: Sequence[Occurrence], lasted: Spans, first: int) -> None:
        """Count the alarms of a run.

        Args:
            found: By time.
            lasted: The stretches of the run.
            first: Number of the first of them.
        """
        self.alarms += len(found)
        true: set[int] = set()
        at = 0
        ends = zip(lasted.start_ns.tolist(), lasted.end_ns.tolist(), strict=True)
        for number, (start_ns, end_ns) in enumerate(ends, first):
            while at < len(found) and found[at].end_ns <= start_ns:
                at += 1
            if at < len(found) and found[at].raised_ns < end_ns:
                self.caught[number] = max(found[at].raised_ns - start_ns, 0)
                true.add(at)
            else:
                self.missed += 1
        self.true += len(true)


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a proposal must keep to.

    Attributes:
        may_delay: Whether an on-delay may be proposed; never for top priority.
        room_ns: Longest filter and delay that leave a person time to respond.
        noise_span: Noise from peak to peak: a deadband that is newly chosen should span it.
    """

    may_delay: bool = True
    room_ns: float = math.inf
    noise_span: float = 0.0

    def allow(self, one: Verdict) -> bool:
        """Whether a choice may be proposed at all."""
        waits = one.choice.on_delay_ns or one.choice.n_of_m[0]
        return one.delay_ns <= self.room_ns and (self.may_delay or not waits)


def proposed(verdicts: Sequence[Verdict], bounds: Bounds) -> Verdict | None:
    """Give the choice to propose: few nuisance alarms, and as little else changed as possible.

    Of those that miss least of what lasted, each that saves nine tenths of the nuisance alarms
    that can be saved; of these one that comes no later than now, or the least; of several the
    one that changes least. Coming sooner than now is no reason by itself: that a delay was not
    needed in some runs does not say that it never is.

    Args:
        verdicts: The present choice first.
        bounds: What may be proposed.

    Returns:
        One of *verdicts*; None where none is allowed.
    """
    present = verdicts[0]
    fit = [one for one in verdicts if bounds.allow(one)]
    if not fit:
        return None
    least_missed = min(one.missed for one in fit)
    fit = [one for one in fit if one.missed == least_missed]
    least = min(one.nuisance for one in fit)
    saved = max(present.nuisance - least, 0)
    good = [one for one in fit if (one.nuisance - least) * _LEAVES_ONE_IN <= saved]
    return min(good, key=lambda one: _rank(one, present, bounds.noise_span))


def sooner(verdicts: Sequence[Verdict], best: Verdict, bounds: Bounds) -> Verdict | None:
    """Give a choice that would have come sooner than the proposed one at no cost in these runs.

    Returns:
        One of *verdicts* that misses no more and gives no more nuisance alarms; of several
        the soonest, and of these the one that changes least. None where there is none.
    """
    good = [
        one
        for one in verdicts
        if bounds.allow(one)
        and one.missed <= best.missed
        and one.nuisance <= best.nuisance
        and (one.later_ns(best) or 0.0) < 0
    ]
    order = [(one.later_ns(best) or 0.0, _changes(one, best)) for one in good]
    return good[order.index(min(order))] if good else None


def _rank(one: Verdict, present: Verdict, noise_span: float) -> tuple[float, ...]:
    """Order choices, the best first."""
    later_ns = one.later_ns(present)
    if later_ns is None:
        later_ns = one.delay_ns - present.delay_ns
    is_new = one.choice.deadband != present.choice.deadband
    return (
        max(later_ns, 0.0),
        _changes(one, present),
        is_new and one.choice.deadband < noise_span,
        one.delay_ns,
        one.nuisance,
        one.choice.deadband,
    )


def _changes(one: Verdict, other: Verdict) -> int:
    """Count the settings in which two choices differ."""
    mine, theirs = one.choice, other.choice
    is_delay_changed = (mine.on_delay_ns, mine.n_of_m) != (theirs.on_delay_ns, theirs.n_of_m)
    return (mine.deadband != theirs.deadband) + (mine.sieve != theirs.sieve) + is_delay_changed
