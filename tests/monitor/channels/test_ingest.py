"""Tests for monitor.channels.ingest.

Source: Hand-worked here, from the rules of data time and quality in DEVELOPERS.md.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from monitor.channels.draft import Draft, held_at_start
from monitor.channels.ingest import Ingest
from monitor.channels.plan import ChannelsPlan, System
from monitor.channels.system import SystemChannels
from monitor.events import Control
from monitor.samples import Admitted, Quality
from tests.monitor.channels.made import NAN, START_NS, S, block, link, measured

Q = Quality
Row = tuple[float, float, int]


class Stage:
    """Ingest with what stands around it; all channels stale after 5 s unless told."""

    def __init__(self, *sources: str, stale_s: float = 5) -> None:
        channels = tuple(measured(source, source, stale_s=stale_s) for source in sources)
        self.plan = ChannelsPlan(channels, (System("link:gas"),))
        self.ingest = Ingest(self.plan, START_NS)
        self.held = held_at_start(self.plan, START_NS)
        self._system = SystemChannels(self.plan)

    def step(
        self, until_s: float, *blocks: Admitted, controls: Sequence[Control] = ()
    ) -> Draft:
        """Take a step."""
        span_ns = (self.ingest.intake.until_ns, START_NS + round(until_s * S))
        lanes = self.ingest.intake.take(blocks, span_ns[1])
        draft = self.ingest.step(lanes, self._system.moments(controls), self.held, span_ns)
        self.held = draft.newest()
        return draft


def rows(draft: Draft, column: int = 0) -> list[Row]:
    """Give (seconds, raw, quality) of a column's own rows; NaN as -1 so that rows compare."""
    n = int(draft.grid.count[column])
    return list(
        zip(
            ((draft.grid.t_ns[:n, column] - START_NS) / S).tolist(),
            np.nan_to_num(draft.raw[:n, column], nan=-1.0).tolist(),
            draft.grid.quality[:n, column].tolist(),
            strict=True,
        )
    )


def test_regular_rows_are_written_as_they_came() -> None:
    draft = Stage("gas.a", "gas.b").step(3, block("gas", [1, 2], b=[1, 2], a=[10, 20]))

    assert rows(draft, 0) == [(1, 10, 0), (2, 20, 0)]
    assert rows(draft, 1) == [(1, 1, 0), (2, 2, 0)]


def test_columns_of_one_block_have_the_same_rows_and_others_have_not() -> None:
    draft = Stage("gas.a", "gas.b", "node.n").step(
        3, block("gas", [1], a=[1], b=[1]), block("node", [1], n=[1])
    )

    same = draft.same_rows[:3].tolist()
    assert same[0] == same[1] != same[2]


def test_a_column_with_a_hole_does_not_have_the_rows_of_its_block() -> None:
    stage = Stage("gas.a", "gas.b", "gas.c")

    draft = stage.step(3, block("gas", [1, 2], a=[1, 2], b=[1, NAN], c=[1, 2]))

    same = draft.same_rows[:3].tolist()
    assert same[0] == same[2] != same[1]
    assert (rows(draft, 0), rows(draft, 1)) == ([(1, 1, 0), (2, 2, 0)], [(1, 1, 0)])


def test_blocks_behind_each_other_are_one_run_of_rows() -> None:
    stage = Stage("gas.a")

    draft = stage.step(4, block("gas", [1, 2], a=[1, 2]), block("gas", [3], a=[3]))

    assert rows(draft) == [(1, 1, 0), (2, 2, 0), (3, 3, 0)]
    assert draft.same_rows[0] >= 0


def test_rows_out_of_order_are_put_in_order() -> None:
    draft = Stage("gas.a").step(3, block("gas", [2, 1], a=[20, 10]))

    assert rows(draft) == [(1, 10, 0), (2, 20, 0)]


def test_of_two_readings_with_one_time_the_first_counts_and_the_other_is_counted() -> None:
    stage = Stage("gas.a")

    draft = stage.step(3, block("gas", [1], a=[10]), block("gas", [1], a=[11]))

    assert (rows(draft), stage.ingest.duplicate_rows) == ([(1, 10, 0)], 1)


def test_a_signal_that_comes_by_two_kinds_of_block_is_put_together() -> None:
    stage = Stage("gas.a", "gas.b")

    draft = stage.step(4, block("gas", [1, 3], a=[1, 3], b=[1, 3]), block("gas", [2], a=[2]))

    assert rows(draft, 0) == [(1, 1, 0), (2, 2, 0), (3, 3, 0)]
    assert rows(draft, 1) == [(1, 1, 0), (3, 3, 0)]


def test_blocks_of_different_signals_stay_regular() -> None:
    stage = Stage("gas.a", "gas.b")

    draft = stage.step(3, block("gas", [1, 2], a=[1, 2]), block("gas", [2], b=[5]))

    assert (rows(draft, 0), rows(draft, 1)) == ([(1, 1, 0), (2, 2, 0)], [(2, 5, 0)])
    assert draft.same_rows[:2].min() >= 0


