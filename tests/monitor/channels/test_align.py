"""Tests for monitor.channels.align.

Source: Hand-worked here, from limit rule 5 (channels of different rates).
"""

from __future__ import annotations

import numpy as np

from monitor.channels.align import aligned
from monitor.channels.draft import Draft, Held, draft_of


def draft() -> Draft:
    """Column 0 is a clock at 10, 20, 30; 1 has rows at 20 and 25; 2 shares 0's rows; 3 none."""
    held = Held(
        np.array([0, 4, 0, 7], dtype=np.int64),
        np.array([0.0, 4.5, 0.0, 7.5]),
        np.array([0, 0x40, 0, 0x83], dtype=np.uint8),
    )
    made = draft_of(held, 3, 4)
    made.grid.t_ns[:, 0] = made.grid.t_ns[:, 2] = 10, 20, 30
    made.grid.t_ns[:, 1] = 20, 25, 25
    made.grid.value[:, 1] = 5.0, 6.0, 6.0
    made.grid.value[:, 2] = 1.0, 2.0, 3.0
    made.grid.quality[:, :3] = 0
    made.grid.count[:] = 3, 2, 3, 0
    made.same_rows[[0, 2]] = 0
    return made


def test_each_row_sees_the_newest_sample_and_one_of_its_own_instant() -> None:
    at = aligned(draft(), 1, 0)

    assert at.value.tolist() == [4.5, 5.0, 6.0]
    assert at.quality.tolist() == [0x40, 0, 0]


def test_the_age_of_each_sample_is_known() -> None:
    at = aligned(draft(), 1, 0)

    assert at.age_ns is not None
    assert at.age_ns.tolist() == [6, 0, 5]


def test_what_got_no_row_is_seen_as_it_was_held() -> None:
    at = aligned(draft(), 3, 0)

    assert (at.value.tolist(), at.quality.tolist()) == ([7.5] * 3, [0x83] * 3)


def test_columns_with_the_same_rows_have_no_age() -> None:
    at = aligned(draft(), 2, 0)

    assert (at.value.tolist(), at.age_ns) == ([1.0, 2.0, 3.0], None)
