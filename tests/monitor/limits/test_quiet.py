"""Tests for monitor.limits.quiet.

Source: the table of monitor.limits.delays: a span is quiet when no value in it moves the limit,
and as wide as that allows (tried with the neighbouring floats).
"""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan, nextafter

import numpy as np
import pytest

from monitor.limits.compare import Comparison
from monitor.limits.delays import Delays, Standing
from monitor.limits.plan import Kind, Limit, Place
from monitor.limits.quiet import EVERYTHING, NOTHING, quiet_span

SETPOINT, DEADBAND = 10.0, 3.0
LIMIT = Limit("A", 0, Kind.HIGH, SETPOINT, {}, DEADBAND, 10, 10, 10, True)
RISES = [Standing.CLEAR, Standing.PENDING, Standing.ACTIVE, Standing.CLEARING, Standing.ASLEEP]


def moves(limit: Limit, standing: Standing, value: float) -> bool:
    """Tell whether a good value moves a limit that stands so."""
    one = Delays([limit])
    one.standing[0] = standing
    comparison = Comparison([limit], Place("x"))
    seen = comparison.see(np.array([0]), np.array([[value]]), np.zeros((1, 1), np.uint8))
    one.see(0, 1, int(seen[0, 0]), (value, 0, SETPOINT))
    return one.standing[0] != standing


@pytest.mark.parametrize("is_once", [False, True])
@pytest.mark.parametrize("kind", [Kind.HIGH, Kind.LOW])
@pytest.mark.parametrize("standing", RISES)
def test_no_value_in_the_span_moves_the_limit_and_the_next_one_beside_it_does(
    standing: Standing, kind: Kind, is_once: bool
) -> None:
    limit = replace(LIMIT, kind=kind, is_once=is_once)
    if is_once and standing is Standing.CLEAR:
        # It is pending or done from the first instant on.
        assert quiet_span(limit, standing, SETPOINT, is_counting=False) == NOTHING
        return

    lowest, highest = quiet_span(limit, standing, SETPOINT, is_counting=False)

    inside = [x for x in (lowest, highest, (lowest + highest) / 2) if np.isfinite(x)]
    beside = [nextafter(lowest, -inf), nextafter(highest, inf)]
    assert not any(moves(limit, standing, x) for x in inside)
    assert all(moves(limit, standing, x) for x in beside if np.isfinite(x))


@pytest.mark.parametrize("standing", [Standing.IDLE, Standing.DONE])
def test_what_does_not_look_is_never_disturbed(standing: Standing) -> None:
    assert quiet_span(LIMIT, standing, SETPOINT, is_counting=False) == EVERYTHING


@pytest.mark.parametrize("standing", [Standing.PENDING_BAD, Standing.CLEAR_BAD])
def test_while_a_bridge_runs_every_sample_counts(standing: Standing) -> None:
    assert quiet_span(LIMIT, standing, SETPOINT, is_counting=False) == NOTHING


@pytest.mark.parametrize(("standing", "span"), [(0, EVERYTHING), (2, NOTHING)])
def test_a_limit_on_quality_is_quiet_while_it_is_clear(
    standing: int, span: tuple[float, float]
) -> None:
    assert quiet_span(LIMIT, standing, nan, is_counting=False) == span


@pytest.mark.parametrize(
    ("standing", "is_counting", "span"),
    [
        (Standing.CLEAR, False, (-inf, SETPOINT)),
        (Standing.CLEAR, True, NOTHING),
        (Standing.ACTIVE, False, NOTHING),
    ],
)
def test_where_samples_are_counted_every_one_counts_once_one_was_beyond(
    standing: Standing, is_counting: bool, span: tuple[float, float]
) -> None:
    limit = replace(LIMIT, n_of_m=(2, 3))

    assert quiet_span(limit, standing, SETPOINT, is_counting=is_counting) == span
