"""A high-pressure oxygen bottle: real gas in a metal shell."""

from __future__ import annotations

from drivers.virtual import sizes
from drivers.virtual.gas import GAS_CONSTANT, O2
from drivers.virtual.realgas import OxygenTable

_R = GAS_CONSTANT[O2]


class Bottle:
    """Oxygen in a steel bottle in its bay.

    Gas that leaves takes its enthalpy, so the rest cools; the metal warms it again within
    minutes, and the bay the metal within a quarter of an hour.

    Attributes:
        kg: Oxygen inside, in kg.
        energy_j: Internal energy of the gas, in J.
        temperature_k: Of the gas, in K.
        pressure_pa: Absolute, in Pa.
        metal_k: Temperature of the metal, which a skin sensor sees, in K.
    """

    def __init__(self, table: OxygenTable, pressure_pa: float, temperature_k: float) -> None:
        """Fill a bottle to *pressure_pa* at *temperature_k*, metal and gas alike."""
        self._table = table
        density = table.density(pressure_pa, temperature_k)
        self.kg = density * sizes.BOTTLE_M3
        self.energy_j = self.kg * table.energy_j_kg(density, temperature_k)
        self.temperature_k = temperature_k
        self.metal_k = temperature_k
        self.pressure_pa = 0.0
        self._enthalpy = 0.0
        self._refresh()

    @property
    def enthalpy_j_kg(self) -> float:
        """Enthalpy of the gas, on the scale of the ideal gases, in J/kg."""
        return self._enthalpy

    def draw(self, kg: float) -> float:
        """Take *kg* out; give the enthalpy that goes with it, in J."""
        enthalpy = kg * self._enthalpy
        self.kg -= kg
        self.energy_j -= enthalpy
        return enthalpy

    def settle(self, dt_s: float, bay_k: float) -> float:
        """Exchange heat for *dt_s*; give the heat that came from the bay, in J."""
        thickness = self.kg / (sizes.BOTTLE_M3 * sizes.FULL_DENSITY)
        inside = sizes.BOTTLE_INSIDE_W_K * thickness**0.3
        to_gas = inside * (self.metal_k - self.temperature_k) * dt_s
        from_bay = sizes.BOTTLE_OUTSIDE_W_K * (bay_k - self.metal_k) * dt_s
        self.energy_j += to_gas
        self.metal_k += (from_bay - to_gas) / sizes.BOTTLE_METAL_J_K
        self._refresh()
        return from_bay

    def _refresh(self) -> None:
        """Work temperature, pressure and enthalpy out anew."""
        density = self.kg / sizes.BOTTLE_M3
        per_kg = self.energy_j / self.kg
        self.temperature_k = self._table.temperature_k(density, per_kg, self.temperature_k)
        z, _ = self._table.z_and_residual(density, self.temperature_k)
        specific = z * _R * self.temperature_k
        self.pressure_pa = density * specific
        self._enthalpy = per_kg + specific
