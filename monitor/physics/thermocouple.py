"""Type K thermocouples by table, both ways: the same bits on every machine.

The table is shipped with the package and made from the reference function by
:mod:`monitor.physics.make_type_k_table`. Between its rows the line is straight: at most
0.0005 degC or 0.02 uV from the reference function.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray


@cache
def type_k_table() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give the table: temperatures in degC and voltages in mV, both rising."""
    text = files("monitor.physics").joinpath("tables/type_k.csv").read_text(encoding="ascii")
    rows = np.array([line.split(",") for line in text.splitlines()[1:]], dtype=np.float64)
    degc, mv = np.ascontiguousarray(rows[:, 0]), np.ascontiguousarray(rows[:, 1])
    for column in (degc, mv):
        column.flags.writeable = False
    return degc, mv


def mv_from_degc(temperature_degc: NDArray[np.float64]) -> NDArray[np.float64]:
    """Give the voltage of a type K thermocouple whose cold junction is at 0 degC.

    Args:
        temperature_degc: Temperatures in degC (ITS-90).

    Returns:
        Voltages in mV; NaN outside -270 to 1372 degC.

    Source:
        NIST Monograph 175 (1993), by the shipped table.
    """
    degc, mv = type_k_table()
    return np.interp(temperature_degc, degc, mv, left=np.nan, right=np.nan)


def degc_from_mv(voltage_mv: NDArray[np.float64]) -> NDArray[np.float64]:
    """Convert the voltage of a type K thermocouple to its hot junction's temperature.

    Args:
        voltage_mv: Voltages in mV as with the cold junction at 0 degC: the measured one and
            that of the cold junction's temperature, added.

    Returns:
        Temperatures in degC (ITS-90); NaN outside -6.458 to 54.886 mV.

    Source:
        NIST Monograph 175 (1993), by the shipped table.
    """
    degc, mv = type_k_table()
    return np.interp(voltage_mv, mv, degc, left=np.nan, right=np.nan)
