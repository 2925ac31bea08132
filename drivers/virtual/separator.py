"""The water separator: a sponge that takes water, a timed stroke that squeezes it out."""

from __future__ import annotations

from drivers.virtual import sizes
from drivers.virtual.cooling import Tank
from drivers.virtual.water import liquid_j_kg

#: How long the piston's oxygen takes to blow into the loop, in s.
_BLOW_S = 0.5


class Separator:
    """Holds condensed water until the stroke sends it to the coolant tank.

    Attributes:
        kg: Water in the sponge, in kg.
        temperature_k: Of that water, in K.
        is_stroking: Whether the piston is on its way.
    """

    def __init__(self, first_s: float, every_s: float, stroke_s: float) -> None:
        """Set the timer: first stroke, interval and duration, all in s of rig time."""
        self.kg = sizes.SPONGE_START_KG
        self.temperature_k = sizes.ROOM_K - 8.0
        self.is_stroking = False
        self._every_s = every_s
        self._stroke_s = stroke_s
        self._next_s = first_s
        self._since_s = 0.0
        self._rate = 0.0

    def take(self, kg: float, temperature_k: float) -> float:
        """Soak *kg* of water up; give what finds no room, in kg."""
        room = max(0.0, sizes.SPONGE_KG - self.kg)
        taken = min(room, kg)
        if taken > 0.0:
            total = self.kg + taken
            self.temperature_k += (temperature_k - self.temperature_k) * taken / total
            self.kg = total
        return kg - taken

    def step(self, at_s: float, dt_s: float, is_on: bool, tank: Tank) -> float:
        """Run the timer and the piston.

        Returns:
            Oxygen that the piston blows into the loop in this step, in kg.
        """
        if at_s >= self._next_s:
            self._next_s += self._every_s
            if is_on:
                self.is_stroking = True
                self._since_s = 0.0
                self._rate = sizes.STROKE_TAKES * self.kg / self._stroke_s
        if not self.is_stroking:
            return 0.0
        kg = min(self.kg, self._rate * dt_s)
        self.kg -= kg
        tank.fill(kg, self.temperature_k)
        blow = sizes.STROKE_GAS_KG / _BLOW_S * dt_s if self._since_s < _BLOW_S else 0.0
        self._since_s += dt_s
        self.is_stroking = self._since_s < self._stroke_s - 1e-9
        return blow

    @property
    def energy_j(self) -> float:
        """Energy of the water, in J."""
        return self.kg * liquid_j_kg(self.temperature_k)
