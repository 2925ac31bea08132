"""Cooling by water that boils into the vacuum: tank, evaporators, gas-side exchangers."""

from __future__ import annotations

import math
from dataclasses import dataclass

from drivers.virtual import sizes, water
from drivers.virtual.gas import H2O, Gas
from drivers.virtual.ledger import Ledger

_A_LIQUID = water.liquid_j_kg(0.0)
_A_ICE = water.ice_j_kg(0.0)

#: Below this much water the evaporator boils less than its surface could, in kg.
_THIN_FILM_KG = 0.002
#: Ice gives vapour off more slowly than water boils.
_ICE_SHARE = 0.3


class Tank:
    """Coolant water, pressed towards the evaporators by the loop's pressure.

    Attributes:
        kg: Water in the tank, in kg.
        temperature_k: Of the water, in K.
    """

    def __init__(self, kg: float, temperature_k: float) -> None:
        """Fill the tank."""
        self.kg = kg
        self.temperature_k = temperature_k

    def fill(self, kg: float, temperature_k: float) -> None:
        """Add *kg* of water at *temperature_k*."""
        total = self.kg + kg
        if total > 0.0:
            self.temperature_k += (temperature_k - self.temperature_k) * kg / total
        self.kg = total

    def feed(self, wanted_kg: float, head_pa: float) -> float:
        """Give up to *wanted_kg*: less with little pressure behind it, in kg."""
        head = max(0.0, head_pa) / sizes.FEED_HEAD_PA
        kg = min(self.kg, wanted_kg * math.sqrt(head))
        self.kg -= kg
        return kg

    @property
    def energy_j(self) -> float:
        """Energy of the water, in J."""
        return self.kg * water.liquid_j_kg(self.temperature_k)


class Evaporator:
    """Metal that water boils off into the chamber, through a steam duct.

    Attributes:
        feed_kg_s: Water for each step of the setting, in kg/s.
        metal_j_k: Heat capacity of the dry metal, in J/K.
        energy_j: Of metal, water and ice together, in J.
        water_kg: Liquid on it, in kg.
        ice_kg: Ice on it, in kg.
        temperature_k: Of metal, water and ice, in K.
        exhaust_k: Temperature in the steam duct, in K.
        steam_kg_s: Flow in the steam duct, in kg/s.
    """

    def __init__(self, feed_kg_s: float, metal_j_k: float, temperature_k: float) -> None:
        """Start dry."""
        self.feed_kg_s = feed_kg_s
        self.metal_j_k = metal_j_k
        self.energy_j = metal_j_k * temperature_k
        self.water_kg = 0.0
        self.ice_kg = 0.0
        self.temperature_k = temperature_k
        self.exhaust_k = temperature_k
        self.steam_kg_s = 0.0

    @property
    def is_wet(self) -> bool:
        """Whether the moisture switch in the duct has come: more water than boils."""
        return self.water_kg + self.ice_kg > sizes.EVAPORATOR_WET_KG

    @property
    def free_share(self) -> float:
        """Part of the surface that ice does not block."""
        return max(0.0, 1.0 - self.ice_kg / sizes.EVAPORATOR_ICE_KG)

    def step(self, dt_s: float, setting: float, tank: Tank, press_pa: float, out: Gas) -> None:
        """Take water in, boil it off into *out*, freeze or thaw."""
        duct_pa = out.pressure_pa + sizes.DUCT_PA_PER_KG_S * self.steam_kg_s
        fed = tank.feed(setting * self.feed_kg_s * dt_s, press_pa - duct_pa)
        self.water_kg += fed
        self.energy_j += fed * water.liquid_j_kg(tank.temperature_k)
        self._refresh()
        self._boil(dt_s, water.boiling_k(duct_pa), out)
        self._freeze()

    def _boil(self, dt_s: float, boiling_k: float, out: Gas) -> None:
        """Turn water into steam as fast as the metal is warmer than it boils."""
        wet = min(1.0, (self.water_kg + self.ice_kg) / sizes.EVAPORATOR_FULL_KG)
        over_k = self.temperature_k - boiling_k
        self.exhaust_k = self.temperature_k
        kg = ice = 0.0
        if over_k > 0.0:
            self.exhaust_k = boiling_k + over_k * (1.0 - wet)
            rate = sizes.BOIL_W_K * over_k / water.EVAPORATION_25C * dt_s
            film = min(1.0, self.water_kg / _THIN_FILM_KG)
            kg = min(self.water_kg, rate * film * self.free_share)
            ice = min(self.ice_kg, rate * _ICE_SHARE)
        self.water_kg -= kg
        self.ice_kg -= ice
        steam = kg + ice
        self.steam_kg_s += (steam / dt_s - self.steam_kg_s) * min(1.0, dt_s / 2.0)
        self.energy_j -= out.add(H2O, steam, self.exhaust_k)
        self._refresh()

    def _freeze(self) -> None:
        """Let water freeze where the metal is below 0 degC, and ice thaw above."""
        below_k = water.ZERO_C_K - self.temperature_k
        kg = below_k * self._capacity() / water.MELTING
        kg = min(self.water_kg, kg) if kg > 0.0 else max(-self.ice_kg, kg)
        self.water_kg -= kg
        self.ice_kg += kg
        self._refresh()

    def heat(self, joule: float) -> None:
        """Add heat, in J."""
        self.energy_j += joule

    def _capacity(self) -> float:
        """Heat capacity of metal, water and ice, in J/K."""
        return (
            self.metal_j_k
            + self.water_kg * water.LIQUID_CAPACITY
            + self.ice_kg * water.ICE_CAPACITY
        )

    def _refresh(self) -> None:
        """Work the temperature out anew."""
        stored = self.water_kg * _A_LIQUID + self.ice_kg * _A_ICE
        self.temperature_k = (self.energy_j - stored) / self._capacity()


@dataclass(frozen=True, slots=True)
class Cooled:
    """What came out of a gas-side exchanger.

    Attributes:
        outlet_k: Temperature of the gas that left it, in K.
        water_kg: Water that condensed, in kg.
    """

    outlet_k: float
    water_kg: float


def cool_gas(gas: Gas, part: float, effectiveness: float, cold: Evaporator) -> Cooled:
    """Pass a *part* of *gas* over an evaporator's other side, in one step.

    Vapour above saturation at the outlet's temperature condenses; its heat goes to the metal.
    """
    inlet_k = gas.temperature_k
    fall_k = effectiveness * cold.free_share * (inlet_k - cold.temperature_k)
    outlet_k = inlet_k - fall_k
    heat = part * gas.mass_kg * gas.cp * fall_k
    vapour_pa = gas.partial_pa(H2O)
    most_pa = water.saturation_pa(outlet_k)
    kg = 0.0
    if vapour_pa > most_pa:
        kg = part * gas.kg[H2O] * (1.0 - most_pa / vapour_pa)
        gas.kg[H2O] -= kg
        released = kg * water.vapour_j_kg(inlet_k)
        gas.energy_j -= released
        heat_of_water = released - kg * water.liquid_j_kg(outlet_k)
        cold.heat(heat_of_water)
    gas.heat(-heat)
    cold.heat(heat)
    return Cooled(outlet_k, kg)


def cool_on_ground(cold: Evaporator, dt_s: float, ledger: Ledger) -> None:
    """Let the ground cart's water carry heat away from an evaporator's metal."""
    heat = sizes.GROUND_CART_W_K * (sizes.GROUND_CART_K - cold.temperature_k) * dt_s
    cold.heat(heat)
    ledger.energy("ground cart", heat)
