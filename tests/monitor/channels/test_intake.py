"""Tests for monitor.channels.intake.

Source: Hand-worked here, from the rules of data time (W, late rows) in DEVELOPERS.md.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.channels import intake as module
from monitor.channels.intake import Intake, Lane
from monitor.samples import Admitted
from tests.monitor.channels.made import START_NS, S, block, measured

CHANNELS = (
    measured("A", "gas.a", stale_s=3),
    measured("B", "gas.b", stale_s=2),
    measured("N", "node.n"),
    measured("A2", "gas.a"),
)


def at(t_s: float) -> int:
    """Give a time *t_s* after the start."""
    return START_NS + round(t_s * S)


def intake() -> Intake:
    """Make an intake that nothing has come to."""
    return Intake(CHANNELS, START_NS)


def rows(lanes: list[Lane]) -> dict[str, list[tuple[float, list[float]]]]:
    """Give (seconds, numbers) by instrument."""
    found: dict[str, list[tuple[float, list[float]]]] = {}
    for lane in lanes:
        t_ns, values = lane.joined()
        pairs = zip(((t_ns - START_NS) / S).tolist(), values.tolist(), strict=True)
        found.setdefault(lane.route.instrument, []).extend(pairs)
    return found


def test_rows_up_to_w_are_due_and_later_ones_wait() -> None:
    one = intake()

    first = rows(one.take([block("node", [1, 2, 3], n=[10, 20, 30])], at(2)))
    waiting = one.waiting_rows
    second = rows(one.take([], at(3)))

    assert first == {"node": [(1.0, [10.0]), (2.0, [20.0])]}
    assert (waiting, one.waiting_rows) == (1, 0)
    assert second == {"node": [(3.0, [30.0])]}


def test_a_block_that_is_wholly_after_w_waits_whole() -> None:
    one = intake()

    first = one.take([block("node", [3, 4], n=[30, 40])], at(2))

    assert (first, one.waiting_rows) == ([], 2)


def test_what_waited_comes_before_what_is_new() -> None:
    one = intake()
    one.take([block("node", [3], n=[1])], at(1))

    (lane,) = one.take([block("node", [3, 4], n=[2, 3])], at(4))

    assert [piece.values[:, 0].tolist() for piece in lane.pieces] == [[1.0], [2.0, 3.0]]
    assert lane.arrivals == [0, 1]


def test_rows_marked_late_are_counted_and_left_out() -> None:
    one = intake()

    got = rows(one.take([block("node", [1, 2], n=[10, 20], late=[True, False])], at(3)))

    assert (got, one.late_rows) == ({"node": [(2.0, [20.0])]}, 1)


def test_a_block_that_is_late_as_a_whole_gives_nothing() -> None:
    one = intake()

    assert one.take([block("node", [1], n=[10], late=[True])], at(3)) == []
    assert one.late_rows == 1


def test_marks_that_mark_nothing_change_nothing() -> None:
    one = intake()

    got = rows(one.take([block("node", [1], n=[10], late=[False])], at(3)))

    assert (got, one.late_rows) == ({"node": [(1.0, [10.0])]}, 0)


def test_rows_before_w_are_late_even_without_a_mark() -> None:
    one = intake()
    one.take([], at(2))

    got = rows(one.take([block("node", [1, 2, 3], n=[10, 20, 30])], at(3)))
    nothing = one.take([block("node", [3], n=[30])], at(4))

    assert (got, nothing, one.late_rows) == ({"node": [(3.0, [30.0])]}, [], 3)


def test_rows_that_no_channel_uses_are_counted() -> None:
    one = intake()
    rest = [block("gas", [1], z=[1]), block("ghost", [1, 2], a=[1, 2])]

    assert one.take(rest, at(3)) == []
    assert one.unknown_rows == 3


def test_an_empty_block_is_nothing() -> None:
    one = intake()

    assert one.take([block("node", [], n=[])], at(3)) == []
    assert one.unknown_rows == 0


def test_rows_out_of_order_are_taken_apart_so_that_each_can_wait() -> None:
    one = intake()
    pair = [block("node", [1, 2], n=[1, 2]), block("node", [5, 3, 4], n=[5, 3, 4])]

    first = rows(one.take(pair, at(4)))
    second = rows(one.take([], at(5)))

    assert first == {"node": [(1.0, [1.0]), (2.0, [2.0]), (3.0, [3.0]), (4.0, [4.0])]}
    assert second == {"node": [(5.0, [5.0])]}


def test_a_lane_knows_its_span_and_whether_its_times_rise() -> None:
    one = intake()
    rising = [block("node", [1, 2], n=[1, 2]), block("node", [3], n=[3])]
    falling = [block("node", [5], n=[5]), block("node", [4], n=[4])]

    (first,) = one.take(rising, at(3))
    (second,) = one.take(falling, at(6))

    assert (first.first_ns, first.last_ns, first.rows, first.is_rising) == (
        at(1),
        at(3),
        3,
        True,
    )
    assert (second.first_ns, second.last_ns, second.is_rising) == (at(5), at(4), False)


def test_times_equal_across_two_blocks_do_not_rise() -> None:
    (lane,) = intake().take([block("node", [1], n=[1]), block("node", [1], n=[2])], at(3))

    assert not lane.is_rising


def test_kept_values_have_a_lane_of_their_own() -> None:
    pair = [block("node", [1], n=[1]), block("node", [2], n=[2], is_old=True)]

    lanes = intake().take(pair, at(3))

    assert [lane.is_old for lane in lanes] == [False, True]


def test_a_route_leads_each_signal_to_every_channel_that_uses_it() -> None:
    (lane,) = intake().take([block("gas", [1], b=[1], x=[9], a=[2])], at(3))
    route = lane.route

    numbers = lane.pieces[0].values[0, route.pick]
    assert dict(zip(route.columns.tolist(), numbers.tolist(), strict=True)) == {
        0: 2.0,
        1: 1.0,
        3: 2.0,
    }
    assert route.shortest_stale_ns == 2 * S


def test_neighbouring_columns_are_written_as_a_slice() -> None:
    (lane,) = intake().take([block("node", [1], n=[1])], at(3))

    assert (lane.route.to, lane.route.pick) == (slice(2, 3), slice(0, 1))


def test_what_waits_is_bounded_and_what_finds_no_room_is_counted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "MOST_WAITING_ROWS", 3)
    one = intake()

    one.take([block("node", [5, 6], n=[5, 6]), block("node", [7, 8], n=[7, 8])], at(1))
    one.take([block("node", [9], n=[9]), block("gas", [9], a=[9])], at(1))

    assert (one.overflow_rows, one.waiting_rows) == (2, 4)
    assert rows(one.take([], at(9))) == {
        "node": [(5.0, [5.0]), (6.0, [6.0]), (7.0, [7.0])],
        "gas": [(9.0, [9.0])],
    }


def test_routes_are_forgotten_before_they_fill_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_MOST_ROUTES", 2)
    one = intake()
    names = [block("gas", [1], a=[1], **{f"x{i}": [0.0]}) for i in range(5)]

    got = rows(one.take(names, at(3)))

    assert [numbers for _, numbers in got["gas"]] == [[1.0, 0.0]] * 5
    assert len(one._routes) <= 2


def test_what_waits_survives_a_restart() -> None:
    one, other = intake(), intake()
    early: list[Admitted] = [
        block("node", [1, 4, 5], n=[10, 40, 50]),
        block("gas", [4], a=[1], b=[2], is_old=True),
    ]
    one.take(early, at(2))

    other.until_ns = one.until_ns
    other.load_waiting(one.waiting())
    lanes = other.take([], at(5))

    assert rows(lanes) == {"node": [(4.0, [40.0]), (5.0, [50.0])], "gas": [(4.0, [1.0, 2.0])]}
    assert [lane.is_old for lane in lanes] == [False, True]


def test_waiting_rows_of_a_channel_that_is_gone_are_left_out() -> None:
    one, other = intake(), Intake(CHANNELS[:2], START_NS)
    one.take([block("node", [4], n=[40])], at(2))

    other.load_waiting(one.waiting())

    assert other.waiting_rows == 0


def test_values_are_not_copied_on_their_way() -> None:
    whole = block("node", [1, 2], n=[10, 20])

    (lane,) = intake().take([whole], at(3))

    assert np.shares_memory(lane.joined()[1], whole.block.values)
