"""Sensors: they see the truth late, with noise, in steps, with an error of their own.

What a sensor gives is raw: mA of a loop, ohm of a platinum thermometer, mV of a cell, a
number, a contact. The instruments put that on their wires.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random
from typing import Literal

from drivers.virtual import sizes
from drivers.virtual.faults import Faults
from drivers.virtual.gas import Gas
from drivers.virtual.rig import Rig
from drivers.virtual.truth import reader

Around = Literal["", "chamber", "loop", "cabin"]

#: Density of room air, in kg/m3: sheathed thermometers are rated in it.
_ROOM_DENSITY = 1.2
#: Heat transfer to a sheath goes with density to this power.
_DENSITY_POWER = 0.4

#: Currents where a transmitter saturates (NAMUR NE 43), in mA.
_LEAST_MA, _MOST_MA = 3.8, 20.5
#: Callendar-Van Dusen coefficients (IEC 60751), and R0, in ohm.
_A, _B, _R0 = 3.9083e-3, -5.775e-7, 100.0
#: A cell's membrane and its compensating thermistor follow the gas at different speeds, in
#: s; meanwhile the reading is wrong by this part for each K between them.
_MEMBRANE_S, _THERMISTOR_S = 20.0, 60.0
_CELL_PER_K = 0.008
#: An infrared bench without pressure correction: 0.4 of the true value at 38 kPa.
_INFRARED_POWER = 0.93


@dataclass(frozen=True, slots=True)
class Current:
    """A 4-20 mA transmitter, in its physical unit."""

    at_4ma: float
    at_20ma: float

    def raw(self, value: float) -> float:
        """Give the current, in mA; it saturates like a real one."""
        current = 4.0 + 16.0 * (value - self.at_4ma) / (self.at_20ma - self.at_4ma)
        return min(_MOST_MA, max(_LEAST_MA, current))


@dataclass(frozen=True, slots=True)
class Platinum:
    """A Pt100; physical unit degC."""

    def raw(self, value: float) -> float:
        """Give the resistance, in ohm."""
        return _R0 * (1.0 + _A * value + _B * value * value)


@dataclass(frozen=True, slots=True)
class Number:
    """Anything that is sent as a number: physical value times gain (a cell: mV per kPa)."""

    gain: float = 1.0

    def raw(self, value: float) -> float:
        """Give the number."""
        return self.gain * value


Encoding = Current | Platinum | Number


@dataclass(frozen=True, slots=True)
class SensorPlan:
    """One sensor.

    Attributes:
        signal: Its name on the wire.
        truth: What it looks at, a name of ``truth``.
        encoding: How it is sent.
        gain: Physical unit over SI unit of the truth (kPa: 1e-3).
        offset: Physical value at an SI value of 0 (degC: -273.15).
        lag_s: Time constant in room air, in s.
        noise: Standard deviation, in the physical unit.
        error: Standard deviation of the fixed error that this one was built with.
        step: Resolution of the raw number.
        around: Gas around a sheathed thermometer, which is slower where that is thin, or
            around a cell or bench.
        is_gauge: Measures against room pressure, which a barometer adds.
        effect: ``cell`` for a galvanic O2 cell, ``infrared`` for a CO2 bench.
    """

    signal: str
    truth: str
    encoding: Encoding = field(default_factory=Number)
    gain: float = 1.0
    offset: float = 0.0
    lag_s: float = 0.0
    noise: float = 0.0
    error: float = 0.0
    step: float = 0.0
    around: Around = ""
    is_gauge: bool = False
    effect: Literal["", "cell", "infrared"] = ""


class Sensor:
    """A sensor at work."""

    def __init__(self, plan: SensorPlan, rig: Rig) -> None:
        """Put it in; it has had time to settle."""
        self.plan = plan
        self._rig = rig
        self._read = reader(plan.truth)
        # A generator for each sensor: adding one leaves the noise of the others as it was.
        self._chance = Random(f"{rig.seed}/{plan.signal}")
        self._error = self._chance.gauss(0.0, plan.error) if plan.error else 0.0
        self._seen = self._read(rig)
        self._gas = _gas_getter(plan.around)
        self._membrane_k = self._thermistor_k = self._gas(rig).temperature_k
        self._stuck_at: float | None = None
        self._drifting_since_s: float | None = None

    def advance(self, dt_s: float) -> None:
        """See the truth of now, through the sensor's lag."""
        true = self._read(self._rig)
        lag_s = self.plan.lag_s
        if lag_s <= 0.0:
            self._seen = true
            return
        if self.plan.around and not self.plan.effect:
            density = self._gas(self._rig).density
            lag_s *= max(1.0, (_ROOM_DENSITY / density) ** _DENSITY_POWER)
        self._seen += (true - self._seen) * dt_s / (lag_s + dt_s)
        if self.plan.effect == "cell":
            kelvin = self._gas(self._rig).temperature_k
            self._membrane_k += (kelvin - self._membrane_k) * dt_s / (_MEMBRANE_S + dt_s)
            self._thermistor_k += (kelvin - self._thermistor_k) * dt_s / (_THERMISTOR_S + dt_s)

    def read(self) -> float:
        """Give the raw number that the sensor sends now."""
        faults = self._rig.faults
        if not faults:
            self._stuck_at = self._drifting_since_s = None
            return self._quantised(self._sent(self._affected(self._seen), 0.0, 0.0))
        if not faults.has("sensor_stuck", self.plan.signal):
            self._stuck_at = None
            return self._quantised(self._wrong(faults))
        if self._stuck_at is None:
            self._stuck_at = self._quantised(self._wrong(faults))
        return self._stuck_at

    def _quantised(self, raw: float) -> float:
        """Round to the sensor's resolution."""
        step = self.plan.step
        return round(raw / step) * step if step > 0.0 else raw

    def _sent(self, seen: float, drift: float, more_noise: float) -> float:
        """Turn what is seen into the raw number, with the sensor's own error and noise."""
        plan = self.plan
        value = plan.gain * seen + plan.offset + self._error + drift
        noise = plan.noise + more_noise
        if noise > 0.0:
            value += self._chance.gauss(0.0, noise)
        return plan.encoding.raw(value)

    def _wrong(self, faults: Faults) -> float:
        """Give the raw number with what faults do to it."""
        plan, name = self.plan, self.plan.signal
        seen = self._affected(self._seen)
        if plan.effect == "cell" and faults.has("sensor_exhausted", name):
            seen = min(seen, faults.size("sensor_exhausted", name))
        if plan.effect == "infrared" and faults.has("sensor_uncorrected", name):
            pressure = self._gas(self._rig).pressure_pa
            seen *= (pressure / sizes.ROOM_PA) ** _INFRARED_POWER
        if plan.is_gauge:
            seen += faults.size("barometer")
        return self._sent(seen, self._drift(faults), faults.size("sensor_noisy", name))

    def _affected(self, seen: float) -> float:
        """Apply what is peculiar to the kind of sensor, faults apart."""
        if self.plan.effect != "cell":
            return seen
        return seen * (1.0 + _CELL_PER_K * (self._membrane_k - self._thermistor_k))

    def _drift(self, faults: Faults) -> float:
        """Give how far a drifting sensor has gone since the fault began."""
        name = self.plan.signal
        if not faults.has("sensor_drifting", name):
            self._drifting_since_s = None
            return 0.0
        if self._drifting_since_s is None:
            self._drifting_since_s = self._rig.at_s
        hours = (self._rig.at_s - self._drifting_since_s) / 3600.0
        return faults.size("sensor_drifting", name) * hours


def _gas_getter(around: Around) -> Callable[[Rig], Gas]:
    """Give the function that finds the gas around a sensor."""
    if around == "chamber":
        return lambda rig: rig.chamber.gas
    if around == "loop":
        return lambda rig: rig.loop.gas
    return lambda rig: rig.cabin.gas
