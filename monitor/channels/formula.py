"""Formulas of computed channels: plain expressions, parsed once, evaluated on arrays."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from monitor.samples import Floats


@dataclass(frozen=True)
class Formula:
    """A checked expression over named inputs."""

    text: str
    names: tuple[str, ...]

    def evaluate(self, inputs: Mapping[str, Floats]) -> Floats:
        """Evaluate on arrays of one shape; NaN or infinite where there is no result."""
        raise ArithmeticError(self.text, inputs)
