"""Computed channels: by formula on the rows of one input, the others held; or by vote."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np

from monitor.channels.align import aligned
from monitor.channels.draft import LARGEST, Draft
from monitor.channels.formula import Formula
from monitor.channels.plan import ChannelsPlan, Computed, Voted
from monitor.channels.voted import (
    Ballot,
    Electorate,
    Vote,
    ballot_of,
    count_votes,
    lay_rows,
    vote_of,
)
from monitor.samples import (
    FIRST_BAD,
    FIRST_UNCERTAIN,
    Bytes,
    Floats,
    Ints,
    Quality,
)


@dataclass(frozen=True, slots=True)
class _Input:
    """An input of a formula. *is_state*: holds until it is changed, however long ago."""

    name: str
    column: int
    is_state: bool


@dataclass(frozen=True, slots=True)
class _Work:
    """A computed channel, ready to run."""

    column: int
    formula: Formula
    inputs: tuple[_Input, ...]
    clock: int
    largest_skew_ns: int


class Computer:
    """Fills the computed and voted columns, in the order of the plan: inputs come first."""

    def __init__(self, plan: ChannelsPlan) -> None:
        """Resolve tags to columns.

        Raises:
            ValueError: An input is computed after what needs it, or a vote cannot be held.
        """
        states = {plan.column[row.tag] for row in plan.system}
        self._work = tuple(
            vote_of(row, plan) if isinstance(row, Voted) else _work(row, plan, states)
            for row in plan.computed
        )
        self._first = len(plan.measured) + len(plan.system)
        self._last = self._first + len(self._work)
        clocks, self._laid = _clocks(self._work)
        #: The column whose rows each has, through clocks down to one that is not computed,
        #: or to the first of the voted ones that have those rows.
        self._clock: Ints = np.array(clocks, dtype=np.int64)

    def run(self, draft: Draft) -> Draft:
        """Fill the computed columns; measured and system ones are filled already.

        Returns:
            The draft, with more rows where a vote needs them.
        """
        if not self._work:
            return draft
        draft = self._lay_rows(draft)
        grid = draft.grid
        # Plain lists: looking one number up in an array costs ten times as much.
        counts: list[int] = grid.count[: self._last].tolist()
        same_rows: list[int] = draft.same_rows[: self._last].tolist()
        worst: list[int] = grid.quality[:, : self._first].max(axis=0).tolist()
        ballots: dict[Electorate, Ballot] = {}
        for work in self._work:
            if counts[work.column] == 0:
                worst.append(Quality.WAITING)
            elif isinstance(work, Vote):
                if work.electorate not in ballots:
                    ballots[work.electorate] = ballot_of(draft, work)
                worst.append(count_votes(draft, work, ballots[work.electorate]))
            elif _is_plain(work, worst, same_rows):
                worst.append(_plain(draft, work))
            else:
                worst.append(_with_care(draft, work))
        return draft

    def _lay_rows(self, draft: Draft) -> Draft:
        """Give every computed column its rows."""
        for column, sources in self._laid:
            draft = lay_rows(draft, column, sources)
        grid, columns = draft.grid, slice(self._first, self._last)
        grid.t_ns[:, columns] = grid.t_ns[:, self._clock]
        grid.count[columns] = grid.count[self._clock]
        draft.same_rows[columns] = draft.same_rows[self._clock]
        return draft


def _clocks(
    works: Sequence[_Work | Vote],
) -> tuple[list[int], list[tuple[int, tuple[int, ...]]]]:
    """Find whose rows each column has.

    Returns:
        For each the column that it follows, perhaps itself; and those that follow themselves,
        each with the columns whose rows it has all of.
    """
    clocks: dict[int, int] = {}
    laid: dict[tuple[int, ...], int] = {}
    for work in works:
        if isinstance(work, Vote):
            sources = tuple(sorted({clocks.get(one, one) for one in work.inputs}))
            clock = sources[0] if len(sources) == 1 else laid.setdefault(sources, work.column)
        else:
            clock = clocks.get(work.clock, work.clock)
        clocks[work.column] = clock
    return list(clocks.values()), [(column, sources) for sources, column in laid.items()]


def _is_plain(work: _Work, worst: Sequence[int], same_rows: Sequence[int]) -> bool:
    """Tell whether all inputs are good and have the very same rows."""
    mine = same_rows[work.column]
    return all(not worst[one.column] and same_rows[one.column] == mine for one in work.inputs)


def _plain(draft: Draft, work: _Work) -> int:
    """Compute from good inputs with the same rows; give the worst quality of the result."""
    value = draft.grid.value
    return _of_good(draft, work, {one.name: value[:, one.column] for one in work.inputs})


def _of_good(draft: Draft, work: _Work, values: Mapping[str, Floats]) -> int:
    """Compute from values that are all good; give the worst quality of the result."""
    result = work.formula.evaluate(values)
    # Adding 0.0 turns -0.0 into 0.0, whose sign would depend on the order of comparisons.
    np.add(result, 0.0, out=draft.grid.value[:, work.column])
    if (np.abs(result) <= LARGEST).all():
        draft.grid.quality[:, work.column] = Quality.GOOD
        return Quality.GOOD
    return _grade(draft, work, np.zeros(result.shape, dtype=np.uint8))


def _with_care(draft: Draft, work: _Work) -> int:
    """Compute from inputs that are held, late or not good; give the result's worst quality."""
    at = [aligned(draft, one.column, work.clock) for one in work.inputs]
    values = {one.name: its.value for one, its in zip(work.inputs, at, strict=True)}
    late = [
        its.age_ns > work.largest_skew_ns
        for one, its in zip(work.inputs, at, strict=True)
        if its.age_ns is not None and its.oldest_ns > work.largest_skew_ns and not one.is_state
    ]
    if not late and not any(its.quality.any() for its in at):
        return _of_good(draft, work, values)
    worst = reduce(np.maximum, (its.quality for its in at))
    quality = np.where(worst >= FIRST_UNCERTAIN, Quality.INPUT_UNCERTAIN, Quality.GOOD)
    for is_late in late:
        quality[is_late] = Quality.SKEWED
    quality[worst >= FIRST_BAD] = Quality.INPUT_BAD
    np.add(work.formula.evaluate(values), 0.0, out=draft.grid.value[:, work.column])
    return _grade(draft, work, quality.astype(np.uint8))


def _grade(draft: Draft, work: _Work, quality: Bytes) -> int:
    """Write *quality*, and NOT_FINITE where inputs that will do give no number."""
    value = draft.grid.value[:, work.column]
    quality[~(np.abs(value) <= LARGEST) & (quality < FIRST_BAD)] = Quality.NOT_FINITE
    value[quality >= FIRST_BAD] = np.nan
    draft.grid.quality[:, work.column] = quality
    return int(quality.max())


def _work(computed: Computed, plan: ChannelsPlan, states: set[int]) -> _Work:
    """Resolve one computed channel."""
    column = plan.column[computed.tag]
    inputs = tuple(
        _Input(name, plan.column[tag], plan.column[tag] in states)
        for name, tag in computed.inputs
    )
    clock = plan.column[computed.clock]
    for needed in (clock, *(one.column for one in inputs)):
        if needed >= column:
            raise ValueError(f"{computed.tag}: an input of it comes after it in the plan")
    return _Work(column, computed.formula, inputs, clock, computed.largest_skew_ns)
