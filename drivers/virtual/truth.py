"""What is really so in the rig, by name: what a perfect sensor would show, in SI."""

from __future__ import annotations

from collections.abc import Callable

from drivers.virtual.gas import CO2, H2O, O2
from drivers.virtual.parts import Parts

#: Name to value. Pressures in Pa, temperatures in K, flows in kg/s, masses in kg, powers in
#: W, contacts 0 or 1.
Truth = dict[str, float]

_READ: dict[str, Callable[[Parts], float]] = {
    "chamber_pa": lambda rig: rig.chamber.gas.pressure_pa,
    "chamber_k": lambda rig: rig.chamber.gas.temperature_k,
    "primary_pa": lambda rig: rig.supply.primary.pressure_pa,
    "primary_kg": lambda rig: rig.supply.primary.kg,
    "primary_k": lambda rig: rig.supply.primary.temperature_k,
    "primary_skin_k": lambda rig: rig.supply.primary.metal_k,
    "secondary_pa": lambda rig: rig.supply.secondary.pressure_pa,
    "secondary_kg": lambda rig: rig.supply.secondary.kg,
    "secondary_k": lambda rig: rig.supply.secondary.temperature_k,
    "secondary_skin_k": lambda rig: rig.supply.secondary.metal_k,
    "primary_kg_s": lambda rig: rig.supply.primary_kg_s,
    "secondary_kg_s": lambda rig: rig.supply.secondary_kg_s,
    # A flow switch behind the check valve: comes at 0.1 g/min.
    "secondary_feeds": lambda rig: float(rig.supply.secondary_kg_s > 0.1 / 60e3),
    "header_pa": lambda rig: rig.supply.header.pressure_pa,
    "header_k": lambda rig: rig.supply.header.temperature_k,
    "loop_pa": lambda rig: rig.loop.gas.pressure_pa,
    "loop_supply_k": lambda rig: rig.loop.supply_k,
    "loop_return_k": lambda rig: rig.loop.gas.temperature_k,
    "loop_o2_pa": lambda rig: rig.loop.gas.partial_pa(O2),
    "loop_co2_pa": lambda rig: rig.loop.gas.partial_pa(CO2),
    "loop_h2o_pa": lambda rig: rig.loop.gas.partial_pa(H2O),
    "make_up_kg_s": lambda rig: rig.loop.make_up_kg_s,
    "emergency_kg_s": lambda rig: rig.loop.emergency_kg_s,
    "fan_rise_pa": lambda rig: rig.loop.fan_rise_pa,
    "trap_drop_pa": lambda rig: rig.loop.trap_drop_pa,
    "fan_1_runs": lambda rig: float(rig.loop.fans.is_running(0)),
    "fan_2_runs": lambda rig: float(rig.loop.fans.is_running(1)),
    "fan_selector": lambda rig: float(rig.controls.fan_selector),
    "stroke": lambda rig: float(rig.loop.separator.is_stroking),
    "sponge_kg": lambda rig: rig.loop.separator.kg,
    "interface_open": lambda rig: float(rig.controls.interface_open),
    "cabin_pa": lambda rig: rig.cabin.gas.pressure_pa,
    "cabin_k": lambda rig: rig.cabin.gas.temperature_k,
    "cabin_o2_pa": lambda rig: rig.cabin.gas.partial_pa(O2),
    "cabin_co2_pa": lambda rig: rig.cabin.gas.partial_pa(CO2),
    "cabin_h2o_pa": lambda rig: rig.cabin.gas.partial_pa(H2O),
    "cabin_regulator_kg_s": lambda rig: rig.cabin.regulator_kg_s,
    "repressurise_kg_s": lambda rig: rig.cabin.repressurise_kg_s,
    "cabin_cut_off": lambda rig: float(rig.cabin.is_cut_off),
    "vent_opening": lambda rig: rig.cabin.vent_opening,
    "inlet_opening": lambda rig: rig.cabin.inlet_opening,
    "repressurise_opening": lambda rig: rig.cabin.repressurise_opening,
    "cabin_fan_runs": lambda rig: float(rig.cabin.fan_speed > 0.5),
    "sunlit_k": lambda rig: rig.cabin.sunlit_k,
    "shaded_k": lambda rig: rig.cabin.shaded_k,
    "loop_exhaust_k": lambda rig: rig.loop.cold.exhaust_k,
    "cabin_exhaust_k": lambda rig: rig.cabin.cold.exhaust_k,
    "electronics_k": lambda rig: rig.electronics.plate.temperature_k,
    "loop_wet": lambda rig: float(rig.loop.cold.is_wet),
    "cabin_wet": lambda rig: float(rig.cabin.cold.is_wet),
    "tank_kg": lambda rig: rig.tank.kg,
    "load_w": lambda rig: rig.electronics.load_w,
}


def truth_of(rig: Parts) -> Truth:
    """Read everything."""
    return {name: read(rig) for name, read in _READ.items()}


def reader(name: str) -> Callable[[Parts], float]:
    """Give the function that reads one name: a sensor keeps it."""
    return _READ[name]
