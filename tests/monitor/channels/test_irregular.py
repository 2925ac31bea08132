"""Tests for monitor.channels.irregular.

Source: Hand-worked here, from the rules of data time and quality in DEVELOPERS.md.
"""

from __future__ import annotations

import numpy as np

from monitor.channels import irregular
from monitor.channels.intake import Intake
from monitor.channels.irregular import Gaps, Samples
from monitor.samples import Admitted, Quality
from tests.monitor.channels.made import NAN, START_NS, S, block, measured

Q = Quality
CHANNELS = (measured("A", "gas.a"), measured("B", "gas.b"), measured("N", "node.n"))


def readings(*blocks: Admitted, odd: tuple[int, ...] = (0, 1, 2)) -> tuple[Samples, int]:
    """Give the readings of the columns *odd*, and how many rows were displaced."""
    lanes = Intake(CHANNELS, START_NS).take(blocks, START_NS + 100 * S)
    is_odd = np.zeros(3, dtype=np.bool_)
    is_odd[list(odd)] = True
    return irregular.readings_of(lanes, is_odd)


def told(samples: Samples) -> list[tuple[int, float, float, int]]:
    """Give (column, seconds, raw with NaN as -1, quality)."""
    return [
        (column, (t_ns - START_NS) / S, -1.0 if np.isnan(raw) else raw, quality)
        for column, t_ns, raw, quality in zip(
            samples.column.tolist(),
            samples.t_ns.tolist(),
            samples.raw.tolist(),
            samples.quality.tolist(),
            strict=True,
        )
    ]


def stale(samples: Samples, arrival_s: float, after_s: float, until_s: float) -> list[float]:
    """Give the seconds at which column 0, stale after 5 s, goes stale."""
    gaps = Gaps(
        np.array([START_NS + round(arrival_s * S)]),
        np.array([5 * S]),
        START_NS + round(after_s * S),
        START_NS + round(until_s * S),
    )
    found, _ = irregular.with_stale(samples, np.array([0]), gaps)
    return [t_s for _, t_s, _, quality in told(found) if quality == Q.STALE]


def test_readings_are_sorted_by_column_and_time() -> None:
    samples, displaced = readings(
        block("gas", [2], a=[20], b=[2]), block("gas", [1], a=[10], b=[1])
    )

    assert told(samples) == [(0, 1, 10, 0), (0, 2, 20, 0), (1, 1, 1, 0), (1, 2, 2, 0)]
    assert displaced == 0


def test_a_row_that_says_nothing_of_a_signal_is_no_reading_of_it() -> None:
    samples, _ = readings(block("gas", [1, 2], a=[10, NAN], b=[NAN, 2]))

    assert told(samples) == [(0, 1, 10, 0), (1, 2, 2, 0)]


def test_only_the_columns_asked_for_are_laid_out() -> None:
    samples, _ = readings(block("gas", [1], a=[1], b=[2]), block("node", [1], n=[3]), odd=(1,))

    assert told(samples) == [(1, 1, 2, 0)]


def test_of_two_readings_with_one_time_the_first_to_arrive_counts() -> None:
    samples, displaced = readings(
        block("gas", [1], a=[1], b=[NAN]),
        block("gas", [1, 2], b=[2, 2], a=[3, 3]),
        block("gas", [1], a=[5], b=[6]),
    )

    assert told(samples) == [(0, 1, 1, 0), (0, 2, 3, 0), (1, 1, 2, 0), (1, 2, 2, 0)]
    # The second block's first row lost its a, the third block's row both.
    assert displaced == 2


def test_a_fresh_reading_counts_before_a_kept_value_however_they_arrived() -> None:
    samples, displaced = readings(
        block("node", [1, 2], n=[1, 1], is_old=True), block("node", [1], n=[3])
    )

    assert told(samples) == [(2, 1, 3, Q.GOOD), (2, 2, -1, Q.OLD)]
    assert displaced == 1


def test_a_gap_longer_than_the_stale_time_makes_the_value_stale_within_it() -> None:
    samples, _ = readings(block("gas", [2, 8, 9], a=[1, 2, 3], b=[NAN] * 3))

    assert stale(samples, arrival_s=0, after_s=0, until_s=10) == [7.0]


def test_a_gap_as_long_as_the_stale_time_is_none() -> None:
    samples, _ = readings(block("gas", [2, 7], a=[1, 2], b=[NAN] * 2))

    assert stale(samples, arrival_s=-3, after_s=1, until_s=10) == []


def test_silence_makes_stale_when_w_reaches_the_end_of_the_stale_time() -> None:
    samples, _ = readings()

    assert stale(samples, arrival_s=0, after_s=1, until_s=4.9) == []
    assert stale(samples, arrival_s=0, after_s=1, until_s=5) == [5.0]
    assert stale(samples, arrival_s=0, after_s=5, until_s=20) == []


def test_kept_values_do_not_keep_a_channel_from_going_stale() -> None:
    samples, _ = readings(block("gas", [4, 5], a=[1, 1], is_old=True))

    assert stale(samples, arrival_s=0, after_s=0, until_s=10) == [5.0]


def test_the_newest_reading_of_each_column_is_told() -> None:
    samples, _ = readings(
        block("gas", [1, 2], a=[1, 1], b=[1, NAN]), block("node", [9], n=[1], is_old=True)
    )
    gaps = Gaps(np.full(3, START_NS), np.full(3, 50 * S), START_NS, START_NS + 10 * S)

    _, arrival_ns = irregular.with_stale(samples, np.array([0, 1, 2]), gaps)

    assert ((arrival_ns - START_NS) / S).tolist() == [2.0, 1.0, 0.0]


def test_at_one_instant_reading_stale_kept_and_lost_link_count_in_this_order() -> None:
    everything = [
        irregular.link_lost(np.array([0, 1, 2, 3]), START_NS),
        irregular.marks(np.array([0, 1, 2]), np.full(3, START_NS), 2),
        irregular.marks(np.array([0, 1]), np.full(2, START_NS), 1),
        Samples(
            np.array([0]), np.array([START_NS]), np.array([7.0]), np.zeros(1, dtype=np.uint8)
        ),
    ]

    ordered = irregular.in_order(irregular.joined(everything))

    assert told(ordered) == [
        (0, 0, 7.0, Q.GOOD),
        (1, 0, -1, Q.STALE),
        (2, 0, -1, Q.OLD),
        (3, 0, -1, Q.LINK_LOST),
    ]


def test_no_samples_at_all_are_in_order() -> None:
    assert told(irregular.in_order(irregular.joined([]))) == []
