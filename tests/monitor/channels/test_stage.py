"""Tests for monitor.channels.stage.

Source: Hand-worked here; the cold-junction figures are ITS-90 type K (NIST SRD 60): hot 200
degC, cold 25 degC, meter 7.138231 mV.
"""

from __future__ import annotations

import numpy as np
import pytest

from drivers.reading import Block
from monitor.channels.draft import Since
from monitor.channels.formula import parse_formula
from monitor.channels.plan import (
    ChannelsPlan,
    Computed,
    Filtered,
    Linear,
    Measured,
    OffProfile,
    Slope,
    System,
    ThermocoupleK,
)
from monitor.channels.stage import Channels
from monitor.errors import MonitorError
from monitor.events import Control, HostEvent, LinkChange
from monitor.samples import Admitted, Grid, Quality

S = 1_000_000_000
Q = Quality

PLAN = ChannelsPlan(
    (
        Measured("A", "fast", "a", Linear(), 5 * S),
        Measured("B", "slow", "b", Linear(), 50 * S),
        Measured("T", "fast", "t", ThermocoupleK(cold_junction_tag="B"), 5 * S),
    ),
    (System("link:fast"), System("host:recording")),
    (Computed("D", parse_formula("a - b"), (("a", "A"), ("b", "B")), "A", 3 * S),),
    (Filtered("A~median", "A", median_of=3),),
)


def fast(*rows: tuple[float, float, float]) -> Admitted:
    """Make a block of (seconds, a, t)."""
    t_ns = np.array([round(t * S) for t, _, _ in rows], dtype=np.int64)
    return Admitted(
        Block("fast", ("a", "t"), t_ns, np.array([r[1:] for r in rows], dtype=np.float64))
    )


def slow(t_s: float, value: float) -> Admitted:
    """Make a block of one row."""
    return Admitted(Block("slow", ("b",), np.array([round(t_s * S)]), np.array([[value]])))


def column(grid: Grid, tag: str) -> list[tuple[float, float | None, int]]:
    """Give (seconds, value, quality) of a column; None for NaN."""
    c = PLAN.column[tag]
    return [
        (
            grid.t_ns[k, c] / S,
            None if np.isnan(x) else round(float(x), 3),
            int(grid.quality[k, c]),
        )
        for k, x in enumerate(grid.value[: grid.count[c], c])
    ]


def test_a_computed_channel_follows_its_clock_and_holds_the_other() -> None:
    stage = Channels(PLAN, 0)
    stage.step([slow(1, 10.0)], [], 1 * S)

    grid = stage.step([fast((2, 15.0, 0), (3, 16.0, 0)), slow(3, 11.0)], [], 4 * S)

    assert column(grid, "D") == [(2.0, 5.0, Q.GOOD), (3.0, 5.0, Q.GOOD)]


def test_an_input_too_far_away_in_time_makes_the_result_bad() -> None:
    stage = Channels(PLAN, 0)

    grid = stage.step([slow(1, 10.0), fast((4, 15.0, 0), (4.1, 15.0, 0))], [], 5 * S)

    assert [row[2] for row in column(grid, "D")] == [Q.GOOD, Q.SKEWED]


def test_an_input_that_never_came_makes_the_result_bad() -> None:
    grid = Channels(PLAN, 0).step([fast((1, 15.0, 0))], [], 2 * S)

    assert column(grid, "D") == [(1.0, None, Q.INPUT_BAD)]


def test_a_thermocouple_adds_its_cold_junction_from_another_channel() -> None:
    grid = Channels(PLAN, 0).step([slow(1, 25.0), fast((2, 0, 7.138231))], [], 3 * S)

    ((_, value, quality),) = column(grid, "T")
    assert (value, quality) == (pytest.approx(200.0, abs=2e-3), Q.GOOD)


def test_a_thermocouple_without_a_row_stays_while_its_cold_junction_moves() -> None:
    stage = Channels(PLAN, 0)
    stage.step([slow(1, 25.0), fast((2, 0, 7.138231))], [], 3 * S)

    grid = stage.step([slow(4, 60.0)], [], 4 * S)

    t = PLAN.column["T"]
    assert (grid.count[t], grid.value[0, t]) == (0, pytest.approx(200.0, abs=2e-3))


