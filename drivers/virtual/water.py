"""Water as vapour, liquid and ice: where it boils, and what energy it holds."""

from __future__ import annotations

import math

from drivers.virtual.gas import GAS_CONSTANT, H2O, HEAT_CAPACITY

ZERO_C_K = 273.15
#: Triple point: below this pressure there is no liquid water, in Pa (IAPWS R7-97).
TRIPLE_PA = 611.657
#: Heat capacities, J/(kg K). From memory.
LIQUID_CAPACITY = 4186.0
ICE_CAPACITY = 2060.0
#: Heat of evaporation at 25 degC and of melting at 0 degC, J/kg (IAPWS-IF97; memory).
EVAPORATION_25C = 2_441_710.0
MELTING = 333_600.0

_REFERENCE_K = 298.15
_VAPOUR_CAPACITY = HEAT_CAPACITY[H2O]
_LIQUID_AT_REFERENCE = _VAPOUR_CAPACITY * _REFERENCE_K - EVAPORATION_25C

#: Magnus form over water, WMO-No. 8: within 0.3 % of IAPWS-IF97 from 0 to 40 degC.
_MAGNUS_PA, _MAGNUS_A, _MAGNUS_B = 611.2, 17.62, 243.12


def saturation_pa(temperature_k: float) -> float:
    """Give the pressure at which water boils at *temperature_k*, in Pa."""
    celsius = temperature_k - ZERO_C_K
    return _MAGNUS_PA * math.exp(_MAGNUS_A * celsius / (_MAGNUS_B + celsius))


def boiling_k(pressure_pa: float) -> float:
    """Give the temperature at which water boils at *pressure_pa*, in K.

    Below the triple point this is the temperature of ice that sublimates, roughly.
    """
    ratio = math.log(max(pressure_pa, 1.0) / _MAGNUS_PA)
    return ZERO_C_K + _MAGNUS_B * ratio / (_MAGNUS_A - ratio)


def liquid_j_kg(temperature_k: float) -> float:
    """Give the energy of liquid water on the scale of the gas energies, in J/kg."""
    return _LIQUID_AT_REFERENCE + LIQUID_CAPACITY * (temperature_k - _REFERENCE_K)


def ice_j_kg(temperature_k: float) -> float:
    """Give the energy of ice on the scale of the gas energies, in J/kg."""
    return liquid_j_kg(ZERO_C_K) - MELTING + ICE_CAPACITY * (temperature_k - ZERO_C_K)


def vapour_j_kg(temperature_k: float) -> float:
    """Give the enthalpy of water vapour on the same scale, in J/kg."""
    return _VAPOUR_CAPACITY * temperature_k


def vapour_kg(pressure_pa: float, temperature_k: float, volume_m3: float) -> float:
    """Give the mass of vapour at a partial pressure in a space, in kg."""
    return pressure_pa * volume_m3 / (GAS_CONSTANT[H2O] * temperature_k)
