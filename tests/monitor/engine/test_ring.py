"""Tests for monitor.engine.ring.

Source: hand-worked here; the random case compares with lists.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.engine.ring import Ring
from monitor.engine.rows import Rows


def rows(by_channel: dict[int, list[int]]) -> Rows:
    """Make rows whose value is their time with the channel behind the point."""
    t_ns = [t for times in by_channel.values() for t in times]
    value = [t + c / 10 for c, times in by_channel.items() for t in times]
    lengths = [len(times) for times in by_channel.values()]
    return Rows(
        np.array(list(by_channel), np.int64),
        np.concatenate(([0], np.cumsum(lengths))).astype(np.int64),
        np.array(t_ns, np.int64),
        np.array(value),
        np.zeros(len(t_ns), np.uint8),
    )


def test_gives_rows_back_oldest_first() -> None:
    ring = Ring(channels=2, capacity=4)
    ring.push(rows({0: [1, 2], 1: [5]}))
    ring.push(rows({1: [6]}))

    t_ns, value = ring.rows(1)

    assert t_ns.tolist() == [5, 6]
    assert value.tolist() == [5.1, 6.1]


def test_the_oldest_rows_go_first_and_it_says_so() -> None:
    ring = Ring(channels=1, capacity=3)
    ring.push(rows({0: [1, 2, 3]}))
    assert ring.is_whole(0)

    ring.push(rows({0: [4]}))

    assert ring.rows(0)[0].tolist() == [2, 3, 4]
    assert not ring.is_whole(0)


def test_a_block_longer_than_the_ring_leaves_its_newest_rows() -> None:
    ring = Ring(channels=2, capacity=3)
    ring.push(rows({1: [1, 2, 3, 4, 5, 6, 7]}))

    assert ring.rows(1)[0].tolist() == [5, 6, 7]
    assert ring.rows(0)[0].tolist() == []


@pytest.mark.parametrize("seed", range(3))
def test_equals_lists_cut_to_length(seed: int) -> None:
    random = np.random.default_rng(seed)
    ring = Ring(channels=3, capacity=16)
    kept: dict[int, list[int]] = {0: [], 1: [], 2: []}
    for step in range(40):
        new = {c: [step * 100 + k for k in range(random.integers(1, 20))] for c in (0, 2)}
        ring.push(rows(new))
        for channel, times in new.items():
            kept[channel] += times

    assert [ring.rows(c)[0].tolist() for c in range(3)] == [kept[c][-16:] for c in range(3)]