def test_a_value_goes_stale_after_its_time_and_only_once() -> None:
    stage = Stage("gas.a")
    stage.step(2, block("gas", [1], a=[10]))

    steps = [rows(stage.step(t)) for t in (5, 6, 7, 20)]

    assert steps == [[], [(6, -1, Q.STALE)], [], []]


def test_a_reading_at_the_very_instant_of_staleness_wins() -> None:
    draft = Stage("gas.a").step(7, block("gas", [1, 6], a=[10, 60]))

    assert rows(draft) == [(1, 10, 0), (6, 60, 0)]


def test_a_gap_within_one_block_shows_the_staleness_in_it() -> None:
    draft = Stage("gas.a").step(10, block("gas", [1, 2, 8], a=[10, 20, 80]))

    assert rows(draft) == [(1, 10, 0), (2, 20, 0), (7, -1, Q.STALE), (8, 80, 0)]


def test_a_long_block_without_a_gap_stays_regular() -> None:
    draft = Stage("gas.a").step(10, block("gas", [1, 4, 7, 10], a=[1, 4, 7, 10]))

    assert rows(draft) == [(1, 1, 0), (4, 4, 0), (7, 7, 0), (10, 10, 0)]
    assert draft.same_rows[0] >= 0


def test_a_value_goes_stale_before_its_next_reading_comes() -> None:
    stage = Stage("gas.a")
    stage.step(1, block("gas", [1], a=[10]))

    draft = stage.step(10, block("gas", [9], a=[90]))

    assert rows(draft) == [(6, -1, Q.STALE), (9, 90, 0)]


def test_a_value_goes_stale_after_its_last_reading_in_a_long_step() -> None:
    draft = Stage("gas.a").step(6, block("gas", [1], a=[10]))

    assert rows(draft) == [(1, 10, 0), (6, -1, Q.STALE)]


def test_a_channel_that_never_spoke_goes_stale_from_the_start_on() -> None:
    stage = Stage("gas.a", "gas.b")

    draft = stage.step(5, block("gas", [1], a=[10]))

    assert (rows(draft, 0), rows(draft, 1)) == ([(1, 10, 0)], [(5, -1, Q.STALE)])


def test_a_lost_link_makes_every_value_of_its_instrument_bad_at_once() -> None:
    stage = Stage("gas.a", "gas.b", "node.n")

    draft = stage.step(
        3,
        block("gas", [1, 2], a=[10, 20], b=[1, NAN]),
        controls=[link(2, "gas", is_up=False)],
    )

    # At 2 s channel a has a reading, and at one instant a reading counts.
    assert rows(draft, 0) == [(1, 10, 0), (2, 20, 0)]
    assert rows(draft, 1) == [(1, 1, 0), (2, -1, Q.LINK_LOST)]
    assert rows(draft, 2) == []
    assert draft.grid.value[:, 3].tolist() == [1.0, 1.0]


def test_a_lost_link_is_no_arrival() -> None:
    stage = Stage("gas.a")
    stage.step(1, block("gas", [1], a=[10]))

    draft = stage.step(7, controls=[link(3, "gas", is_up=False)])

    assert rows(draft) == [(3, -1, Q.LINK_LOST), (6, -1, Q.STALE)]


def test_a_kept_value_is_bad_and_does_not_keep_a_channel_from_going_stale() -> None:
    draft = Stage("gas.a").step(6, block("gas", [4], a=[10], is_old=True))

    assert rows(draft) == [(4, -1, Q.OLD), (5, -1, Q.STALE)]


def test_a_row_without_any_number_gives_nothing() -> None:
    draft = Stage("gas.a").step(2, block("gas", [1], a=[NAN]))

    assert rows(draft) == []
    assert (draft.grid.quality[0, 0], draft.raw[0, 0]) == (Q.WAITING, 0.0)


def test_shorter_columns_are_padded_with_their_last_row() -> None:
    stage = Stage("gas.a", "node.n", "gas.b")

    draft = stage.step(
        4, block("gas", [1, 2, 3], a=[1, 2, 3], b=[1, NAN, NAN]), block("node", [2], n=[5])
    )

    assert draft.raw[:, 1].tolist() == [5.0, 5.0, 5.0]
    assert draft.raw[:, 2].tolist() == [1.0, 1.0, 1.0]
    assert ((draft.grid.t_ns[:, :3] - START_NS) / S).T.tolist() == [
        [1.0, 2.0, 3.0],
        [2.0, 2.0, 2.0],
        [1.0, 1.0, 1.0],
    ]


def test_a_draft_grows_where_an_irregular_column_needs_more_rows() -> None:
    stage = Stage("gas.a", "node.n")

    draft = stage.step(9, block("node", [1], n=[1]), block("gas", [2, 8], a=[1, 2]))

    assert [row[2] for row in rows(draft, 0)] == [0, Q.STALE, 0]
    assert [row[2] for row in rows(draft, 1)] == [0, Q.STALE]


def test_a_stand_without_measured_channels_has_one_row_of_padding() -> None:
    draft = Stage().step(2)

    assert draft.grid.value.tolist() == [[0.0]]
    assert draft.grid.count.tolist() == [0]
