"""Tests for drivers.virtual.ledger.

Source: hand-worked here.
"""

from __future__ import annotations

from drivers.virtual.gas import CO2, H2O, N2, O2
from drivers.virtual.ledger import Balance, Ledger, came_in


def test_entries_add_up_by_cause_and_in_total() -> None:
    ledger = Ledger()
    ledger.mass("air valve", O2, 2.0)
    ledger.mass("air valve", O2, 1.0)
    ledger.mass("pump", O2, -0.5)
    ledger.mass("air valve", N2, 7.0)
    ledger.mass("metabolism", CO2, 0.25)
    ledger.mass("metabolism", H2O, 0.125)
    ledger.energy("electricity", 10.0)
    ledger.energy("pump", -4.0)

    assert ledger.kg[O2] == {"air valve": 3.0, "pump": -0.5}
    assert came_in(ledger) == Balance(2.5, 7.0, 0.25, 0.125, 6.0)


def test_ledgers_share_nothing() -> None:
    one, two = Ledger(), Ledger()
    one.mass("pump", O2, 1.0)
    one.energy("pump", 1.0)

    assert two.kg[O2] == {}
    assert two.joule == {}
