"""Tests for monitor.channels.draft.

Source: Hand-worked here; what the padding of a grid shows is stated in monitor/samples.py.
"""

from __future__ import annotations

import numpy as np

from monitor.channels.draft import alone, draft_of, grown, held_at_start, padded
from monitor.channels.plan import ChannelsPlan, Filtered, System
from monitor.samples import Quality
from tests.monitor.channels.made import START_NS, measured

PLAN = ChannelsPlan(
    (measured("A", "gas.a"), measured("B", "gas.b")),
    (System("host:recording"),),
    filtered=(Filtered("A~filter", "A", median_of=3),),
)


def test_at_the_start_all_wait_but_the_system_channels_are_known_to_be_well() -> None:
    held = held_at_start(PLAN, START_NS)

    waiting, good = Quality.WAITING, Quality.GOOD
    assert held.quality.tolist() == [waiting, waiting, good, waiting]
    assert held.t_ns.tolist() == [START_NS] * 4
    np.testing.assert_array_equal(held.value, [np.nan, np.nan, 0.0, np.nan])


def test_a_new_draft_shows_what_is_held_in_every_row() -> None:
    held = held_at_start(PLAN, START_NS)
    held.value[1] = 7.0

    draft = draft_of(held, 2, 2)

    assert draft.grid.value[:, 1].tolist() == [7.0, 7.0]
    assert draft.grid.count.tolist() == [0, 0, 0, 0]
    assert draft.raw.shape == (2, 2)


def test_no_two_columns_share_rows_before_someone_says_so() -> None:
    draft = draft_of(held_at_start(PLAN, START_NS), 1, 2)

    assert len(set(draft.same_rows.tolist())) == 4
    assert draft.same_rows.max() < 0
    assert draft.same_rows.tolist() == alone(4).tolist()


def test_columns_without_rows_can_be_found_and_put_back_to_what_is_held() -> None:
    held = held_at_start(PLAN, START_NS)
    held.value[:2] = 1.0, 2.0
    draft = draft_of(held, 2, 2)
    draft.grid.value[:] = 99.0
    draft.grid.count[0] = 1

    idle = draft.idle(0, 2)
    draft.hold(idle)

    assert idle.tolist() == [1]
    assert draft.grid.value[:, :2].tolist() == [[99.0, 2.0], [99.0, 2.0]]


def test_putting_back_no_column_changes_nothing() -> None:
    draft = draft_of(held_at_start(PLAN, START_NS), 1, 2)
    draft.grid.value[:] = 99.0

    draft.hold(np.empty(0, dtype=np.int64))

    assert draft.grid.value.tolist() == [[99.0] * 4]


def test_a_draft_that_grows_repeats_its_last_row() -> None:
    draft = draft_of(held_at_start(PLAN, START_NS), 3, 2)
    draft.grid.t_ns[:, 0] = 5, 6, 7
    draft.grid.value[:, 0] = 1.0, 2.0, 3.0
    draft.grid.quality[:, 0] = 0, 0, 0x40
    draft.raw[:, 0] = 3.0, 4.0, 5.0
    draft.grid.count[0] = 3

    more = grown(draft, 5)

    assert more.grid.t_ns[:, 0].tolist() == [5, 6, 7, 7, 7]
    assert more.grid.value[:, 0].tolist() == [1.0, 2.0, 3.0, 3.0, 3.0]
    assert more.grid.quality[:, 0].tolist() == [0, 0, 0x40, 0x40, 0x40]
    assert more.raw[:, 0].tolist() == [3.0, 4.0, 5.0, 5.0, 5.0]
    assert more.grid.count[0] == 3


def test_padding_repeats_the_last_own_row_and_the_first_where_there_is_none() -> None:
    values = np.array([[1.0, 4.0, 7.0], [2.0, 5.0, 8.0], [3.0, 6.0, 9.0]])

    assert padded(values, np.array([2, 3, 0])).T.tolist() == [[1, 2, 2], [4, 5, 6], [7, 7, 7]]


def test_what_is_full_is_not_padded() -> None:
    values = np.array([[1.0], [2.0]])

    assert padded(values, np.array([2])) is values
    assert padded(values[:, :0], np.array([], dtype=np.int64)).size == 0


def test_the_newest_samples_are_copies_of_the_last_row() -> None:
    draft = draft_of(held_at_start(PLAN, START_NS), 2, 2)
    draft.grid.t_ns[:, 0] = 5, 6
    draft.grid.value[:, 0] = 1.0, 2.0
    draft.grid.quality[:, 0] = 0, 0x40

    newest = draft.newest()
    draft.grid.value[:] = 99.0

    assert (newest.t_ns[0], newest.value[0], newest.quality[0]) == (6, 2.0, 0x40)
