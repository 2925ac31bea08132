"""Tests for monitor.channels.forcing.

Source: Hand-worked here, from the project's own limit rule 13 (DEVELOPERS.md): a value forced
by hand is uncertain and expires; through the channel stage for what it does to samples.
"""

from __future__ import annotations

import numpy as np
import pytest

from drivers.reading import Block
from monitor.channels.forcing import ForcedChannels, Window
from monitor.channels.formula import parse_formula
from monitor.channels.plan import (
    ChannelsPlan,
    Computed,
    Linear,
    Measured,
    System,
    ThermocoupleK,
    Voted,
)
from monitor.channels.stage import Channels
from monitor.events import Action, Control, LinkChange
from monitor.physics.thermocouple import degc_from_mv, mv_from_degc
from monitor.samples import Admitted, Quality

S = 1_000_000_000
Q = Quality
PLAN = ChannelsPlan(
    (
        Measured("A", "gas", "a", Linear(), 3 * S),
        Measured("B", "gas", "b", Linear(), 3 * S),
        Measured("T", "gas", "t", ThermocoupleK(cold_junction_tag="B"), 3 * S),
    ),
    (System("link:gas"),),
    (
        Computed("D", parse_formula("a - b"), (("a", "A"), ("b", "B")), "A", 2 * S),
        Voted("V", ("A", "B"), 1, 2 * S),
    ),
)


def force(t_s: float, value: float, seconds: float, tag: str = "A", seq: int = 1) -> Control:
    """Force a value."""
    action = Action("force", tag, "K. Vale", "stuck", seconds, changes={"value": value})
    return Control(round(t_s * S), seq, action)


def let_go(t_s: float, tag: str = "A", seq: int = 2) -> Control:
    """Let a value go."""
    return Control(round(t_s * S), seq, Action("unforce", tag, "K. Vale"))


class Bench:
    """Channels, and what they showed."""

    def __init__(self) -> None:
        self.channels = Channels(PLAN, 0)

    def step(
        self, until_s: float, *rows: tuple[float, float], controls: tuple[Control, ...] = ()
    ) -> None:
        """Show rows of all signals, (seconds, value)."""
        blocks = []
        if rows:
            t_ns = np.array([round(t * S) for t, _ in rows])
            values = np.array([[v, v, 1.0] for _, v in rows])
            blocks = [Admitted(Block("gas", ("a", "b", "t"), t_ns, values))]
        self.grid = self.channels.step(blocks, controls, round(until_s * S))

    def samples(self, tag: str) -> list[tuple[float, float | None, int]]:
        """Give (seconds, value, quality) of what the last step gave."""
        column = PLAN.column[tag]
        found = []
        for k in range(int(self.grid.count[column])):
            value = float(self.grid.value[k, column])
            quality = int(self.grid.quality[k, column])
            t_s = self.grid.t_ns[k, column] / S
            found.append((t_s, None if value != value else value, quality))
        return found


def test_a_forced_value_stands_in_from_its_instant_and_is_uncertain() -> None:
    bench = Bench()
    bench.step(9, (1, 5), (2, 5), (3, 5), controls=(force(2.5, 40, 60),))

    assert bench.samples("A")[:4] == [
        (1, 5, Q.GOOD),
        (2, 5, Q.GOOD),
        (2.5, 40, Q.FORCED),
        (3, 40, Q.FORCED),
    ]


def test_other_channels_of_the_instrument_go_on() -> None:
    bench = Bench()
    bench.step(3, (1, 5), (3, 5), controls=(force(2, 40, 60),))

    assert bench.samples("B") == [(1, 5, Q.GOOD), (3, 5, Q.GOOD)]


def test_it_expires_and_the_next_reading_counts() -> None:
    bench = Bench()
    bench.step(5, (1, 5), (3, 6), (4.5, 7), controls=(force(2, 40, 2),))

    assert bench.samples("A") == [
        (1, 5, Q.GOOD),
        (2, 40, Q.FORCED),
        (3, 40, Q.FORCED),
        (4, None, Q.RELEASED),
        (4.5, 7, Q.GOOD),
    ]


def test_a_reading_at_the_instant_of_its_end_counts() -> None:
    bench = Bench()
    bench.step(5, (1, 5), (4, 7), controls=(force(2, 40, 2),))

    assert bench.samples("A")[-1] == (4, 7, Q.GOOD)


