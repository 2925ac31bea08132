"""What each way to set a limit up would have cost and saved, and which one is proposed.

The yardstick is what lasted: stretches in which the signal, unfiltered, was beyond the setpoint
for most of the time around (:func:`monitor.rehearse.noise.lasting`). The first alarm on such a
stretch is a true one. Every other alarm is a nuisance: one on nothing that lasted, and one more
on a stretch that has its alarm already.
"""

from __future__ import annotations

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


def proposed(verdicts: Sequence[Verdict], *, may_delay: bool, room_ns: float) -> Verdict | None:
    """Give the choice to propose: few nuisance alarms at the least delay.

    Nothing that lasted may be missed if the present choice, the first one, does not miss it.
    Of what is left, each that saves nine tenths of the nuisance alarms that can be saved; of
    these the one that is earliest, of several the one that changes least.

    Args:
        verdicts: The present choice first.
        may_delay: Whether an on-delay may be proposed; never for top priority.
        room_ns: Longest filter and delay that leave a person time to respond.

    Returns:
        One of *verdicts*; None where none fits.
    """
    present = verdicts[0]
    fit = [
        one
        for one in verdicts
        if one.missed <= present.missed
        and one.delay_ns <= room_ns
        and (may_delay or not (one.choice.on_delay_ns or one.choice.n_of_m[0]))
    ]
    if not fit:
        return None
    least = min(one.nuisance for one in fit)
    saved = max(present.nuisance - least, 0)
    good = [one for one in fit if (one.nuisance - least) * _LEAVES_ONE_IN <= saved]
    return min(good, key=lambda one: _rank(one, present))


def _rank(one: Verdict, present: Verdict) -> tuple[float, float, int, bool, float]:
    """Order choices: the earlier, the better; then the fewer alarms and the less is changed."""
    later_ns = one.later_ns(present)
    return (
        one.delay_ns if later_ns is None else max(later_ns, 0.0),
        one.delay_ns,
        one.nuisance,
        one.choice != present.choice,
        one.choice.deadband,
    )
