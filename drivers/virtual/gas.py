"""Gas in a closed space: what is in it, how warm it is, and how it flows through a hole.

Everything is kept as mass of each kind of gas and internal energy, so that moving gas from
one space to another cannot make or lose any. Pressure and temperature follow from these.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

#: Order of the kinds of gas wherever masses are listed.
KINDS = ("o2", "n2", "co2", "h2o")
O2, N2, CO2, H2O = range(4)

#: Specific gas constants, J/(kg K): 8.314462618 over the molar mass.
GAS_CONSTANT = (259.837, 296.803, 188.924, 461.523)
#: Isobaric heat capacities near 300 K, J/(kg K). From memory, good to 0.5 %.
HEAT_CAPACITY = (918.0, 1040.0, 846.0, 1872.0)

_CV = tuple(cp - r for cp, r in zip(HEAT_CAPACITY, GAS_CONSTANT, strict=True))
_R0, _R1, _R2, _R3 = GAS_CONSTANT
_CV0, _CV1, _CV2, _CV3 = _CV

#: Ratio of heat capacities for flow through a hole: oxygen and nitrogen at 300 K.
GAMMA = 1.4
#: Downstream over upstream pressure at and below which a hole is choked, for 1.4.
CRITICAL_RATIO: float = (2.0 / (GAMMA + 1.0)) ** (GAMMA / (GAMMA - 1.0))
#: Dimensionless choked mass flow, for 1.4: 0.684731.
CHOKED: float = math.sqrt(GAMMA) * (2.0 / (GAMMA + 1.0)) ** (
    (GAMMA + 1.0) / (2.0 * (GAMMA - 1.0))
)

_SUBSONIC = 2.0 * GAMMA / (GAMMA - 1.0)


class Gas:
    """A mixture of ideal gases in a rigid space.

    Attributes:
        volume_m3: Space it fills, in m3.
        kg: Mass of each of ``KINDS``, in kg.
        energy_j: Internal energy, in J, zero at 0 K.
        temperature_k: In K; follows from the energy.
        pressure_pa: In Pa; follows from mass and temperature.
        mass_kg: All kinds together, in kg.
        gas_constant: Of the mixture, in J/(kg K).
        cp: Isobaric heat capacity of the mixture, in J/(kg K).
    """

    __slots__ = (
        "cp",
        "energy_j",
        "gas_constant",
        "kg",
        "mass_kg",
        "pressure_pa",
        "temperature_k",
        "volume_m3",
    )

    def __init__(self, volume_m3: float, kg: Sequence[float], temperature_k: float) -> None:
        """Fill *volume_m3* with *kg* of each kind at *temperature_k*."""
        self.volume_m3 = volume_m3
        self.kg = list(kg)
        self.energy_j = temperature_k * sum(m * c for m, c in zip(self.kg, _CV, strict=True))
        self.refresh()

    def refresh(self) -> None:
        """Work temperature and pressure out anew from masses and energy."""
        o2, n2, co2, h2o = self.kg
        mass = o2 + n2 + co2 + h2o
        capacity = o2 * _CV0 + n2 * _CV1 + co2 * _CV2 + h2o * _CV3
        constant = o2 * _R0 + n2 * _R1 + co2 * _R2 + h2o * _R3
        self.temperature_k = temperature = self.energy_j / capacity
        self.pressure_pa = constant * temperature / self.volume_m3
        self.mass_kg = mass
        self.gas_constant = constant / mass
        self.cp = (capacity + constant) / mass

    @property
    def density(self) -> float:
        """Mass over volume, in kg/m3."""
        return self.mass_kg / self.volume_m3

    @property
    def capacity(self) -> float:
        """Heat capacity at constant volume of all of it, in J/K."""
        return self.energy_j / self.temperature_k

    def partial_pa(self, kind: int) -> float:
        """Give the partial pressure of one kind, in Pa."""
        return self.kg[kind] * GAS_CONSTANT[kind] * self.temperature_k / self.volume_m3

    def add(self, kind: int, kg: float, temperature_k: float) -> float:
        """Let *kg* of one kind flow in (out where negative) with its enthalpy.

        Returns:
            The energy that came with it, in J.
        """
        energy = kg * HEAT_CAPACITY[kind] * temperature_k
        self.kg[kind] += kg
        self.energy_j += energy
        self.refresh()
        return energy

    def heat(self, joule: float) -> None:
        """Add *joule* of heat, in J."""
        self.energy_j += joule
        self.refresh()


def filled(
    volume_m3: float, pressure_pa: float, temperature_k: float, parts: Sequence[float]
) -> Gas:
    """Fill a space with a mixture given as mole fractions of each of ``KINDS``."""
    scale = pressure_pa * volume_m3 / temperature_k
    kg = [part * scale / r for part, r in zip(parts, GAS_CONSTANT, strict=True)]
    return Gas(volume_m3, kg, temperature_k)


def move(source: Gas, sink: Gas, kg: float) -> float:
    """Move *kg* of the mixture in *source* to *sink*, with its enthalpy.

    Returns:
        The enthalpy moved, in J.
    """
    share = kg / source.mass_kg
    enthalpy = kg * source.cp * source.temperature_k
    for kind in range(4):
        part = source.kg[kind] * share
        source.kg[kind] -= part
        sink.kg[kind] += part
    source.energy_j -= enthalpy
    sink.energy_j += enthalpy
    source.refresh()
    sink.refresh()
    return enthalpy


def orifice_kg_s(
    area_m2: float, up_pa: float, up_k: float, gas_constant: float, down_pa: float
) -> float:
    """Give the mass flow through a hole, choked or not.

    Args:
        area_m2: Effective area (area times discharge coefficient), in m2.
        up_pa: Upstream pressure, in Pa.
        up_k: Upstream temperature, in K.
        gas_constant: Of the gas upstream, in J/(kg K).
        down_pa: Downstream pressure, in Pa.

    Returns:
        Flow in kg/s; 0 where there is no fall of pressure.

    Source:
        Isentropic flow of an ideal gas, any textbook; ISO 9300 for the choked form.
    """
    if down_pa >= up_pa or area_m2 <= 0.0:
        return 0.0
    ideal = area_m2 * up_pa / math.sqrt(gas_constant * up_k)
    ratio = down_pa / up_pa
    if ratio <= CRITICAL_RATIO:
        return ideal * CHOKED
    root = math.pow(ratio, 1.0 / GAMMA)
    return ideal * math.sqrt(_SUBSONIC * (root * root - root * ratio))


def exchange(area_m2: float, one: Gas, two: Gas, dt_s: float) -> float:
    """Let gas flow through a hole between two spaces for *dt_s*, towards the lower pressure.

    Never moves more in one step than half of what would make the pressures equal: a wide
    hole then settles instead of swinging.

    Returns:
        Mass that went from *one* to *two*, in kg; negative the other way.
    """
    if one.pressure_pa >= two.pressure_pa:
        return _flow_down(area_m2, one, two, dt_s)
    return -_flow_down(area_m2, two, one, dt_s)


def release(area_m2: float, source: Gas, sink: Gas, dt_s: float) -> float:
    """Like :func:`exchange` through a hole with a flap: nothing ever flows back."""
    if source.pressure_pa <= sink.pressure_pa:
        return 0.0
    return _flow_down(area_m2, source, sink, dt_s)


def _flow_down(area_m2: float, source: Gas, sink: Gas, dt_s: float) -> float:
    """Move gas downhill through a hole; give the mass, in kg."""
    if area_m2 <= 0.0:
        return 0.0
    kg = dt_s * orifice_kg_s(
        area_m2,
        source.pressure_pa,
        source.temperature_k,
        source.gas_constant,
        sink.pressure_pa,
    )
    warm = source.gas_constant * source.temperature_k
    stiffness = GAMMA * warm * (1.0 / source.volume_m3 + 1.0 / sink.volume_m3)
    kg = min(kg, 0.5 * (source.pressure_pa - sink.pressure_pa) / stiffness)
    move(source, sink, kg)
    return kg