def test_a_hand_can_let_it_go_sooner() -> None:
    bench = Bench()
    bench.step(3.5, (1, 5), controls=(force(2, 40, 60), let_go(3)))

    assert bench.samples("A")[1:] == [(2, 40, Q.FORCED), (3, None, Q.RELEASED)]


def test_forced_anew_it_shows_the_new_value_without_a_gap() -> None:
    bench = Bench()
    bench.step(3.5, (1, 5), controls=(force(2, 40, 60), force(3, 41, 60, seq=2)))

    assert bench.samples("A")[1:] == [(2, 40, Q.FORCED), (3, 41, Q.FORCED)]


def test_while_it_is_forced_no_silence_and_no_lost_link_shows() -> None:
    bench = Bench()
    lost = Control(3 * S, 9, LinkChange("gas", is_up=False, why="unplugged"))
    bench.step(10, (1, 5), controls=(force(2, 40, 60), lost))

    assert {quality for t_s, _, quality in bench.samples("A") if t_s >= 2} == {Q.FORCED}


def test_after_its_end_a_silent_sensor_goes_stale_in_its_time() -> None:
    bench = Bench()
    bench.step(20, (1, 5), controls=(force(2, 40, 8),))

    assert bench.samples("A")[-2:] == [(10, None, Q.RELEASED), (13, None, Q.STALE)]


def test_what_is_computed_from_it_is_uncertain() -> None:
    bench = Bench()
    bench.step(3, (1, 5), (3, 5), controls=(force(2, 40, 60),))

    assert bench.samples("D")[-1] == (3, 35, Q.INPUT_UNCERTAIN)


def test_a_forced_cold_junction_compensates() -> None:
    bench = Bench()
    bench.step(3, (1, 5), (3, 5), controls=(force(2, 40, 60, "B"),))

    expected = degc_from_mv(np.array([1.0]) + mv_from_degc(np.array([40.0])))[0]
    assert bench.samples("T")[-1] == (3, expected, Q.INPUT_UNCERTAIN)


def test_a_forced_thermocouple_shows_what_it_is_forced_to() -> None:
    bench = Bench()
    bench.step(3, (1, 5), (3, 5), controls=(force(2, 40, 60, "T"),))

    assert bench.samples("T")[-1] == (3, 40, Q.FORCED)


def test_it_has_no_vote() -> None:
    bench = Bench()
    bench.step(3, (1, 5), (3, 5), controls=(force(2, 40, 60),))

    assert bench.samples("V")[-1] == (3, 5, Q.LONE_SENSOR)


@pytest.mark.parametrize("cut_s", [1.5, 2, 2.5, 3, 4, 4.2, 5, 8])
def test_where_a_step_ends_changes_nothing_and_a_restart_neither(cut_s: float) -> None:
    rows = [(1.0, 5.0), (3.0, 6.0), (4.5, 7.0)]
    controls = [force(2, 40, 2), force(4.8, 50, 3, seq=2)]
    whole, one, other = Bench(), Bench(), Bench()
    whole.step(30, *rows, controls=tuple(controls))
    one.step(
        cut_s,
        *(r for r in rows if r[0] <= cut_s),
        controls=tuple(c for c in controls if c.t_ns <= cut_s * S),
    )
    other.channels.load_state(one.channels.state())
    other.step(
        30,
        *(r for r in rows if r[0] > cut_s),
        controls=tuple(c for c in controls if c.t_ns > cut_s * S),
    )

    assert one.samples("A") + other.samples("A") == whole.samples("A")
    assert len(whole.samples("A")) == 9


def test_a_window_that_was_over_before_the_next_one_ends_at_its_own_time() -> None:
    forced = ForcedChannels(PLAN)

    got = forced.step([force(2, 40, 1), force(9, 41, 5, seq=2)], 10 * S)

    assert got.windows == (Window(0, 2 * S, 3 * S, 40.0), Window(0, 9 * S, 14 * S, 41.0))
    assert (got.begins, got.ends) == (((0, 2 * S), (0, 9 * S)), ((0, 3 * S),))


def test_to_let_go_what_is_not_forced_does_nothing() -> None:
    assert ForcedChannels(PLAN).step([let_go(2)], 10 * S) == ForcedChannels(PLAN).step([], 10)
