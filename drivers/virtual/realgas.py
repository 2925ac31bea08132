"""Oxygen at bottle pressures, from a table made with the reference equation of state.

The table (``oxygen_table.csv``) was written by ``make_oxygen_table.py``. Between its points
compressibility and residual energy are interpolated linearly: within 0.1 % of the equation.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

from drivers.virtual.gas import GAS_CONSTANT, HEAT_CAPACITY, O2

_R = GAS_CONSTANT[O2]
_CP = HEAT_CAPACITY[O2]
_CV = _CP - _R


@dataclass(frozen=True, slots=True)
class OxygenTable:
    """Compressibility and residual energy on a regular grid.

    Attributes:
        density_step: Grid step from 0 kg/m3, in kg/m3.
        first_k: Lowest temperature, in K.
        step_k: Grid step of temperature, in K.
        z: Compressibility, one row for each density.
        residual: Energy less that of the thin gas, in J/kg, one row for each density.
    """

    density_step: float
    first_k: float
    step_k: float
    z: tuple[tuple[float, ...], ...]
    residual: tuple[tuple[float, ...], ...]

    def z_and_residual(self, density: float, temperature_k: float) -> tuple[float, float]:
        """Interpolate; beyond an edge the outermost cell goes on straight."""
        x = density / self.density_step
        y = (temperature_k - self.first_k) / self.step_k
        i = min(max(int(x), 0), len(self.z) - 2)
        j = min(max(int(y), 0), len(self.z[0]) - 2)
        x -= i
        y -= j
        return _cell(self.z, i, j, x, y), _cell(self.residual, i, j, x, y)

    def pressure_pa(self, density: float, temperature_k: float) -> float:
        """Give the pressure at a density in kg/m3, in Pa."""
        z, _ = self.z_and_residual(density, temperature_k)
        return z * density * _R * temperature_k

    def energy_j_kg(self, density: float, temperature_k: float) -> float:
        """Give the internal energy, in J/kg, on the scale of the ideal gases."""
        _, residual = self.z_and_residual(density, temperature_k)
        return _CV * temperature_k + residual

    def density(self, pressure_pa: float, temperature_k: float) -> float:
        """Give the density at a pressure, in kg/m3."""
        density = pressure_pa / (_R * temperature_k)
        for _ in range(20):
            z, _residual = self.z_and_residual(density, temperature_k)
            density += 0.8 * (pressure_pa / (z * _R * temperature_k) - density)
        return density

    def temperature_k(self, density: float, energy_j_kg: float, near_k: float) -> float:
        """Find the temperature of a known energy, starting *near_k*, in K."""
        kelvin = near_k
        for _ in range(3):
            off = self.energy_j_kg(density, kelvin) - energy_j_kg
            slope = self.energy_j_kg(density, kelvin + 1.0) - self.energy_j_kg(density, kelvin)
            kelvin -= off / slope
            if abs(off) < 1e-3:
                break
        return kelvin

    def throttled_k(self, density: float, temperature_k: float, down_pa: float) -> float:
        """Give the temperature after throttling to *down_pa*: the enthalpy stays, in K."""
        z, residual = self.z_and_residual(density, temperature_k)
        enthalpy = _CV * temperature_k + residual + z * _R * temperature_k
        kelvin = enthalpy / _CP
        for _ in range(4):
            thin = down_pa / (_R * kelvin)
            z, residual = self.z_and_residual(thin, kelvin)
            kelvin = (enthalpy - residual - (z - 1.0) * _R * kelvin) / _CP
        return kelvin


def _cell(grid: tuple[tuple[float, ...], ...], i: int, j: int, x: float, y: float) -> float:
    """Interpolate within one cell."""
    low, high = grid[i], grid[i + 1]
    near = low[j] + (low[j + 1] - low[j]) * y
    far = high[j] + (high[j + 1] - high[j]) * y
    return near + (far - near) * x


def load_oxygen_table() -> OxygenTable:
    """Read the table shipped beside this file."""
    path = Path(__file__).with_name("oxygen_table.csv")
    with path.open(encoding="ascii", newline="") as file:
        rows = [tuple(map(float, row)) for row in list(csv.reader(file))[1:]]
    densities = sorted({row[0] for row in rows})
    kelvins = sorted({row[1] for row in rows})
    width = len(kelvins)
    lines = [rows[start : start + width] for start in range(0, len(rows), width)]
    return OxygenTable(
        density_step=densities[1] - densities[0],
        first_k=kelvins[0],
        step_k=kelvins[1] - kelvins[0],
        z=tuple(tuple(row[2] for row in line) for line in lines),
        residual=tuple(tuple(row[3] for row in line) for line in lines),
    )