def test_a_filter_is_a_channel_of_its_own_and_leaves_its_source_alone() -> None:
    grid = Channels(PLAN, 0).step([fast((1, 1, 0), (2, 90, 0), (3, 2, 0))], [], 3 * S)

    assert [x for _, x, _ in column(grid, "A")] == [1.0, 90.0, 2.0]
    assert [x for _, x, _ in column(grid, "A~median")] == [1.0, 45.5, 2.0]


def test_system_channels_start_at_a_good_zero_and_follow_controls() -> None:
    stage = Channels(PLAN, 0)
    at = PLAN.column["link:fast"]
    before = (stage.last_value[at], stage.last_quality[at])
    controls = [
        Control(1 * S, 0, LinkChange("fast", False, "unplugged")),
        Control(2 * S, 1, HostEvent("recording_stopped", "disk full")),
        Control(3 * S, 2, LinkChange("fast", True, "back")),
    ]

    grid = stage.step([], controls, 4 * S)

    assert before == (0.0, Q.GOOD)
    assert column(grid, "link:fast") == [(1.0, 1.0, 0), (3.0, 0.0, 0)]
    assert column(grid, "host:recording") == [(2.0, 1.0, 0)]


def test_the_grid_is_padded_with_the_last_row_or_what_was_held() -> None:
    stage = Channels(PLAN, 0)
    stage.step([slow(1, 10.0)], [], 1 * S)

    grid = stage.step([fast((2, 15.0, 0), (3, 16.0, 0))], [], 4 * S)

    b = PLAN.column["B"]
    assert (grid.count[b], grid.value[:, b].tolist()) == (0, [10.0, 10.0])
    assert stage.last_t_ns[[PLAN.column["A"], b]].tolist() == [3 * S, 1 * S]


def test_it_goes_on_from_its_saved_state() -> None:
    stage, other = Channels(PLAN, 0), Channels(PLAN, 0)
    stage.step([slow(1, 10.0), fast((2, 1, 0), (9, 2, 0))], [], 3 * S)

    other.load_state(stage.state())
    grid = other.step([fast((10, 3, 0))], [], 11 * S)

    assert column(grid, "A") == [
        (7.0, None, Q.STALE),
        (9.0, 2.0, 0),
        (10.0, 3.0, 0),
    ]


def test_a_step_in_which_nothing_came_shows_one_row_of_what_is_held() -> None:
    stage = Channels(PLAN, 0)
    stage.step([slow(1, 10.0)], [], 1 * S)

    grid = stage.step([], [], 1 * S)

    assert grid.count.tolist() == [0] * 7
    assert grid.value[:, PLAN.column["B"]].tolist() == [10.0]


def test_what_was_not_evaluated_is_counted_by_reason() -> None:
    stage = Channels(PLAN, 0)
    ghost = Admitted(Block("ghost", ("g",), np.array([S]), np.array([[1.0]])))

    stage.step([slow(1, 1.0), slow(1, 2.0), slow(9, 3.0), ghost], [], 2 * S)
    stage.step([slow(1.5, 1.0)], [], 3 * S)

    assert stage.counts == {
        "late rows": 1,
        "rows with a time that was there already": 1,
        "rows that no channel uses": 1,
        "rows dropped while waiting": 0,
        "rows waiting": 1,
    }


def test_counts_survive_a_restart() -> None:
    stage, other = Channels(PLAN, 0), Channels(PLAN, 0)
    stage.step([slow(1, 1.0), slow(1, 2.0), slow(9, 3.0)], [], 2 * S)

    other.load_state(stage.state())

    assert other.counts == stage.counts
    assert other.until_ns == 2 * S


def test_time_does_not_turn_back() -> None:
    stage = Channels(PLAN, 5 * S)

    with pytest.raises(ValueError, match="W turns back from 5000000000 to 4000000000"):
        stage.step([], [], 4 * S)


@pytest.mark.parametrize("t_ns", [5 * S, 7 * S + 1])
def test_a_control_outside_the_step_is_refused(t_ns: int) -> None:
    stage = Channels(PLAN, 5 * S)

    with pytest.raises(ValueError, match=f"control at {t_ns}, outside"):
        stage.step([], [Control(t_ns, 0, LinkChange("fast", False, "why"))], 7 * S)


