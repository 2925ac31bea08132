"""Readings and link changes to a draft of the grid: raw rows, and why there are none.

Nearly all columns are regular: rows in time order, a number in each, no gap. Those of one block
are written at once. The others go through :mod:`monitor.channels.irregular`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from monitor.channels import irregular
from monitor.channels.draft import Draft, Held, alone, draft_of, grown
from monitor.channels.intake import Intake, Lane
from monitor.channels.plan import ChannelsPlan
from monitor.channels.system import Moments
from monitor.samples import Flags, Ints, Quality


class Ingest:
    """Fills the measured and the system columns.

    Attributes:
        intake: The rows that wait, and counts of those that were not used.
        arrival_ns: (measured,) time of the newest reading of each column.
        duplicate_rows: Rows with a time that their channel had a reading of already.
    """

    def __init__(self, plan: ChannelsPlan, start_ns: int) -> None:
        """Expect a first reading of every channel from *start_ns* on."""
        self._width = len(plan.measured)
        self.intake = Intake(plan.measured, start_ns)
        self.arrival_ns: Ints = np.full(self._width, start_ns, dtype=np.int64)
        self.duplicate_rows = 0
        stale_after_ns = [channel.stale_after_ns for channel in plan.measured]
        self._stale_after_ns: Ints = np.array(stale_after_ns, dtype=np.int64)

    def step(
        self, lanes: Sequence[Lane], moments: Moments, held: Held, span_ns: tuple[int, int]
    ) -> Draft:
        """Lay out a step's rows.

        Args:
            lanes: What came.
            moments: Link changes, host events and forced values.
            held: The newest sample of each column before the step.
            span_ns: W0 and W.
        """
        counts = [lane.rows for lane in lanes]
        rows = max([1, moments.most_rows(), *counts])
        draft = draft_of(held, rows, self._width)
        is_odd: Flags = np.zeros(self._width, dtype=np.bool_)
        self._write_regular(draft, lanes, is_odd)
        gaps = irregular.Gaps(self.arrival_ns, self._stale_after_ns, *span_ns)
        self._find_irregular(draft, is_odd, gaps)
        for columns, _ in moments.lost:
            is_odd[columns] = True
        for column, _ in (*moments.forcing.begins, *moments.forcing.ends):
            is_odd[column] = True
        self._note_arrivals(draft, is_odd)
        if is_odd.any():
            draft = self._write_irregular(draft, lanes, moments, (is_odd, gaps))
        moments.write(draft)
        return draft

    def _write_regular(self, draft: Draft, lanes: Sequence[Lane], is_odd: Flags) -> None:
        """Write every lane as if it were regular; mark columns that cannot be."""
        draft.grid.quality[:, : self._width] = Quality.GOOD
        count = draft.grid.count
        may_meet = len({lane.route.instrument for lane in lanes}) < len(lanes)
        for number, lane in enumerate(lanes):
            to = lane.route.to
            if lane.is_old or not lane.is_rising or (may_meet and count[to].any()):
                is_odd[to] = True
                continue
            longest_ns = _write_lane(draft, lane, number)
            if longest_ns > lane.route.shortest_stale_ns:
                is_odd[to] |= longest_ns > self._stale_after_ns[to]

    def _find_irregular(self, draft: Draft, is_odd: Flags, gaps: irregular.Gaps) -> None:
        """Mark columns with a row that has no number, and those that go stale."""
        is_odd |= np.isnan(draft.raw.min(axis=0))
        has_rows = draft.grid.count[: self._width] > 0
        first_ns = draft.grid.t_ns[0, : self._width]
        due_ns = gaps.arrival_ns + gaps.stale_after_ns
        falls_due = (due_ns > gaps.after_ns) & (due_ns <= gaps.until_ns)
        is_odd |= falls_due & (~has_rows | (first_ns > due_ns))
        last_ns = draft.grid.t_ns[-1, : self._width]
        is_odd |= has_rows & (gaps.until_ns - last_ns >= gaps.stale_after_ns)

    def _note_arrivals(self, draft: Draft, is_odd: Flags) -> None:
        """Take the newest time of every regular column that got rows."""
        grid = draft.grid
        is_fresh = (grid.count[: self._width] > 0) & ~is_odd
        self.arrival_ns = np.where(is_fresh, grid.t_ns[-1, : self._width], self.arrival_ns)

    def _write_irregular(
        self,
        draft: Draft,
        lanes: Sequence[Lane],
        moments: Moments,
        found: tuple[Flags, irregular.Gaps],
    ) -> Draft:
        """Put the irregular columns together, in place of what was written for them."""
        is_odd, gaps = found
        columns = np.flatnonzero(is_odd)
        readings, duplicates = irregular.readings_of(lanes, is_odd)
        self.duplicate_rows += duplicates
        released = irregular.at(moments.forcing.ends, irregular.RANK_RELEASED)
        if released.t_ns.size:
            readings = irregular.in_order(irregular.joined([readings, released]))
        samples, self.arrival_ns[columns] = irregular.with_stale(readings, columns, gaps)
        lost = [irregular.link_lost(of, t_ns) for of, t_ns in moments.lost]
        begun = irregular.at(moments.forcing.begins, irregular.RANK_FORCED)
        samples = irregular.in_order(irregular.joined([samples, *lost, begun]))
        count = np.bincount(samples.column, minlength=self._width)[columns]
        if count.max() > draft.raw.shape[0]:
            draft = grown(draft, int(count.max()))
        draft.grid.count[columns] = count
        draft.same_rows[columns] = alone(draft.same_rows.size)[columns]
        _write(draft, columns, samples)
        return draft


def _write_lane(draft: Draft, lane: Lane, number: int) -> int:
    """Write a lane's rows into its columns, padded; give the longest gap or what bounds it."""
    t_ns, values = lane.joined()
    to, n = lane.route.to, t_ns.size
    draft.grid.t_ns[:n, to] = t_ns[:, None]
    draft.raw[:n, to] = values[:, lane.route.pick]
    if n < draft.raw.shape[0]:
        draft.grid.t_ns[n:, to] = t_ns[-1]
        draft.raw[n:, to] = draft.raw[n - 1, to]
    draft.grid.count[to] = n
    draft.same_rows[to] = number
    span_ns = lane.last_ns - lane.first_ns
    if span_ns <= lane.route.shortest_stale_ns:
        return span_ns
    return int((t_ns[1:] - t_ns[:-1]).max())


def _write(draft: Draft, columns: Ints, samples: irregular.Samples) -> None:
    """Write sorted samples from row 0 of their columns on, and repeat the last below.

    Columns without a sample show the held one.
    """
    grid = draft.grid
    count = grid.count[columns]
    end = np.cumsum(count)
    rows = np.arange(draft.raw.shape[0])
    # (rows, columns) positions in the flat list; the padding repeats the last position.
    place = np.minimum((end - count) + rows[:, None], end - 1)
    has_rows = count > 0
    chosen, place = columns[has_rows], place[:, has_rows]
    grid.t_ns[:, chosen] = samples.t_ns[place]
    grid.quality[:, chosen] = samples.quality[place]
    draft.raw[:, chosen] = samples.raw[place]
    empty = columns[~has_rows]
    draft.raw[:, empty] = 0.0
    draft.hold(empty)
