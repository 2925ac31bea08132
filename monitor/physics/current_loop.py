"""Bands of a 4-20 mA loop current after NAMUR NE 43: measurement, saturation, failure."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

#: At or below it the transmitter reports a failure, in mA.
LOW_FAILURE_MA = 3.6
#: Below it, down to the failure band, the transmitter cannot go lower, in mA.
LOW_SATURATION_MA = 3.8
#: Above it, up to the failure band, the transmitter cannot go higher, in mA.
HIGH_SATURATION_MA = 20.5
#: At or above it the transmitter reports a failure, in mA.
HIGH_FAILURE_MA = 21.0

#: The current at the lower end of the measuring range, and how much the range takes, in mA.
LIVE_ZERO_MA = 4.0
SPAN_MA = 16.0


def is_loop_failure(current_ma: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell where the current says that the transmitter has failed.

    Args:
        current_ma: Loop currents in mA. NaN is no failure: it is no current at all.

    Source:
        NAMUR NE 43 (2003), failure bands by secondary texts. They disagree on whether the
        edges belong to the bands; here both do.
    """
    return (current_ma <= LOW_FAILURE_MA) | (current_ma >= HIGH_FAILURE_MA)


def is_loop_saturated_low(current_ma: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell where the current, in mA, has reached its lower end without being a failure.

    Source:
        NAMUR NE 43 (2003); the edge of the failure band by secondary texts, the band between
        3.6 and 3.8 mA from memory.
    """
    return (current_ma > LOW_FAILURE_MA) & (current_ma < LOW_SATURATION_MA)


def is_loop_saturated_high(current_ma: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell where the current, in mA, has reached its upper end without being a failure.

    Source:
        NAMUR NE 43 (2003); the edge of the failure band by secondary texts, the band between
        20.5 and 21.0 mA from memory.
    """
    return (current_ma > HIGH_SATURATION_MA) & (current_ma < HIGH_FAILURE_MA)
