"""Tests for monitor.display.state.fact.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.display.state.fact import Fact
from monitor.display.state.severity import Severity


def test_a_fact_is_calm_unless_it_says_otherwise() -> None:
    assert (Fact("recording").severity, Fact("recording").more) == (Severity.CALM, "")
