"""The breathing loop: regulator, relief, fans, absorber, exchanger, separator, user, trap."""

from __future__ import annotations

from drivers.virtual import sizes, water
from drivers.virtual.controls import Controls
from drivers.virtual.cooling import Evaporator, Tank, cool_gas, cool_on_ground
from drivers.virtual.fans import Fans
from drivers.virtual.faults import Faults
from drivers.virtual.gas import (
    CO2,
    H2O,
    O2,
    Gas,
    exchange,
    filled,
    move,
    orifice_kg_s,
    release,
)
from drivers.virtual.ledger import Ledger
from drivers.virtual.separator import Separator
from drivers.virtual.supply import Supply
from drivers.virtual.valves import Relief

#: Purged with oxygen before the run.
_START = (0.945, 0.035, 0.0006, 0.0194)
#: Temperature of what the metabolic simulator breathes out, in K.
_BREATH_K = 306.0
#: Part of its capacity after which the absorber lets more and more through.
_BREAKTHROUGH = 0.8
#: Pressure at the fan's suction side, as a part of the fan's pressure rise below the loop's.
_SUCTION = 1.0


class Loop:
    """A closed circuit that someone (here a simulator) breathes from.

    Attributes:
        gas: In the loop.
        parts_k: Temperature of ducts and dummy, in K.
        fans: The two circulation fans.
        cold: Evaporator of the loop's heat exchanger.
        separator: Of water.
        supply_k: Temperature of the gas that reaches the user, in K.
        absorbed_kg: CO2 in the absorber, in kg.
        make_up_kg_s: Flow through the loop regulator, in kg/s.
        emergency_kg_s: Emergency flow, in kg/s.
        emergency_opening: Of the emergency valve, 0 to 1.
        relief_opening: Of the relief valve into the cabin, 0 to 1.
        trap_loading: Growth of the solids trap's resistance, 0 when clean.
    """

    def __init__(self, separator: Separator) -> None:
        """Start on the ground, open to the cabin."""
        self.gas = filled(sizes.LOOP_M3, sizes.ROOM_PA, sizes.ROOM_K + 3.0, _START)
        self.parts_k = sizes.ROOM_K + 2.0
        self.fans = Fans()
        self.cold = Evaporator(sizes.LOOP_FEED_KG_S, sizes.EVAPORATOR_J_K, sizes.ROOM_K - 5.0)
        self.separator = separator
        self.supply_k = sizes.ROOM_K - 4.0
        self.absorbed_kg = 0.12 * sizes.ABSORBER_KG
        self.make_up_kg_s = 0.0
        self.emergency_kg_s = 0.0
        self.emergency_opening = 0.0
        self.relief_opening = 0.0
        self.trap_loading = 0.1
        self._relief = Relief(sizes.LOOP_RELIEF_PA)

    @property
    def fan_rise_pa(self) -> float:
        """Pressure rise of the running fan, in Pa: goes with density and speed squared."""
        return sizes.FAN_RISE * self.gas.density * max(self.fans.speed) ** 2

    @property
    def trap_drop_pa(self) -> float:
        """Pressure drop of the solids trap, in Pa."""
        flow = self.fans.flow_m3_s / sizes.FAN_M3_S
        return sizes.TRAP_DROP * self.gas.density * flow * flow * (1.0 + self.trap_loading)

    def valves(self, dt_s: float, controls: Controls, faults: Faults, cabin: Gas) -> None:
        """Let gas pass between loop and cabin: interface, relief, flap, leaks."""
        gas = self.gas
        over = gas.pressure_pa - cabin.pressure_pa
        lift = self._relief.step(over)
        if gas.pressure_pa < sizes.LOOP_RELIEF_LOCK_PA:
            lift = 0.0
        self.relief_opening = faults.opening("loop_relief", lift)
        release(self.relief_opening * sizes.LOOP_RELIEF_M2, gas, cabin, dt_s)
        leak = sizes.LOOP_LEAK_M2 + faults.leak_m2("loop_leak")
        interface = sizes.INTERFACE_M2 if controls.interface_open else 0.0
        exchange(leak + interface, gas, cabin, dt_s)
        if cabin.pressure_pa - gas.pressure_pa > sizes.LOOP_FLAP_PA:
            release(sizes.LOOP_FLAP_M2, cabin, gas, dt_s)
        self._ingress(dt_s, faults.leak_m2("loop_ingress"), cabin)

    def feed(
        self, dt_s: float, controls: Controls, faults: Faults, cabin: Gas, supply: Supply
    ) -> None:
        """Let the loop regulator and the emergency flow feed oxygen."""
        gas, header = self.gas, supply.header
        aim = max(cabin.pressure_pa + sizes.LOOP_OVER_CABIN_PA, sizes.LOOP_LEAST_PA)
        opening = min(1.0, max(0.0, (aim - gas.pressure_pa) / sizes.LOOP_BAND_PA))
        open_now = 0.0 if controls.interface_open else opening
        self.make_up_kg_s = open_now * sizes.LOOP_REGULATOR_KG_S
        if header.pressure_pa < 2.0 * gas.pressure_pa:
            self.make_up_kg_s = 0.0
        area = faults.opening("emergency", self.emergency_opening) * sizes.EMERGENCY_M2
        self.emergency_kg_s = orifice_kg_s(
            area, header.pressure_pa, header.temperature_k, header.gas_constant, gas.pressure_pa
        )
        supply.take(gas, (self.make_up_kg_s + self.emergency_kg_s) * dt_s)

    def decide_emergency(self, controls: Controls, inlet_opening: float) -> None:
        """Set the emergency valve: by hand, or by itself on descent and at low pressure."""
        by_itself = inlet_opening > 0.0 and not controls.interface_open
        by_itself = by_itself or self.gas.pressure_pa < sizes.EMERGENCY_BELOW_PA
        is_on = controls.emergency > 0 or (controls.emergency == 0 and by_itself)
        self.emergency_opening = float(is_on)

    def circulate(
        self, dt_s: float, controls: Controls, faults: Faults, ledger: Ledger
    ) -> float:
        """Pass gas through fan, absorber and exchanger; give water with no room, in kg."""
        self.fans.step(dt_s, controls.fan_selector, faults)
        power = sizes.FAN_W * sum(speed**3 for speed in self.fans.speed)
        self.gas.heat(power * dt_s)
        ledger.energy("electricity", power * dt_s)
        self.trap_loading += sizes.TRAP_GROWTH_S * dt_s
        part = self.fans.flow_m3_s * dt_s / sizes.LOOP_M3
        self._absorb(part, faults, ledger)
        if controls.ground_cart:
            cool_on_ground(self.cold, dt_s, ledger)
        cooled = cool_gas(self.gas, part, sizes.LOOP_EXCHANGER, self.cold)
        self.supply_k = cooled.outlet_k
        left = self.separator.take(cooled.water_kg, cooled.outlet_k)
        if left > 0.0:
            # No room in the sponge: the drops fly on and dry up in the warm part.
            self.gas.kg[H2O] += left
            self.gas.energy_j += left * water.liquid_j_kg(cooled.outlet_k)
            self.gas.refresh()
        return left

    def breathe(self, dt_s: float, activity: float, cabin: Gas, ledger: Ledger) -> None:
        """Let the metabolic simulator take oxygen and give CO2, water and heat."""
        gas = self.gas
        o2 = -activity * sizes.BREATH_O2_KG_S * dt_s
        co2 = activity * sizes.BREATH_CO2_KG_S * dt_s
        steam = activity * sizes.BREATH_WATER_KG_S * dt_s
        energy = gas.add(O2, o2, gas.temperature_k)
        energy += gas.add(CO2, co2, _BREATH_K) + gas.add(H2O, steam, _BREATH_K)
        warm = activity * sizes.BODY_LOOP_W * dt_s
        around = activity * sizes.BODY_CABIN_W * dt_s
        gas.heat(warm)
        cabin.heat(around)
        for kind, kg in ((O2, o2), (CO2, co2), (H2O, steam)):
            ledger.mass("metabolism", kind, kg)
        ledger.energy("metabolism", energy + warm + around)

    def settle(self, dt_s: float, cabin: Gas) -> None:
        """Exchange heat between gas, ducts and cabin."""
        to_gas = sizes.LOOP_PARTS_W_K * (self.parts_k - self.gas.temperature_k) * dt_s
        to_cabin = sizes.LOOP_TO_CABIN_W_K * (self.parts_k - cabin.temperature_k) * dt_s
        self.parts_k -= (to_gas + to_cabin) / sizes.LOOP_PARTS_J_K
        self.gas.heat(to_gas)
        cabin.heat(to_cabin)

    def cool(self, dt_s: float, setting: float, tank: Tank, chamber: Gas) -> None:
        """Run the evaporator."""
        self.cold.step(dt_s, setting, tank, self.gas.pressure_pa, chamber)

    def _absorb(self, part: float, faults: Faults, ledger: Ledger) -> None:
        """Take CO2 out; lithium hydroxide gives water and heat for it."""
        used = self.absorbed_kg / sizes.ABSORBER_KG
        alive = min(1.0, max(0.0, (1.0 - used) / (1.0 - _BREAKTHROUGH)))
        if faults.has("absorber_exhausted"):
            alive = 0.0
        gas = self.gas
        kg = gas.kg[CO2] * part * sizes.ABSORBER_PASS * alive
        steam = kg * sizes.ABSORBER_WATER
        energy = gas.add(CO2, -kg, gas.temperature_k)
        energy += gas.add(H2O, steam, gas.temperature_k)
        heat = kg * sizes.ABSORBER_J_KG
        gas.heat(heat)
        self.absorbed_kg += kg
        ledger.mass("absorber chemistry", H2O, steam)
        ledger.energy("absorber chemistry", energy + heat)

    def _ingress(self, dt_s: float, area_m2: float, cabin: Gas) -> None:
        """Let cabin gas leak in at the fan's suction side, where pressure is lowest."""
        if area_m2 <= 0.0:
            return
        suction_pa = self.gas.pressure_pa - _SUCTION * self.fan_rise_pa
        rate = orifice_kg_s(
            area_m2, cabin.pressure_pa, cabin.temperature_k, cabin.gas_constant, suction_pa
        )
        if rate > 0.0:
            move(cabin, self.gas, rate * dt_s)
