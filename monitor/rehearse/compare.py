"""Two runs of the same readings, alarm by alarm: gained, lost, earlier, later, shown or not.

An occurrence of one side belongs to one of the other if the two stood at the same time: of
several, to the one that was raised nearest to it. What is left over belongs together if it was
raised no further apart than :data:`TOLERANCE_NS`, and if that crosses no other pair. The rest
was gained or lost.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from monitor.rehearse.occurrences import Occurrence

#: Occurrences that never stood together and were raised within so long belong together: the
#: longest of the published starting points for a delay, so that another delay loses none.
TOLERANCE_NS = 60_000_000_000


class Change(StrEnum):
    """What became of an alarm, by the time at which it was raised."""

    GAINED = "gained"
    LOST = "lost"
    EARLIER = "earlier"
    LATER = "later"
    SAME = "same"


@dataclass(frozen=True, slots=True)
class Difference:
    """An occurrence under the old stand, under the new one, or the same under both.

    Attributes:
        old: Under the old stand; None when it was gained.
        new: Under the new one; None when it was lost.
    """

    old: Occurrence | None
    new: Occurrence | None

    @property
    def change(self) -> Change:
        """What became of it."""
        if self.old is None:
            return Change.GAINED
        if self.new is None:
            return Change.LOST
        if self.shift_ns:
            return Change.EARLIER if self.shift_ns < 0 else Change.LATER
        return Change.SAME

    @property
    def t_ns(self) -> int:
        """When it was raised, under whichever stand was first."""
        return min(each.raised_ns for each in (self.old, self.new) if each is not None)

    @property
    def shift_ns(self) -> int:
        """How much later it is raised under the new stand; 0 where it has no counterpart."""
        if self.old is None or self.new is None:
            return 0
        return self.new.raised_ns - self.old.raised_ns

    @property
    def end_shift_ns(self) -> int:
        """How much later it clears under the new stand; 0 where it has no counterpart."""
        if self.old is None or self.new is None:
            return 0
        return self.new.end_ns - self.old.end_ns

    @property
    def shown_shift_ns(self) -> int:
        """How much later people are shown it; 0 where they are not, under both stands."""
        old_ns = self.old.shown_ns if self.old is not None else None
        new_ns = self.new.shown_ns if self.new is not None else None
        return 0 if old_ns is None or new_ns is None else new_ns - old_ns

    @property
    def is_shown_now(self) -> bool:
        """Whether it stood under both and is shown to people under the new one only."""
        is_pair = self.old is not None and self.new is not None
        return is_pair and not _is_shown(self.old) and _is_shown(self.new)

    @property
    def is_hidden_now(self) -> bool:
        """Whether it stood under both and is shown to people under the old one only."""
        is_pair = self.old is not None and self.new is not None
        return is_pair and _is_shown(self.old) and not _is_shown(self.new)

    @property
    def differs(self) -> bool:
        """Whether anything about it differs."""
        return self.old != self.new


class Only(StrEnum):
    """Which of the two stands has a limit."""

    BOTH = "both"
    OLD = "old"
    NEW = "new"


@dataclass(frozen=True, slots=True)
class LimitOutcome:
    """What became of one limit in one run.

    Attributes:
        limit: Its id.
        only: Which of the two stands has it.
        differences: Each of its occurrences once, by time, those that are the same too.
    """

    limit: str
    only: Only
    differences: tuple[Difference, ...]

    @property
    def differs(self) -> bool:
        """Whether any alarm differs; a limit that came or went and was silent gives none."""
        return any(one.differs for one in self.differences)

    def count(self, change: Change) -> int:
        """Count occurrences of which this became."""
        return sum(one.change is change for one in self.differences)


Occurred = Mapping[str, Sequence[Occurrence]]


def compare(
    old: Occurred, new: Occurred, old_limits: Sequence[str], new_limits: Sequence[str]
) -> tuple[LimitOutcome, ...]:
    """Compare the alarms of two runs of the same readings.

    Args:
        old: Occurrences by limit under the old stand, each limit's by time.
        new: The same under the new stand.
        old_limits: Ids of all limits of the old stand, in its order.
        new_limits: The same of the new stand.

    Returns:
        One row a limit, in the order of the new stand, those that it lacks behind.
    """
    has_old, has_new = set(old_limits), set(new_limits)
    listed = dict.fromkeys((*new_limits, *old_limits))
    rows = []
    for limit in listed:
        only = Only.BOTH
        if limit not in has_old:
            only = Only.NEW
        elif limit not in has_new:
            only = Only.OLD
        rows.append(LimitOutcome(limit, only, match(old.get(limit, ()), new.get(limit, ()))))
    return tuple(rows)


def match(old: Sequence[Occurrence], new: Sequence[Occurrence]) -> tuple[Difference, ...]:
    """Pair the occurrences of one limit; each list by time, none within it overlapping."""
    pairs = _Pairs(old, new)
    pairs.take(_together(old, new))
    pairs.take(_near(pairs.free(old, 0), pairs.free(new, 1)))
    found = [Difference(old[i], new[j]) for i, j in pairs.made]
    found += [Difference(old[i], None) for i, _ in pairs.free(old, 0)]
    found += [Difference(None, new[j]) for j, _ in pairs.free(new, 1)]
    return tuple(sorted(found, key=lambda one: (one.t_ns, one.new is None, one.old is None)))


#: Positions of an old and a new occurrence.
_Pair = tuple[int, int]
_Numbered = tuple[int, Occurrence]


class _Pairs:
    """Pairs in the making; none crosses another."""

    def __init__(self, old: Sequence[Occurrence], new: Sequence[Occurrence]) -> None:
        self.made: list[_Pair] = []
        self._old = old
        self._new = new
        self._used: tuple[set[int], set[int]] = (set(), set())

    def take(self, candidates: Iterator[_Pair]) -> None:
        """Make pairs of *candidates*, those raised nearest to each other first."""
        for i, j in sorted(candidates, key=self._rank):
            is_free = i not in self._used[0] and j not in self._used[1]
            if is_free and not self._crosses(i, j):
                insort(self.made, (i, j))
                self._used[0].add(i)
                self._used[1].add(j)

    def free(self, side: Sequence[Occurrence], which: int) -> list[_Numbered]:
        """Give the occurrences of a side that are in no pair."""
        return [(i, one) for i, one in enumerate(side) if i not in self._used[which]]

    def _rank(self, pair: _Pair) -> tuple[int, int]:
        """Order by distance; of two at the same distance the earlier. Sides do not matter."""
        first, second = self._old[pair[0]].raised_ns, self._new[pair[1]].raised_ns
        return abs(first - second), first + second

    def _crosses(self, i: int, j: int) -> bool:
        """Whether a pair that was made would lie across this one."""
        at = bisect_left(self.made, (i, j))
        is_behind_earlier = at == 0 or self.made[at - 1][1] < j
        is_before_later = at == len(self.made) or self.made[at][1] > j
        return not (is_behind_earlier and is_before_later)


def _together(old: Sequence[Occurrence], new: Sequence[Occurrence]) -> Iterator[_Pair]:
    """Give the pairs that stood at the same time."""
    i = j = 0
    while i < len(old) and j < len(new):
        if old[i].raised_ns < new[j].end_ns and new[j].raised_ns < old[i].end_ns:
            yield i, j
        # The one that ends first meets nothing further; both do when they end together.
        ends = old[i].end_ns, new[j].end_ns
        i, j = i + (ends[0] <= ends[1]), j + (ends[1] <= ends[0])


def _near(old: Sequence[_Numbered], new: Sequence[_Numbered]) -> Iterator[_Pair]:
    """Give the pairs that were raised within the tolerance."""
    first = 0
    for i, one in old:
        while first < len(new) and new[first][1].raised_ns < one.raised_ns - TOLERANCE_NS:
            first += 1
        for at in range(first, len(new)):
            j, other = new[at]
            if other.raised_ns > one.raised_ns + TOLERANCE_NS:
                break
            yield i, j


def _is_shown(one: Occurrence | None) -> bool:
    """Whether people were shown it."""
    return one is not None and one.shown_ns is not None
