"""Platinum resistance thermometers after IEC 60751."""

from __future__ import annotations

import numpy as np

from monitor.samples import Floats

LOWEST_DEGC = -200.0
HIGHEST_DEGC = 850.0

_A_PER_DEGC = 3.9083e-3
_B_PER_DEGC2 = -5.775e-7
_C_PER_DEGC4 = -4.183e-12

#: From the quadratic's root each step of Newton's rule doubles the right digits.
_NEWTON_STEPS = 4


def platinum_ohm_from_degc(degc: Floats, r0_ohm: float = 100.0) -> Floats:
    """Give the resistance of a platinum thermometer.

    Args:
        degc: Temperatures in degC.
        r0_ohm: Resistance at 0 degC, in ohm.

    Returns:
        Resistances in ohm; NaN outside -200 to 850 degC.

    Source:
        IEC 60751:2008, 4.2 (coefficients and range).
    """
    t = np.asarray(degc, dtype=np.float64)
    ratio = 1 + t * (_A_PER_DEGC + t * _B_PER_DEGC2)
    ratio = np.where(t < 0, ratio + _C_PER_DEGC4 * (t - 100) * t * t * t, ratio)
    is_inside = (t >= LOWEST_DEGC) & (t <= HIGHEST_DEGC)
    return np.where(is_inside, r0_ohm * ratio, np.nan)


def degc_from_platinum_ohm(ohm: Floats, r0_ohm: float | Floats = 100.0) -> Floats:
    """Convert a platinum thermometer's resistance to temperature.

    Args:
        ohm: Measured resistances, leads already compensated, in ohm.
        r0_ohm: Resistance at 0 degC, in ohm: 100 for a Pt100, 1000 for a Pt1000.

    Returns:
        Temperatures in degC; NaN outside -200 to 850 degC.

    Source:
        IEC 60751:2008, 4.2 (coefficients and range); below 0 degC inverted by Newton's rule.
    """
    ratio = np.asarray(ohm, dtype=np.float64) / r0_ohm
    with np.errstate(invalid="ignore"):
        square = _A_PER_DEGC * _A_PER_DEGC - 4 * _B_PER_DEGC2 * (1 - ratio)
        root = (-_A_PER_DEGC + np.sqrt(square)) / (2 * _B_PER_DEGC2)
        t = root
        for _ in range(_NEWTON_STEPS):
            t = t - _excess(t, ratio) / _slope(t)
        degc = np.where(ratio < 1, t, root)
        is_inside = (degc >= LOWEST_DEGC) & (degc <= HIGHEST_DEGC)
    return np.where(is_inside, degc, np.nan)


def _excess(t: Floats, ratio: Floats) -> Floats:
    """Give how far the resistance ratio at *t*, below 0 degC, is above *ratio*."""
    cubic = _C_PER_DEGC4 * (t - 100) * t * t * t
    return 1 + t * (_A_PER_DEGC + t * _B_PER_DEGC2) + cubic - ratio


def _slope(t: Floats) -> Floats:
    """Give the derivative of the ratio at *t*, below 0 degC, per degC."""
    return _A_PER_DEGC + t * (2 * _B_PER_DEGC2 + _C_PER_DEGC4 * t * (4 * t - 300))
