"""Grids of one column and limits, as the tests of limits need them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import Kind, Limit, Place
from monitor.limits.stage import Limits
from monitor.samples import Grid, Quality

S = 1_000_000_000
Q = Quality

#: Seconds, value, quality.
Row = tuple[float, float, int]


def grid_of(rows: Sequence[Row]) -> Grid:
    """Make a grid of one column."""
    return Grid(
        np.array([[round(t * S)] for t, _, _ in rows], dtype=np.int64).reshape(-1, 1),
        np.array([[v] for _, v, _ in rows], dtype=np.float64).reshape(-1, 1),
        np.array([[q] for _, _, q in rows], dtype=np.uint8).reshape(-1, 1),
        np.array([len(rows)], dtype=np.int64),
    )


def good(*pairs: tuple[float, float]) -> list[Row]:
    """Good samples."""
    return [(t, v, Q.GOOD) for t, v in pairs]


def limit(**changes: object) -> Limit:
    """Give a high limit at 150 with deadband 4, changed as wanted."""
    settings: dict[str, object] = {
        "id": "PT-1.high",
        "column": 0,
        "kind": Kind.HIGH,
        "setpoint": 150.0,
        "deadband": 4.0,
    }
    for name in ("on_delay", "off_delay", "bridge"):
        if f"{name}_s" in changes:
            settings[f"{name}_ns"] = round(float(str(changes.pop(f"{name}_s"))) * S)
    return Limit(**(settings | changes))  # type: ignore[arg-type]


def run(one: Limit, rows: Sequence[Row], until_s: float) -> list[tuple[float, Turn]]:
    """Run one limit over rows; give (seconds, turn)."""
    return [(e.t_ns / S, e.turn) for e in edges(one, rows, until_s)]


def edges(one: Limit, rows: Sequence[Row], until_s: float) -> list[Edge]:
    """Run one limit over rows in one step."""
    stage = Limits([one], 1, Place("ground"), 0)
    return stage.step(grid_of(rows), round(until_s * S))
