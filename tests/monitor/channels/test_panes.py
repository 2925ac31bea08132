"""Tests for monitor.channels.panes.

Source: Hand-worked here.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from monitor.channels.panes import Panes, moments

MOST = 2000


def panes_of(*window_ns: int) -> Panes:
    """Make panes of these lengths."""
    return Panes(np.array(window_ns, dtype=np.int64), MOST)


def add(panes: Panes, column: int, t_ns: Sequence[int], value: Sequence[float]) -> list[int]:
    """Add samples to one column; give how many there are with each."""
    at_ns, values = np.array([t_ns], dtype=np.int64), np.array([value], dtype=np.float64)
    is_kept = np.ones(at_ns.shape, dtype=np.bool_)
    return panes.append(np.array([column]), at_ns, values, is_kept)[0].tolist()


def turn(panes: Panes, column: int, moved: int, edge_ns: int, reference: float) -> None:
    """Turn one column."""
    panes.turn(
        np.array([column]), np.array([moved]), np.array([edge_ns]), np.array([reference])
    )


def before(panes: Panes, column: int, since_ns: int) -> tuple[int, list[float], int]:
    """Give where a window begins in the previous pane, its sums there and its first time."""
    columns = np.array([column])
    first = panes.first_inside(columns, np.array([[since_ns]]))
    sums = panes.sums_before(columns, first)[:, 0, 0].tolist()
    return int(first[0, 0]), sums, int(panes.first_ns(columns, first)[0, 0])


def test_the_sums_are_of_x_y_and_their_products() -> None:
    assert moments(np.array([2.0]), np.array([3.0]))[:, 0].tolist() == [2, 3, 4, 6, 9]


def test_samples_of_the_old_pane_are_summed_from_where_the_window_begins() -> None:
    panes = panes_of(10, 10)
    add(panes, 1, [100, 105, 108], [1.0, 4.0, 6.0])
    turn(panes, 1, 3, 110, 6.0)
    add(panes, 1, [113], [9.0])

    # x of 108 is -0.2, of 105 -0.5; y is 0 and -2.
    assert before(panes, 1, 0) == (1, [-0.7, -2.0, 0.2 * 0.2 + 0.25, 1.0, 4.0], 105)
    assert before(panes, 1, 5) == (2, [-0.2, 0.0, 0.2 * 0.2, 0.0, 0.0], 108)
    assert before(panes, 1, 8) == (3, [0.0] * 5, 113)


def test_what_is_not_moved_is_forgotten() -> None:
    panes = panes_of(10)
    add(panes, 0, [100, 105, 108], [1.0, 4.0, 6.0])
    turn(panes, 0, 3, 110, 6.0)
    turn(panes, 0, 0, 200, 0.0)
    add(panes, 0, [203], [9.0])

    assert before(panes, 0, 0) == (0, [0.0] * 5, 203)


@pytest.mark.parametrize("many", [20, 999, 1100])
def test_a_shorter_pane_after_a_longer_one_leaves_nothing_of_it(many: int) -> None:
    panes = panes_of(2000)
    add(panes, 0, range(many), [1.0] * many)
    turn(panes, 0, many, 2000, 0.0)
    add(panes, 0, [2000, 3000], [2.0, 3.0])
    turn(panes, 0, 2, 4000, 3.0)
    add(panes, 0, [4000], [3.0])

    assert before(panes, 0, 0)[0] == 1
    assert before(panes, 0, 999) == (1, [-0.5, 0.0, 0.25, 0.0, 0.0], 3000)
    assert before(panes, 0, 1000)[0] == 2


def test_long_panes_and_short_ones_turn_to_the_same_sums() -> None:
    """Those of 1024 samples and more are turned one by one."""
    rng = np.random.default_rng(1)
    t_ns, value = list(range(0, 3300, 3)), rng.normal(size=1100).tolist()
    long, short = panes_of(3300), panes_of(3300)
    add(long, 0, t_ns, value)
    turn(long, 0, 1100, 3300, 0.5)
    add(short, 0, t_ns[300:], value[300:])
    turn(short, 0, 800, 3300, 0.5)

    assert before(long, 0, 900)[1] == before(short, 0, 900)[1]
    assert before(long, 0, 2400)[1:] == before(short, 0, 2400)[1:]


def test_a_stretch_that_grows_moves_the_others_along() -> None:
    panes = panes_of(1000, 1000, 1000)
    for column in (0, 1, 2):
        add(panes, column, [0, 700], [1.0, 2.0 + column])
        turn(panes, column, 2, 1000, 0.0)
        add(panes, column, [1000, 1001], [5.0, 6.0])
    expected = before(panes, 2, 300)

    assert add(panes, 1, range(1002, 1500), [0.0] * 498)[-1] == 500
    assert before(panes, 2, 300) == expected == (1, [-0.3, 4.0, 0.09, -1.2, 16.0], 700)
    t_ns, value = panes.kept()
    assert t_ns[[0, 1, 2, 3, 4, 5, 6, 7]].tolist() == [0, 700, 1000, 1001, 0, 700, 1000, 1001]
    assert value[-4:].tolist() == [1.0, 4.0, 5.0, 6.0]


def test_no_stretch_grows_beyond_the_most_that_a_pane_may_have() -> None:
    panes = panes_of(10_000)
    for first in range(0, MOST, 50):
        add(panes, 0, range(first, first + 50), [0.0] * 50)

    assert int(panes._size[0]) == MOST + 1


def test_the_last_value_is_that_of_the_present_pane() -> None:
    panes = panes_of(10, 10)
    add(panes, 0, [1, 2], [4.0, 5.0])

    assert panes.last_value(np.array([0, 1])).tolist() == [5.0, 0.0]


def test_windows_of_centuries_are_refused() -> None:
    with pytest.raises(ValueError, match="centuries"):
        panes_of(1 << 62, 1 << 62)
