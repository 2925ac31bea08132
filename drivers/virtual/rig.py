"""The gondola's environmental-control rig in its altitude chamber, as physics.

Mass and energy are moved, never made: :func:`Rig.held` and :class:`Ledger` close to rounding.
Pure: no clock, no randomness; the same steps give the same state.
"""

from __future__ import annotations

from collections.abc import Sequence

from drivers.virtual import sizes
from drivers.virtual.cooling import Evaporator
from drivers.virtual.faults import Fault, Faults
from drivers.virtual.gas import CO2, H2O, N2, O2
from drivers.virtual.ledger import Balance, Ledger
from drivers.virtual.parts import Parts
from drivers.virtual.separator import Separator
from drivers.virtual.truth import Truth, truth_of

#: Longest step of the physics, in s: its fastest part (loop relief) needs no less.
LONGEST_STEP_S = 0.1


class Rig(Parts):
    """Chamber, cabin, loop, bottles, cooling, and the people's settings.

    Attributes:
        at_s: Rig time since the start, in s.
        faults: What is wrong; change it at will between steps.
        ledger: Everything that crossed the boundary since the start.
    """

    def __init__(
        self,
        seed: int = 0,
        faults: Sequence[Fault] = (),
        first_stroke_s: float = 270.0,
        stroke_every_s: float = sizes.STROKE_EVERY_S,
        stroke_s: float = sizes.STROKE_S,
    ) -> None:
        """Start on the ground. *seed* is kept for the sensors; the physics has no chance."""
        super().__init__(Separator(first_stroke_s, stroke_every_s, stroke_s))
        self.seed = seed
        self.at_s = 0.0
        self.faults = Faults(tuple(faults))
        self.ledger = Ledger()

    def step(self, dt_s: float) -> None:
        """Go on by *dt_s* of rig time, in pieces short enough for the physics."""
        pieces = max(1, round(dt_s / LONGEST_STEP_S + 0.499))
        for _ in range(pieces):
            self._step(dt_s / pieces)

    def truth(self) -> Truth:
        """Give what every sensor would show if it were perfect."""
        return truth_of(self)

    def held(self) -> Balance:
        """Count what is inside the boundary: gases, water, heat in gas, metal and water."""
        gases = [self.chamber.gas, self.cabin.gas, self.loop.gas, self.supply.header]
        bottles = (self.supply.primary, self.supply.secondary)
        colds = self._evaporators()
        water = sum(gas.kg[H2O] for gas in gases) + self.tank.kg + self.loop.separator.kg
        water += sum(cold.water_kg + cold.ice_kg for cold in colds)
        energy = sum(gas.energy_j for gas in gases) + sum(cold.energy_j for cold in colds)
        energy += sum(b.energy_j + sizes.BOTTLE_METAL_J_K * b.metal_k for b in bottles)
        energy += self.tank.energy_j + self.loop.separator.energy_j + self._metal_j()
        return Balance(
            o2=sum(gas.kg[O2] for gas in gases) + sum(bottle.kg for bottle in bottles),
            n2=sum(gas.kg[N2] for gas in gases),
            co2=sum(gas.kg[CO2] for gas in gases) + self.loop.absorbed_kg,
            water=water,
            energy_j=energy,
        )

    def _step(self, dt_s: float) -> None:
        """Do one step: valves and flows, then reactions, then heat."""
        controls, faults, ledger = self.controls, self.faults, self.ledger
        chamber, cabin, loop, supply = self.chamber, self.cabin, self.loop, self.supply
        # Rounded at each step: time must not gather the rounding of 0.1.
        self.at_s = round(self.at_s + dt_s, 9)
        chamber.step(dt_s, controls.chamber_target_pa, controls.lamps, ledger)
        cabin.vent(dt_s, controls, faults, chamber.gas)
        cabin.feed(dt_s, controls, faults, supply)
        loop.valves(dt_s, controls, faults, cabin.gas)
        loop.decide_emergency(controls, cabin.inlet_opening)
        loop.feed(dt_s, controls, faults, cabin.gas, supply)
        self._stroke(dt_s)
        supply.leak_m2 = faults.leak_m2("bottle_leak")
        supply.step(dt_s, chamber.gas, ledger)
        loop.breathe(dt_s, controls.activity, cabin.gas, ledger)
        loop.circulate(dt_s, controls, faults, ledger)
        loop.settle(dt_s, cabin.gas)
        cabin.settle(dt_s, controls, faults, ledger)
        radiated = cabin.walls(dt_s, controls.lamps, chamber.wall_k, chamber.gas)
        ledger.energy("lamps on cabin", controls.lamps * sizes.SUN_W * dt_s)
        chamber.wall_k += radiated / sizes.CHAMBER_WALL_J_K
        self._cool(dt_s)

    def _stroke(self, dt_s: float) -> None:
        """Run the separator's timer; its piston blows a little oxygen into the loop."""
        is_on = self.controls.stroke_on and not self.faults.has("separator_failed")
        blow = self.loop.separator.step(self.at_s, dt_s, is_on, self.tank)
        if blow > 0.0:
            self.supply.take(self.loop.gas, blow)

    def _cool(self, dt_s: float) -> None:
        """Feed and boil water in all three heat exchangers."""
        controls, chamber, tank = self.controls, self.chamber.gas, self.tank
        press_pa = self.loop.gas.pressure_pa
        electronics = self.electronics
        electronics.heat(dt_s, controls.load, controls.ground_cart, self.ledger)
        self.loop.cool(dt_s, controls.loop_water, tank, chamber)
        self.cabin.cold.step(dt_s, controls.cabin_water, tank, press_pa, chamber)
        electronics.cool(dt_s, controls.electronics_water, tank, press_pa, chamber)

    def _evaporators(self) -> tuple[Evaporator, Evaporator, Evaporator]:
        """All three of them."""
        return self.loop.cold, self.cabin.cold, self.electronics.plate

    def _metal_j(self) -> float:
        """Heat in plain metal, in J."""
        return (
            sizes.CHAMBER_WALL_J_K * self.chamber.wall_k
            + sizes.WALL_J_K * (self.cabin.sunlit_k + self.cabin.shaded_k)
            + sizes.LOOP_PARTS_J_K * self.loop.parts_k
            + sizes.LINE_J_K * self.supply.line_k
        )