def test_the_state_of_another_stand_is_refused() -> None:
    smaller = Channels(ChannelsPlan(PLAN.measured), 0)

    with pytest.raises(MonitorError, match="'last_t_ns' does not fit the stand"):
        smaller.load_state(Channels(PLAN, 0).state())


def test_a_state_with_something_missing_is_refused() -> None:
    state = Channels(PLAN, 0).state()
    del state["median_3"]

    with pytest.raises(MonitorError, match="'median_3' does not fit the stand"):
        Channels(PLAN, 0).load_state(state)


def test_numbers_without_a_result_are_graded_and_not_warned_of(
    recwarn: pytest.WarningsRecorder,
) -> None:
    plan = ChannelsPlan(
        (Measured("A", "slow", "b", Linear(1e300), 50 * S),),
        computed=(Computed("D", parse_formula("1 / (a - a)"), (("a", "A"),), "A", S),),
    )

    grid = Channels(plan, 0).step([slow(1, 1e300), slow(2, 0.0)], [], 3 * S)

    assert grid.quality[:, 0].tolist() == [Q.NOT_FINITE, Q.GOOD]
    assert grid.quality[:, 1].tolist() == [Q.INPUT_BAD, Q.NOT_FINITE]
    assert [str(one.message) for one in recwarn.list] == []


OFF = ChannelsPlan(
    (Measured("A", "slow", "b", Linear(), 50 * S),),
    filtered=(Filtered("A~mean", "A", mean_ns=10 * S),),
    derived=(
        Slope("A~rate", "A", 5 * S, S),
        OffProfile("A~off", "A", ((0, 1.0), (10 * S, 2.0))),
        OffProfile("A~mean~off", "A~mean", ((0, 1.0),), is_over_run=True),
    ),
)


def test_columns_less_a_profile_are_filled_once_the_phases_are_known() -> None:
    stage = Channels(OFF, 0)

    grid = stage.step([slow(5, 8.0)], [], 6 * S)
    before = grid.quality[0, 3:].tolist(), grid.count[3:].tolist()
    stage.finish(grid, [])

    assert before == ([Q.WAITING, Q.WAITING], [0, 0])
    assert grid.value[0, 3:].tolist() == [6.5, 7.0]
    assert (stage.last_value[3], stage.last_quality[3], stage.last_t_ns[3]) == (6.5, 0, 5 * S)


def test_a_phase_counts_for_the_rows_behind_its_beginning_and_in_later_steps() -> None:
    stage = Channels(OFF, 0)

    first = stage.step([slow(4, 8.0), slow(5, 8.0)], [], 6 * S)
    stage.finish(first, [Since(5 * S, 5 * S)])
    second = stage.step([slow(10, 8.0)], [], 11 * S)
    stage.finish(second, [])

    assert first.value[:, 3].tolist() == [6.6, 7.0]
    assert second.value[:, 3].tolist() == [6.5]


def test_windows_and_beginnings_are_gone_on_from() -> None:
    stage, other = Channels(OFF, 0), Channels(OFF, 3)
    stage.finish(stage.step([slow(t, t) for t in (1, 2, 3, 4)], [], 5 * S), [Since(S, S)])

    other.load_state(stage.state())
    for one in (stage, other):
        one.finish(one.step([slow(6, 12.0)], [], 6 * S), [])

    assert other.last_value.tolist() == stage.last_value.tolist()
    assert other.last_value[[1, 3]].tolist() == [4.4, 10.5]
    for name, array in stage.state().items():
        np.testing.assert_array_equal(other.state()[name], array)


def test_windows_of_numbers_too_great_to_be_squared_do_not_warn(
    recwarn: pytest.WarningsRecorder,
) -> None:
    stage, other = Channels(OFF, 0), Channels(OFF, 0)
    rows = [slow(t, 1e290 * (-1) ** t) for t in range(1, 9)]
    grid = stage.step(rows, [], 9 * S)
    stage.finish(grid, [])
    other.load_state(stage.state())

    assert grid.quality[-1].tolist() == [0, 0, 0, 0, 0]
    assert [str(one.message) for one in recwarn.list] == []
