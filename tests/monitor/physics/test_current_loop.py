"""Tests for monitor.physics.current_loop.

Source: NAMUR NE 43 (2003): failure bands and measuring band by secondary texts, which disagree
whether the edges 3.6 and 21.0 mA belong to the failure bands (here they do); the bands between
from memory.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.physics.current_loop import (
    is_loop_failure,
    is_loop_saturated_high,
    is_loop_saturated_low,
)

# mA, failure, saturated low, saturated high.
BANDS = [
    (0.0, True, False, False),
    (3.59, True, False, False),
    (3.60, True, False, False),
    (3.61, False, True, False),
    (3.79, False, True, False),
    (3.80, False, False, False),
    (12.0, False, False, False),
    (20.50, False, False, False),
    (20.51, False, False, True),
    (20.99, False, False, True),
    (21.00, True, False, False),
    (22.5, True, False, False),
    (np.nan, False, False, False),
]


@pytest.mark.parametrize(("ma", "failure", "low", "high"), BANDS)
def test_a_current_is_in_one_band_at_most(
    ma: float, failure: bool, low: bool, high: bool
) -> None:
    current_ma = np.array([ma])

    found = [
        bool(band(current_ma)[0])
        for band in (is_loop_failure, is_loop_saturated_low, is_loop_saturated_high)
    ]

    assert found == [failure, low, high]
