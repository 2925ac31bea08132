"""The reference function of type K thermocouples, from which their shipped table is made.

Its exponential differs in the last bit between machines. So what leads to alarms never calls
it: that reads the table (:mod:`monitor.physics.thermocouple`).
"""

from __future__ import annotations

import math

LOWEST_DEGC = -270.0
HIGHEST_DEGC = 1372.0

# NIST Monograph 175 (1993), type K, mV per degC**n, lowest power first.
_BELOW_0 = (
    0.0,
    0.394501280250e-01,
    0.236223735980e-04,
    -0.328589067840e-06,
    -0.499048287770e-08,
    -0.675090591730e-10,
    -0.574103274280e-12,
    -0.310888728940e-14,
    -0.104516093650e-16,
    -0.198892668780e-19,
    -0.163226974860e-22,
)
_FROM_0 = (
    -0.176004136860e-01,
    0.389212049750e-01,
    0.185587700320e-04,
    -0.994575928740e-07,
    0.318409457190e-09,
    -0.560728448890e-12,
    0.560750590590e-15,
    -0.320207200030e-18,
    0.971511471520e-22,
    -0.121047212750e-25,
)
# The bump around 127 degC: height in mV, width in 1/degC**2, place in degC.
_BUMP_MV = 0.118597600000
_BUMP_PER_DEGC2 = -0.118343200000e-03
_BUMP_DEGC = 126.9686


def reference_mv_from_degc(temperature_degc: float) -> float:
    """Give the voltage of a type K thermocouple whose cold junction is at 0 degC.

    Args:
        temperature_degc: Temperature of the hot junction in degC (ITS-90).

    Returns:
        Voltage in mV; NaN outside -270 to 1372 degC.

    Source:
        NIST Monograph 175 (1993) and NIST SRD 60, type K; the same as IEC 60584-1.
    """
    if not LOWEST_DEGC <= temperature_degc <= HIGHEST_DEGC:
        return math.nan
    voltage_mv = 0.0
    for coefficient in reversed(_BELOW_0 if temperature_degc < 0 else _FROM_0):
        voltage_mv = voltage_mv * temperature_degc + coefficient
    if temperature_degc < 0:
        return voltage_mv
    from_bump = temperature_degc - _BUMP_DEGC
    return voltage_mv + _BUMP_MV * math.exp(_BUMP_PER_DEGC2 * from_bump * from_bump)
