"""Two bottles, two regulators and a check valve each, one header, one warm line."""

from __future__ import annotations

import math
from dataclasses import dataclass

from drivers.virtual import sizes
from drivers.virtual.bottle import Bottle
from drivers.virtual.gas import GAS_CONSTANT, HEAT_CAPACITY, O2, Gas, orifice_kg_s
from drivers.virtual.ledger import Ledger
from drivers.virtual.realgas import OxygenTable

_R = GAS_CONSTANT[O2]
_CP = HEAT_CAPACITY[O2]


@dataclass(frozen=True, slots=True)
class Regulator:
    """A single-stage pressure regulator with a check valve behind it.

    Attributes:
        set_pa: Outlet at the rated small flow with 200 bar behind it, in Pa.
    """

    set_pa: float

    def outlet_set_pa(self, inlet_pa: float) -> float:
        """Give the setpoint at an inlet pressure: it rises while the inlet falls, in Pa."""
        return self.set_pa + sizes.INLET_EFFECT * (200e5 - inlet_pa)

    def flow_kg_s(self, inlet_pa: float, inlet_k: float, outlet_pa: float) -> float:
        """Give the flow: none above lock-up, little above the setpoint, then with droop."""
        setpoint = self.outlet_set_pa(inlet_pa)
        lock = setpoint * (1.0 + sizes.LOCK_UP)
        if outlet_pa >= lock:
            return 0.0
        seat = sizes.SEAT_KG_S * min(1.0, (lock - outlet_pa) / (lock - setpoint))
        wanted = seat + max(0.0, setpoint - outlet_pa) / sizes.DROOP_PA_PER_KG_S
        wide_open = orifice_kg_s(sizes.SEAT_M2, inlet_pa, inlet_k, _R, outlet_pa)
        return min(wanted, wide_open)


class Supply:
    """Where all oxygen of the rig comes from.

    Attributes:
        primary: Bottle whose regulator is set higher.
        secondary: Bottle that its check valve keeps shut meanwhile.
        header: Low-pressure space behind both regulators.
        line_k: Temperature of the line's metal, in K.
        bay_k: Temperature of the bottle bay, in K.
        primary_kg_s: Flow out of the primary bottle, in kg/s.
        secondary_kg_s: Flow out of the secondary bottle, in kg/s.
        leak_m2: Effective area of a leak of the primary bottle, in m2.
    """

    def __init__(self, table: OxygenTable) -> None:
        """Fill the bottles; the header stands at the primary's lock-up."""
        self.primary = Bottle(table, sizes.PRIMARY_BAR * 1e5, sizes.BAY_K)
        self.secondary = Bottle(table, sizes.SECONDARY_BAR * 1e5, sizes.BAY_K)
        self._first = Regulator(sizes.PRIMARY_SET_PA)
        self._second = Regulator(sizes.SECONDARY_SET_PA)
        start_pa = self._first.outlet_set_pa(self.primary.pressure_pa)
        kg = start_pa * sizes.HEADER_M3 / (_R * sizes.BAY_K)
        self.header = Gas(sizes.HEADER_M3, (kg, 0.0, 0.0, 0.0), sizes.BAY_K)
        self.line_k = sizes.BAY_K
        self.bay_k = sizes.BAY_K
        self.primary_kg_s = 0.0
        self.secondary_kg_s = 0.0
        self.leak_m2 = 0.0

    def step(self, dt_s: float, chamber: Gas, ledger: Ledger) -> None:
        """Refill the header from the bottles, warm the gas in the line, settle heat."""
        first, second = self.primary, self.secondary
        outlet = self._balance_pa(dt_s)
        self.primary_kg_s = self._first.flow_kg_s(
            first.pressure_pa, first.temperature_k, outlet
        )
        self.secondary_kg_s = self._second.flow_kg_s(
            second.pressure_pa, second.temperature_k, outlet
        )
        enthalpy = first.draw(self.primary_kg_s * dt_s)
        enthalpy += second.draw(self.secondary_kg_s * dt_s)
        self._fill((self.primary_kg_s + self.secondary_kg_s) * dt_s, enthalpy, dt_s)
        self._leak(dt_s, chamber)
        heat = first.settle(dt_s, self.bay_k) + second.settle(dt_s, self.bay_k)
        from_bay = sizes.LINE_BAY_W_K * (self.bay_k - self.line_k) * dt_s
        to_gas = sizes.HEADER_W_K * (self.line_k - self.header.temperature_k) * dt_s
        self.header.heat(to_gas)
        self.line_k += (from_bay - to_gas) / sizes.LINE_J_K
        ledger.energy("bottle bay", heat + from_bay)

    def take(self, sink: Gas, kg: float) -> float:
        """Move *kg* from the header to *sink*; give the enthalpy, in J."""
        enthalpy = kg * _CP * self.header.temperature_k
        self.header.kg[O2] -= kg
        self.header.energy_j -= enthalpy
        sink.kg[O2] += kg
        sink.energy_j += enthalpy
        self.header.refresh()
        sink.refresh()
        return enthalpy

    def _balance_pa(self, dt_s: float) -> float:
        """Find the header pressure at the end of the step: the regulators are stiff, in Pa."""
        stiffness = _R * self.header.temperature_k / sizes.HEADER_M3 * dt_s
        start = self.header.pressure_pa
        low, high = start, self._first.outlet_set_pa(0.0) * (1.0 + sizes.LOCK_UP)
        if low >= high:
            return start
        for _ in range(14):
            middle = 0.5 * (low + high)
            if start + stiffness * self._flow(middle) > middle:
                low = middle
            else:
                high = middle
        return low

    def _flow(self, outlet_pa: float) -> float:
        """Give the flow of both regulators into the header, in kg/s."""
        first, second = self.primary, self.secondary
        return self._first.flow_kg_s(
            first.pressure_pa, first.temperature_k, outlet_pa
        ) + self._second.flow_kg_s(second.pressure_pa, second.temperature_k, outlet_pa)

    def _fill(self, kg: float, enthalpy: float, dt_s: float) -> None:
        """Let throttled gas through the line, which warms it, into the header."""
        if kg <= 0.0:
            return
        capacity = kg / dt_s * _CP
        cold_k = enthalpy / (kg * _CP)
        warmed = 1.0 - math.exp(-sizes.LINE_GAS_W_K / capacity)
        heat = kg * _CP * (self.line_k - cold_k) * warmed
        self.line_k -= heat / sizes.LINE_J_K
        self.header.kg[O2] += kg
        self.header.energy_j += enthalpy + heat
        self.header.refresh()

    def _leak(self, dt_s: float, chamber: Gas) -> None:
        """Let the primary bottle leak into the chamber."""
        if self.leak_m2 <= 0.0:
            return
        bottle = self.primary
        kg = dt_s * orifice_kg_s(
            self.leak_m2, bottle.pressure_pa, bottle.temperature_k, _R, chamber.pressure_pa
        )
        chamber.kg[O2] += kg
        chamber.energy_j += bottle.draw(kg)
        chamber.refresh()
