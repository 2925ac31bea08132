"""One line of the benchmarks' table."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    """A figure beside the limit that was measured in the same run.

    Attributes:
        name: What was measured.
        ours: Our figure with its unit, for people.
        limit: The limit's figure with its unit, for people.
        ratio: Ours to the limit, or the figure itself where no limit applies.
        aim: The ratio aimed at, with a sign where less or more is better: ``<= 3``, ``>= 0.8``.
        note: What a reader must know, for example why an aim is missed.
    """

    name: str
    ours: str
    limit: str
    ratio: float
    aim: str
    note: str = ""

    @property
    def is_met(self) -> bool:
        """Whether the aim is met. An aim that cannot be read is an error of the benchmark."""
        sign, _, number = self.aim.partition(" ")
        if sign not in ("<=", ">="):
            raise ValueError(f"{self.name}: aim {self.aim!r} must begin with '<= ' or '>= '")
        bound = float(number)
        return self.ratio <= bound if sign == "<=" else self.ratio >= bound
