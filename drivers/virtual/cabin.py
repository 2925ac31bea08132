"""The cabin: its gas, its valves to the outside, its sunlit and shaded walls."""

from __future__ import annotations

from drivers.virtual import sizes
from drivers.virtual.controls import Controls
from drivers.virtual.cooling import Evaporator, cool_gas, cool_on_ground
from drivers.virtual.faults import Faults
from drivers.virtual.gas import Gas, exchange, filled, orifice_kg_s, release
from drivers.virtual.ledger import Ledger
from drivers.virtual.supply import Supply
from drivers.virtual.valves import Latch, Needle, Relief
from drivers.virtual.water import liquid_j_kg

#: Purged with oxygen before the run.
_START = (0.93, 0.055, 0.0004, 0.0146)


class Cabin:
    """A pressure vessel that a regulator feeds with oxygen.

    Attributes:
        gas: In the cabin.
        sunlit_k: Temperature of the sunlit wall, in K.
        shaded_k: Temperature of the shaded wall, in K.
        cold: Evaporator of the cabin's heat exchanger.
        outlet_k: Gas out of the heat exchanger, in K.
        regulator_kg_s: Flow through the cabin regulator, in kg/s.
        repressurise_kg_s: Flow through the repressurise valve, in kg/s.
        inlet_opening: Of the ambient inlet, 0 to 1.
        vent_opening: Of the vent valve, 0 to 1.
        repressurise_opening: Of the repressurise valve, 0 to 1.
        is_cut_off: Whether the regulator's low cut-off has come.
        fan_speed: Part of full speed of the cabin fan.
    """

    def __init__(self) -> None:
        """Start on the ground, open to the chamber."""
        self.gas = filled(sizes.CABIN_M3, sizes.ROOM_PA, sizes.ROOM_K + 2.0, _START)
        self.sunlit_k = self.shaded_k = sizes.ROOM_K
        self.cold = Evaporator(sizes.CABIN_FEED_KG_S, sizes.EVAPORATOR_J_K, sizes.ROOM_K - 5.0)
        self.outlet_k = sizes.ROOM_K
        self.regulator_kg_s = 0.0
        self.repressurise_kg_s = 0.0
        self.inlet_opening = 0.0
        self.vent_opening = 0.0
        self.repressurise_opening = 0.0
        self.fan_speed = 1.0
        self._cut_in = Latch(sizes.CABIN_CUT_IN_PA, sizes.CABIN_CUT_OFF_PA, is_on=True)
        self._inlet = Latch(sizes.INLET_OPEN_PA, sizes.INLET_SHUT_PA, is_on=True)
        self._relief = Relief(sizes.CABIN_RELIEF_PA)
        self._needle = Needle()

    @property
    def is_cut_off(self) -> bool:
        """Whether the low cut-off holds the regulator shut, so that the loop has the rest."""
        return not self._cut_in.is_on

    def vent(self, dt_s: float, controls: Controls, faults: Faults, chamber: Gas) -> None:
        """Let gas through everything that leads outside."""
        gas = self.gas
        outside_pa = chamber.pressure_pa
        span = sizes.CABIN_OUTFLOW_OPEN_PA - sizes.CABIN_OUTFLOW_SHUT_PA
        lift = (gas.pressure_pa - sizes.CABIN_OUTFLOW_SHUT_PA) / span
        outflow = faults.opening("outflow", min(1.0, max(0.0, lift)))
        relief = faults.opening("relief", self._relief.step(gas.pressure_pa - outside_pa))
        self.vent_opening = faults.opening("vent", float(controls.vent_open))
        is_low = self._inlet.step(outside_pa)
        wanted = float(is_low) if controls.inlet == 0 else float(controls.inlet > 0)
        self.inlet_opening = faults.opening("inlet", wanted)
        release(
            outflow * sizes.CABIN_OUTFLOW_M2 + relief * sizes.CABIN_RELIEF_M2,
            gas,
            chamber,
            dt_s,
        )
        hole = self.vent_opening * sizes.CABIN_VENT_M2 + self.inlet_opening * sizes.INLET_M2
        leak = sizes.CABIN_LEAK_M2 + faults.leak_m2("cabin_leak")
        exchange(hole + leak, gas, chamber, dt_s)

    def feed(self, dt_s: float, controls: Controls, faults: Faults, supply: Supply) -> float:
        """Let the regulator and the repressurise valve feed oxygen; give the mass, in kg."""
        pressure = self.gas.pressure_pa
        if self._cut_in.step(pressure) and controls.regulator_open:
            self._needle.step(pressure, dt_s)
        else:
            self._needle.shut()
        opening = faults.opening("cabin_regulator", self._needle.opening)
        fill = faults.opening("repressurise", float(controls.repressurise_open))
        self.repressurise_opening = fill
        self.regulator_kg_s = self._from(supply, opening * sizes.CABIN_REGULATOR_M2)
        self.repressurise_kg_s = self._from(supply, fill * sizes.CABIN_REPRESSURISE_M2)
        kg = (self.regulator_kg_s + self.repressurise_kg_s) * dt_s
        supply.take(self.gas, kg)
        return kg

    def settle(self, dt_s: float, controls: Controls, faults: Faults, ledger: Ledger) -> None:
        """Exchange heat: loads, fan, heat exchanger, walls."""
        is_running = controls.cabin_fan_on and not faults.has("cabin_fan_failed")
        coast = sizes.FAN_SPIN_UP_S if is_running else sizes.FAN_COAST_S
        self.fan_speed += (float(is_running) - self.fan_speed) * min(1.0, dt_s / coast)
        load = sizes.CABIN_LOAD_W * controls.load + sizes.CABIN_FAN_W * self.fan_speed
        ledger.energy("electricity", load * dt_s)
        self.gas.heat(load * dt_s)
        if controls.ground_cart:
            cool_on_ground(self.cold, dt_s, ledger)
        part = sizes.CABIN_FAN_M3_S * self.fan_speed * dt_s / sizes.CABIN_M3
        cooled = cool_gas(self.gas, part, sizes.CABIN_EXCHANGER, self.cold)
        self.outlet_k = cooled.outlet_k
        if cooled.water_kg > 0.0:
            self._keep(cooled.water_kg, cooled.outlet_k)

    def walls(self, dt_s: float, lamps: float, wall_k: float, chamber: Gas) -> float:
        """Exchange heat with the walls, and theirs with the chamber.

        Returns:
            Heat that left for the chamber's wall by radiation, in J.
        """
        inside = sizes.CABIN_WALL_W_K * (self.gas.density / sizes.CABIN_DENSITY) ** 0.6 * dt_s
        air = sizes.WALL_AIR_W_K * (chamber.pressure_pa / sizes.ROOM_PA) ** 0.5 * dt_s
        radiation = sizes.WALL_RADIATION_W_K * dt_s
        radiated = 0.0
        walls = [self.sunlit_k, self.shaded_k]
        for number, sun in ((0, lamps * sizes.SUN_W * dt_s), (1, 0.0)):
            kelvin = walls[number]
            to_gas = inside * (kelvin - self.gas.temperature_k)
            to_air = air * (kelvin - chamber.temperature_k)
            to_wall = radiation * (kelvin - wall_k)
            walls[number] += (sun - to_gas - to_air - to_wall) / sizes.WALL_J_K
            radiated += to_wall
            self.gas.heat(to_gas)
            chamber.heat(to_air)
        self.sunlit_k, self.shaded_k = walls
        return radiated

    def _from(self, supply: Supply, area_m2: float) -> float:
        """Give the flow from the header through a hole, in kg/s."""
        header = supply.header
        return orifice_kg_s(
            area_m2,
            header.pressure_pa,
            header.temperature_k,
            header.gas_constant,
            self.gas.pressure_pa,
        )

    def _keep(self, kg: float, temperature_k: float) -> None:
        """Let water that condensed in the heat exchanger wet its own evaporator's wick."""
        self.cold.water_kg += kg
        self.cold.heat(kg * liquid_j_kg(temperature_k))
