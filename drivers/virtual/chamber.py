"""The altitude chamber: a large space, a pump, an air valve, walls that warm slowly."""

from __future__ import annotations

from drivers.virtual import sizes
from drivers.virtual.gas import H2O, HEAT_CAPACITY, KINDS, filled, orifice_kg_s
from drivers.virtual.ledger import Ledger

_ROOM = filled(1.0, sizes.ROOM_PA, sizes.ROOM_K, sizes.ROOM_AIR)


class Chamber:
    """What stands for the atmosphere around the gondola.

    Attributes:
        gas: Air in the chamber.
        wall_k: Temperature of the chamber's wall, in K.
    """

    def __init__(self) -> None:
        """Start open to the room."""
        self.gas = filled(sizes.CHAMBER_M3, sizes.ROOM_PA, sizes.ROOM_K, sizes.ROOM_AIR)
        self.wall_k = sizes.ROOM_K

    def step(self, dt_s: float, target_pa: float, lamps: float, ledger: Ledger) -> None:
        """Pump or let air in towards *target_pa*; exchange heat with wall and room."""
        off = (self.gas.pressure_pa - target_pa) / max(self.gas.pressure_pa, target_pa)
        opening = sizes.CHAMBER_GAIN * off
        if opening > 0.0:
            self._pump(min(opening, 1.0), dt_s, ledger)
        else:
            self._air(min(-opening, 1.0), dt_s, ledger)
        self._outgas(dt_s, ledger)
        self._settle(dt_s, lamps, ledger)

    def _pump(self, opening: float, dt_s: float, ledger: Ledger) -> None:
        """Take a part of the volume away, as a pump of constant speed does."""
        gas = self.gas
        share = opening * dt_s / sizes.CHAMBER_PUMP_S
        enthalpy = share * gas.mass_kg * gas.cp * gas.temperature_k
        for kind in range(len(KINDS)):
            kg = gas.kg[kind] * share
            gas.kg[kind] -= kg
            ledger.mass("pump", kind, -kg)
        gas.energy_j -= enthalpy
        gas.refresh()
        ledger.energy("pump", -enthalpy)

    def _air(self, opening: float, dt_s: float, ledger: Ledger) -> None:
        """Let room air in."""
        area = opening * sizes.CHAMBER_AIR_M2
        rate = orifice_kg_s(
            area, sizes.ROOM_PA, sizes.ROOM_K, _ROOM.gas_constant, self.gas.pressure_pa
        )
        share = rate * dt_s / _ROOM.mass_kg
        enthalpy = share * _ROOM.mass_kg * _ROOM.cp * sizes.ROOM_K
        for kind in range(len(KINDS)):
            kg = _ROOM.kg[kind] * share
            self.gas.kg[kind] += kg
            ledger.mass("air valve", kind, kg)
        self.gas.energy_j += enthalpy
        self.gas.refresh()
        ledger.energy("air valve", enthalpy)

    def _outgas(self, dt_s: float, ledger: Ledger) -> None:
        """Let the walls give off water."""
        kg = sizes.CHAMBER_OUTGAS_KG_S * dt_s
        energy = kg * HEAT_CAPACITY[H2O] * self.wall_k
        self.gas.kg[H2O] += kg
        self.gas.energy_j += energy
        ledger.mass("outgassing", H2O, kg)
        ledger.energy("outgassing", energy)

    def _settle(self, dt_s: float, lamps: float, ledger: Ledger) -> None:
        """Exchange heat: gas with wall, wall with room, lamps into the wall."""
        thickness = (self.gas.pressure_pa / sizes.ROOM_PA) ** 0.5
        to_gas = sizes.CHAMBER_WALL_W_K * thickness * (self.wall_k - self.gas.temperature_k)
        to_gas *= dt_s
        heat = sizes.CHAMBER_ROOM_W_K * (sizes.ROOM_K - self.wall_k) * dt_s
        heat += lamps * sizes.LAMPS_W * dt_s
        self.wall_k += (heat - to_gas) / sizes.CHAMBER_WALL_J_K
        self.gas.heat(to_gas)
        ledger.energy("chamber wall", heat)
