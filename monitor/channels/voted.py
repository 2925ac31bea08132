"""Channels out of redundant ones, which vote.

A sensor votes while it is not bad, not forced by hand and not older than the largest skew; one
that has not sent anything yet does not. With all there, *needed* of them decide; of three with
one lost, one of two; a last one decides alone.

A sensor in saturation votes: it is beyond all that others can read. Where the sensor that
decides is a saturated one, so is the result, and limits on its side are true, as they are for
the sensor alone. (Of three with two of them needed, two in saturation raise high-high; one in
saturation leaves it to the next highest.) A mean, a spread or a middle that takes part of it is
uncertain.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.channels.align import Aligned, aligned
from monitor.channels.draft import LARGEST, Draft, Number, grown
from monitor.channels.plan import ChannelsPlan, Take, Voted
from monitor.samples import FIRST_BAD, FIRST_UNCERTAIN, Bytes, Flags, Floats, Ints, Quality

#: Who votes (the columns), and how old their votes may be.
Electorate = tuple[tuple[int, ...], int]

# How a sensor's value stands to the others'; those that do not vote come last.
_BELOW, _BETWEEN, _ABOVE, _SILENT = range(4)


@dataclass(frozen=True, slots=True)
class Vote:
    """A voted channel, ready to run."""

    column: int
    inputs: tuple[int, ...]
    #: Inputs that hold until they are changed, however long ago.
    states: frozenset[int]
    needed: int
    largest_skew_ns: int
    take: Take

    @property
    def electorate(self) -> Electorate:
        """What several columns of one vote have in common: who votes, and for how long."""
        return self.inputs, self.largest_skew_ns


@dataclass(frozen=True, slots=True)
class Ballot:
    """The votes in each row, in rising order; arrays of (inputs, rows) and (rows,).

    Attributes:
        value: Values, those that do not vote behind the others.
        quality: Their qualities.
        voters: (rows,) how many vote.
        is_uncertain: (rows,) whether one of them is uncertain or saturated.
    """

    value: Floats
    quality: Bytes
    voters: Ints
    is_uncertain: Flags


def vote_of(voted: Voted, plan: ChannelsPlan) -> Vote:
    """Resolve a voted channel.

    Raises:
        ValueError: There are not two or three inputs, one comes after it, or more are needed
            than there are.
    """
    column = plan.column[voted.tag]
    inputs = tuple(plan.column[tag] for tag in voted.inputs)
    if len(inputs) not in (2, 3) or len(set(inputs)) < len(inputs):
        raise ValueError(f"{voted.tag}: two or three different channels vote")
    if not 1 <= voted.needed <= len(inputs):
        raise ValueError(f"{voted.tag}: {voted.needed} of {len(inputs)} cannot be needed")
    if max(inputs) >= column:
        raise ValueError(f"{voted.tag}: an input of it comes after it in the plan")
    states = {plan.column[row.tag] for row in plan.system}
    return Vote(
        column,
        inputs,
        frozenset(states.intersection(inputs)),
        voted.needed,
        voted.largest_skew_ns,
        voted.take,
    )


def lay_rows(draft: Draft, column: int, sources: Sequence[int]) -> Draft:
    """Give *column* a row for each instant at which one of *sources* has one."""
    grid = draft.grid
    alike = {int(draft.same_rows[source]): source for source in sources if grid.count[source]}
    if not alike:
        return draft
    first = next(iter(alike.values()))
    if len(alike) == 1:
        grid.t_ns[:, column] = grid.t_ns[:, first]
        grid.count[column] = grid.count[first]
        draft.same_rows[column] = draft.same_rows[first]
        return draft
    parts = [grid.t_ns[: grid.count[source], source] for source in alike.values()]
    t_ns = np.unique(np.concatenate(parts))
    if t_ns.size > grid.t_ns.shape[0]:
        draft = grown(draft, t_ns.size)
    draft.grid.t_ns[: t_ns.size, column] = t_ns
    draft.grid.t_ns[t_ns.size :, column] = t_ns[-1]
    draft.grid.count[column] = t_ns.size
    return draft


def ballot_of(draft: Draft, vote: Vote) -> Ballot:
    """Let the inputs of *vote* vote on its rows."""
    at = [aligned(draft, source, vote.column) for source in vote.inputs]
    value = np.stack([one.value for one in at])
    quality = np.stack([one.quality for one in at])
    votes = [
        _votes(one, source in vote.states, vote.largest_skew_ns)
        for one, source in zip(at, vote.inputs, strict=True)
    ]
    is_silent = ~np.stack(votes)
    stands = np.full(quality.shape, _BETWEEN, dtype=np.uint8)
    stands[quality == Quality.SATURATED_LOW] = _BELOW
    stands[quality == Quality.SATURATED_HIGH] = _ABOVE
    stands[is_silent] = _SILENT
    is_uncertain: Flags = np.any((quality >= FIRST_UNCERTAIN) & ~is_silent, axis=0)
    order = np.lexsort((value, stands), axis=0)
    return Ballot(
        np.take_along_axis(value, order, axis=0),
        np.take_along_axis(quality, order, axis=0),
        np.count_nonzero(~is_silent, axis=0),
        is_uncertain,
    )


def _votes(at: Aligned, is_state: bool, largest_skew_ns: int) -> Flags:
    """Tell in which rows an input votes."""
    found: Flags = (at.quality < FIRST_BAD) & (at.quality != Quality.FORCED)
    if at.age_ns is not None and not is_state:
        found &= at.age_ns <= largest_skew_ns
    return found


def count_votes(draft: Draft, vote: Vote, ballot: Ballot) -> int:
    """Fill the column of *vote*, whose rows are laid; give the worst quality of the result."""
    voters = ballot.voters
    quality = np.where(ballot.is_uncertain, Quality.INPUT_UNCERTAIN, Quality.GOOD)
    quality[voters == 1] = Quality.LONE_SENSOR
    if vote.take is Take.SPREAD:
        value = _spread(ballot)
        quality[voters == 1] = Quality.TOO_FEW
    else:
        lower, upper = _deciding(vote, voters)
        value = _middle(_picked(ballot.value, lower), _picked(ballot.value, upper))
        decides = _picked(ballot.quality, lower)
        is_bound = (decides == _picked(ballot.quality, upper)) & (
            (decides == Quality.SATURATED_HIGH) | (decides == Quality.SATURATED_LOW)
        )
        quality = np.where(is_bound, decides, quality)
    quality[voters == 0] = Quality.TOO_FEW
    quality[~(np.abs(value) <= LARGEST) & (quality < FIRST_BAD)] = Quality.NOT_FINITE
    value = np.where(quality >= FIRST_BAD, np.nan, value)
    draft.grid.value[:, vote.column] = value
    draft.grid.quality[:, vote.column] = quality
    return int(quality.max())


def _deciding(vote: Vote, voters: Ints) -> tuple[Ints, Ints]:
    """Give the places of the two that decide, in rising order; the same one where one does."""
    if vote.take is Take.VALUE:
        return (voters - 1) // 2, voters // 2
    needed = np.where(voters == len(vote.inputs), vote.needed, 1)
    place = voters - needed if vote.take is Take.UPPER else needed - 1
    return place, place


def _picked(ranked: NDArray[Number], place: Ints) -> NDArray[Number]:
    """Give in each row the one at *place*; where nobody votes, any."""
    found: NDArray[Number] = ranked[np.maximum(place, 0), np.arange(place.size)]
    return found


def _spread(ballot: Ballot) -> Floats:
    """Give the highest of those that vote less the lowest."""
    is_silent = np.arange(ballot.value.shape[0])[:, None] >= ballot.voters
    highest = np.where(is_silent, -np.inf, ballot.value).max(axis=0)
    lowest = np.where(is_silent, np.inf, ballot.value).min(axis=0)
    found: Floats = highest - lowest
    return found


def _middle(lower: Floats, upper: Floats) -> Floats:
    """Give the mean of the middle two, which are often one."""
    return np.where(lower == upper, lower, 0.5 * lower + 0.5 * upper)
