"""Tests for monitor.engine.clock.

Source: hand-worked here; the rule is 'data time never turns back, whatever clock is set'.
"""

from __future__ import annotations

import threading

from monitor.engine.clock import RunClock, steady_ns

SECOND_NS = 1_000_000_000


class Hands:
    """Two clocks that a test sets by hand, in ns."""

    def __init__(self, wall: int, steady: int) -> None:
        self.wall = wall
        self.steady = steady

    def clock(self, last_recorded_ns: int = 0, speed: float = 1.0) -> RunClock:
        return RunClock(
            last_recorded_ns, speed, wall_ns=lambda: self.wall, steady=lambda: self.steady
        )


def test_starts_at_the_wall_clock_and_follows_the_steady_one() -> None:
    hands = Hands(wall=1_000 * SECOND_NS, steady=5)
    clock = hands.clock()

    hands.steady += 7

    assert clock.now_ns() == 1_000 * SECOND_NS + 7


def test_a_wall_clock_stepped_back_an_hour_changes_nothing() -> None:
    hands = Hands(wall=10_000 * SECOND_NS, steady=0)
    clock = hands.clock()

    hands.wall -= 3_600 * SECOND_NS
    hands.steady += SECOND_NS

    assert clock.now_ns() == 10_001 * SECOND_NS


def test_a_restart_after_the_clock_was_stepped_back_starts_behind_the_record() -> None:
    clock = Hands(wall=6_400 * SECOND_NS, steady=0).clock(last_recorded_ns=10_000 * SECOND_NS)

    assert clock.now_ns() == 10_000 * SECOND_NS + 1
    assert clock.anchor_ns == clock.now_ns()


def test_speed_scales_what_has_passed_and_not_the_anchor() -> None:
    hands = Hands(wall=100 * SECOND_NS, steady=3 * SECOND_NS)
    clock = hands.clock(speed=20.0)

    hands.steady += SECOND_NS // 2

    assert clock.now_ns() == 110 * SECOND_NS
    assert clock.speed == 20.0


def test_whole_ns_survive_a_run_of_a_year_at_speed_one() -> None:
    hands = Hands(wall=0, steady=0)
    clock = hands.clock()

    hands.steady = 366 * 86_400 * SECOND_NS + 1

    assert clock.now_ns() - clock.anchor_ns == 366 * 86_400 * SECOND_NS + 1


def test_never_turns_back_seen_from_several_threads() -> None:
    clock = RunClock(speed=3.7)
    seen: list[list[int]] = [[] for _ in range(3)]

    def look(into: list[int]) -> None:
        into.extend(clock.now_ns() for _ in range(20_000))

    threads = [threading.Thread(target=look, args=(row,)) for row in seen]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert all(row == sorted(row) for row in seen)


def test_the_steady_clock_runs() -> None:
    before = steady_ns()

    assert steady_ns() >= before > 0
