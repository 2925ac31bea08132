"""Make ``oxygen_table.csv`` from the reference equation of state.

Run by hand, ``python -m drivers.virtual.make_oxygen_table``, with the test extra installed
(CoolProp). The rig itself reads only the table.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

TABLE = Path(__file__).with_name("oxygen_table.csv")

#: kg/m3; up to a bottle at 300 bar.
DENSITIES = tuple(float(step) for step in range(0, 421, 20))
#: K; colder than any bottle here can become, warmer than a hot bay.
TEMPERATURES = tuple(float(step) for step in range(170, 351, 10))

#: Specific gas constant of oxygen, J/(kg K): 8.314462618 / 0.031998800.
GAS_CONSTANT = 259.837

#: Density that stands for zero, kg/m3: the equation of state cannot be asked at zero.
_THIN = 1e-6


def rows() -> list[tuple[float, float, float, float]]:
    """Give density (kg/m3), temperature (K), compressibility, residual energy (J/kg)."""
    from CoolProp.CoolProp import PropsSI

    table = []
    for density in DENSITIES:
        for kelvin in TEMPERATURES:
            at = ("T", kelvin, "D", max(density, _THIN), "Oxygen")
            thin = ("T", kelvin, "D", _THIN, "Oxygen")
            pressure = PropsSI("P", *at)
            compressibility = pressure / (max(density, _THIN) * GAS_CONSTANT * kelvin)
            residual = PropsSI("U", *at) - PropsSI("U", *thin)
            table.append((density, kelvin, compressibility, residual))
    return table


def main() -> int:
    """Write the table beside this file."""
    with TABLE.open("w", newline="", encoding="ascii") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("density_kg_m3", "temperature_k", "z", "residual_j_kg"))
        for density, kelvin, z, residual in rows():
            writer.writerow((f"{density:g}", f"{kelvin:g}", f"{z:.6f}", f"{residual:.1f}"))
    return 0


if __name__ == "__main__":
    sys.exit(main())
