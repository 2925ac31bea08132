"""A short text for the title strip with how far from normal it is."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.severity import Severity


@dataclass(frozen=True, slots=True)
class Fact:
    """A short text with how far from normal it is. *more* is for who looks closer."""

    text: str
    severity: Severity = Severity.CALM
    more: str = ""
