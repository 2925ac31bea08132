"""What can be wrong with the rig, switched on and off by a script."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

FaultKind = Literal[
    "cabin_leak",
    "loop_leak",
    "loop_ingress",
    "bottle_leak",
    "fan_failed",
    "cabin_fan_failed",
    "valve_stuck",
    "absorber_exhausted",
    "separator_failed",
    "barometer",
    "sensor_stuck",
    "sensor_noisy",
    "sensor_drifting",
    "sensor_exhausted",
    "sensor_uncorrected",
    "wire_unplugged",
]

#: Valves that can stick, and what part of its opening *size* means.
VALVES = (
    "outflow",
    "relief",
    "vent",
    "repressurise",
    "inlet",
    "emergency",
    "loop_relief",
    "cabin_regulator",
)

_NEEDS_TARGET = ("fan_failed", "valve_stuck", "wire_unplugged")


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong.

    Attributes:
        kind: What.
        target: Which: fan ``1`` or ``2``, a valve of ``VALVES``, a sensor's signal, a wire's
            instrument; empty for kinds that there is only one of.
        size: How much. Leaks: effective area in mm2. Stuck valve: opening 0 to 1. Noisy
            sensor: standard deviation in its physical unit. Drifting: unit per hour.
            Barometer: Pa. Exhausted O2 cell: highest pressure that it can show, Pa.
            Unused by the others.
    """

    kind: FaultKind
    target: str = ""
    size: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what would silently do nothing.

        Raises:
            ValueError: The kind is unknown or a needed target is missing; mend the script.
        """
        if self.kind not in get_args(FaultKind):
            raise ValueError(f"unknown fault {self.kind!r}; known: {get_args(FaultKind)}")
        if self.kind == "valve_stuck" and self.target not in VALVES:
            raise ValueError(f"valve_stuck: no valve {self.target!r}; known: {VALVES}")
        if (self.kind in _NEEDS_TARGET or self.kind.startswith("sensor")) and not self.target:
            raise ValueError(f"{self.kind}: say which one by 'target'")


class Faults:
    """The faults that are on now; one for each kind and target."""

    def __init__(self, faults: tuple[Fault, ...] = ()) -> None:
        """Start with *faults* on."""
        self._on: dict[tuple[str, str], Fault] = {}
        for fault in faults:
            self.set(fault)

    def __len__(self) -> int:
        """Count the faults that are on: mostly none, which a sensor asks first."""
        return len(self._on)

    def set(self, fault: Fault) -> None:
        """Switch a fault on."""
        self._on[fault.kind, fault.target] = fault

    def clear(self, kind: FaultKind, target: str = "") -> None:
        """Switch a fault off; no matter if it was not on."""
        self._on.pop((kind, target), None)

    def has(self, kind: FaultKind, target: str = "") -> bool:
        """Tell whether a fault is on."""
        return (kind, target) in self._on

    def size(self, kind: FaultKind, target: str = "") -> float:
        """Give how much, 0 where the fault is off."""
        fault = self._on.get((kind, target))
        return fault.size if fault else 0.0

    def leak_m2(self, kind: FaultKind) -> float:
        """Give a leak's effective area, in m2."""
        return self.size(kind) * 1e-6

    def opening(self, valve: str, wanted: float) -> float:
        """Give where a valve really stands: as wanted, or where it is stuck, 0 to 1."""
        fault = self._on.get(("valve_stuck", valve))
        return fault.size if fault else wanted
