"""Platinum resistance thermometers (Pt100, Pt1000): resistance and temperature."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

# IEC 60751:2008, 4.2.
_A_PER_DEGC = 3.9083e-3
_B_PER_DEGC2 = -5.775e-7
_C_PER_DEGC4 = -4.183e-12

LOWEST_DEGC = -200.0
HIGHEST_DEGC = 850.0

#: Each step doubles the digits that are right. From the start used, 2.4 degC off at worst,
#: three steps leave less than the last digit of a float; one more costs nothing.
_NEWTON_STEPS = 4


def platinum_ohm_from_degc(
    temperature_degc: NDArray[np.float64], r0_ohm: NDArray[np.float64] | float = 100.0
) -> NDArray[np.float64]:
    """Give the resistance of a platinum thermometer.

    Args:
        temperature_degc: Temperature in degC.
        r0_ohm: Resistance at 0 degC, in ohm: 100 for a Pt100, 1000 for a Pt1000.

    Returns:
        Resistance in ohm; NaN outside -200 to 850 degC.

    Source:
        IEC 60751:2008, 4.2 (equations, coefficients and range).
    """
    t = temperature_degc
    ratio = np.where(t < 0, _ratio_below_0(t), 1.0 + t * (_A_PER_DEGC + t * _B_PER_DEGC2))
    is_inside = (t >= LOWEST_DEGC) & (t <= HIGHEST_DEGC)
    return np.where(is_inside, r0_ohm * ratio, np.nan)


def degc_from_platinum_ohm(
    resistance_ohm: NDArray[np.float64], r0_ohm: NDArray[np.float64] | float = 100.0
) -> NDArray[np.float64]:
    """Convert a platinum thermometer's resistance to temperature.

    From 0 degC up the standard's quadratic is solved; below, a fixed number of Newton's steps
    on the full equation starts from that solution. Only ``+ - * /`` and the square root are
    used, which give the same bits on every machine.

    Args:
        resistance_ohm: Measured resistance, leads already compensated, in ohm.
        r0_ohm: Resistance at 0 degC, in ohm: 100 for a Pt100, 1000 for a Pt1000.

    Returns:
        Temperature in degC; NaN outside -200 to 850 degC.

    Source:
        IEC 60751:2008, 4.2 (equations, coefficients and range).
    """
    ratio = resistance_ohm / r0_ohm
    with np.errstate(all="ignore"):
        square = _A_PER_DEGC * _A_PER_DEGC - 4.0 * _B_PER_DEGC2 * (1.0 - ratio)
        root = (np.sqrt(square) - _A_PER_DEGC) / (2.0 * _B_PER_DEGC2)
        is_below = ratio < 1.0
        degc = (
            np.where(is_below, _solved_below_0(root, ratio), root) if is_below.any() else root
        )
        is_inside = (degc >= LOWEST_DEGC) & (degc <= HIGHEST_DEGC)
    # The quadratic gives -0.0 at the ice point; adding 0.0 makes it 0.0.
    return np.where(is_inside, degc + 0.0, np.nan)


def _ratio_below_0(t: NDArray[np.float64]) -> NDArray[np.float64]:
    """R / R0 at *t* degC, the form that holds below 0 degC."""
    return 1.0 + t * (_A_PER_DEGC + t * (_B_PER_DEGC2 + t * (t - 100.0) * _C_PER_DEGC4))


def _solved_below_0(
    start: NDArray[np.float64], ratio: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Solve the equation that holds below 0 degC, from *start* in degC."""
    t = start
    for _ in range(_NEWTON_STEPS):
        slope = _A_PER_DEGC + t * (2.0 * _B_PER_DEGC2 + t * (4.0 * t - 300.0) * _C_PER_DEGC4)
        t = t - (_ratio_below_0(t) - ratio) / slope
    return t
