"""Tests for monitor.limits.turns.

Source: every sample shown one by one to monitor.limits.delays gives the same edges.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.limits.compare import Comparison, Seen
from monitor.limits.delays import Delays, Standing
from monitor.limits.edges import Edge
from monitor.limits.plan import Kind, Limit, Place
from monitor.limits.turns import sights_of
from monitor.samples import Grid, Quality

PLACE = Place("x")
LIMITS = [
    Limit("A.high", 0, Kind.HIGH, 1.0, deadband=0.5, on_delay_ns=3, off_delay_ns=2),
    Limit("A.low", 0, Kind.LOW, -1.0, deadband=0.5, on_delay_ns=1, bridge_ns=2),
    Limit("A.high_high", 0, Kind.HIGH_HIGH, 2.0, raises_on_bad=True, bridge_ns=1),
    Limit("B.low", 1, Kind.LOW, 0.0, off_delay_ns=5),
    Limit("B.fault", 1, Kind.FAULT, on_delay_ns=2),
    Limit("B.stale", 1, Kind.STALE),
]
EVERYTHING = (-np.inf, np.inf)


def grid_of(rng: np.random.Generator, rows: int, *, is_bad: bool) -> Grid:
    """Make two columns of noise, some of it bad or saturated."""
    value = rng.normal(0, 1.2, (rows, 2))
    quality = np.zeros((rows, 2), dtype=np.uint8)
    if is_bad:
        reasons = [Quality.STALE, Quality.OUT_OF_RANGE, Quality.SATURATED_HIGH, Quality.FORCED]
        quality = np.where(rng.random((rows, 2)) < 0.2, rng.choice(reasons, (rows, 2)), 0)
        quality = quality.astype(np.uint8)
        value[quality >= 0x80] = np.nan
    t_ns = np.cumsum(rng.integers(1, 4, (rows, 2)), axis=0)
    return Grid(t_ns, value, quality, np.array([rows, rows]))


def one_by_one(grid: Grid) -> list[Edge]:
    """Show every sample to every limit."""
    comparison, delays = Comparison(LIMITS, PLACE), Delays(LIMITS)
    for i, limit in enumerate(LIMITS):
        for k in range(len(grid.value)):
            value, quality = grid.value[k, limit.column], grid.quality[k, limit.column]
            seen = comparison.see(np.array([i]), value.reshape(1, 1), quality.reshape(1, 1))
            sample = (float(value), int(quality), float(comparison.setpoint[i]))
            delays.see(i, int(grid.t_ns[k, limit.column]), int(seen[0, 0]), sample)
    delays.run_until(10**6)
    return delays.take_edges()


@pytest.mark.parametrize("is_bad", [False, True])
@pytest.mark.parametrize("rows", [1, 2, 63, 64, 65, 300])
@pytest.mark.parametrize("seed", range(6))
def test_turns_give_the_edges_of_every_sample(seed: int, rows: int, is_bad: bool) -> None:
    grid = grid_of(np.random.default_rng(seed), rows, is_bad=is_bad)
    comparison, delays = Comparison(LIMITS, PLACE), Delays(LIMITS)
    chosen = np.arange(len(LIMITS))

    delays.see_all(sights_of(comparison, grid, chosen, delays, lambda _: (1.0, -1.0)))
    delays.run_until(10**6)

    edges = delays.take_edges()
    # As text: where there is no setpoint it is not a number, which equals nothing.
    assert str(edges) == str(one_by_one(grid))
    assert edges or rows < 3


def quiet_grid(rows: int, high: float) -> Grid:
    """Make one column at rest, with one row as high as wanted."""
    value = np.zeros((rows, 2))
    value[rows // 2, 0] = high
    t_ns = np.repeat(np.arange(1, rows + 1)[:, None], 2, axis=1)
    return Grid(t_ns, value, np.zeros((rows, 2), np.uint8), np.array([rows, rows]))


def test_a_long_block_inside_a_limits_span_is_not_looked_at() -> None:
    delays = Delays(LIMITS)
    grid = quiet_grid(100, 1.5)

    sights = list(
        sights_of(Comparison(LIMITS, PLACE), grid, np.array([0]), delays, lambda _: EVERYTHING)
    )

    assert sights == []


def test_while_a_limit_is_clear_only_what_can_raise_it_is_shown() -> None:
    delays = Delays(LIMITS)
    grid = quiet_grid(100, 1.5)
    sights = sights_of(
        Comparison(LIMITS, PLACE), grid, np.array([0]), delays, lambda _: (-np.inf, 1.0)
    )

    assert list(sights) == [(0, 51, Seen.TRUE, 1.5, 0, 1.0)]
    assert delays.last_seen[0] == Seen.RETURNED


def test_while_it_is_active_every_turn_is() -> None:
    delays = Delays(LIMITS)
    delays.standing[0] = Standing.ACTIVE
    sights = sights_of(
        Comparison(LIMITS, PLACE),
        quiet_grid(100, 1.5),
        np.array([0]),
        delays,
        lambda _: (0.5, np.inf),
    )

    assert [(t_ns, seen) for _, t_ns, seen, *_ in sights] == [
        (1, Seen.RETURNED),
        (51, Seen.TRUE),
        (52, Seen.RETURNED),
    ]
