"""The rig's account of everything that crosses its boundary."""

from __future__ import annotations

from dataclasses import dataclass, field

from drivers.virtual.gas import KINDS


@dataclass(slots=True)
class Ledger:
    """What came in, by cause; negative for what left.

    Attributes:
        kg: For each of ``gas.KINDS`` (water as vapour, liquid or ice alike), in kg by cause.
        joule: Energy by cause, in J.
    """

    kg: tuple[dict[str, float], ...] = field(default_factory=lambda: tuple({} for _ in KINDS))
    joule: dict[str, float] = field(default_factory=dict)

    def mass(self, cause: str, kind: int, kg: float) -> None:
        """Note *kg* of one kind, in kg."""
        account = self.kg[kind]
        account[cause] = account.get(cause, 0.0) + kg

    def energy(self, cause: str, joule: float) -> None:
        """Note *joule* of heat, work or enthalpy, in J."""
        self.joule[cause] = self.joule.get(cause, 0.0) + joule


@dataclass(frozen=True, slots=True)
class Balance:
    """What the rig holds, or what came in: masses in kg, energy in J."""

    o2: float
    n2: float
    co2: float
    water: float
    energy_j: float


def came_in(ledger: Ledger) -> Balance:
    """Add the whole ledger up."""
    o2, n2, co2, water = (sum(account.values()) for account in ledger.kg)
    return Balance(o2, n2, co2, water, sum(ledger.joule.values()))
