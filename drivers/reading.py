"""What drivers hand over: blocks of raw readings, link changes and counts.

This is the one module of ``drivers`` that pure code of ``monitor`` may name.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray


class Clock(Protocol):
    """Data time. Runs *speed* times as fast as real time (1 except with the virtual rig)."""

    @property
    def speed(self) -> float:
        """Seconds of data time in a real second. A period of p data seconds lasts p / speed."""

    def now_ns(self) -> int:
        """Give the present data time in ns since the Unix epoch; never turns back.

        May be called from any thread.
        """


@dataclass(frozen=True, slots=True)
class Block:
    """Rows of raw numbers that one instrument sent.

    Attributes:
        instrument: Name of the instrument in the stand file.
        signals: Names of the columns, unique in the instrument.
        t_ns: (rows,) int64, arrival in data time, strictly rising within the block.
        values: (rows, signals) float64 as sent (counts, mA, ohm, number). NaN: this row says
            nothing about this signal.
        device_ns: (rows,) int64, the instrument's own time where it sends one.
        is_old: The broker kept this value for us; nobody knows how old it is.
    """

    instrument: str
    signals: tuple[str, ...]
    t_ns: NDArray[np.int64]
    values: NDArray[np.float64]
    device_ns: NDArray[np.int64] | None = None
    is_old: bool = False


@dataclass(frozen=True, slots=True)
class LinkReport:
    """A link came up or went down.

    Attributes:
        instrument: Name of the instrument in the stand file.
        t_ns: When, in data time.
        is_up: Whether readings can be expected from now on.
        why: What happened, for a person to read.
        cure: What that person can do about it; empty when the link came up.
    """

    instrument: str
    t_ns: int
    is_up: bool
    why: str
    cure: str = ""


class Sink(Protocol):
    """Where an instrument puts what it has. Called in the event loop's thread; never blocks."""

    def take(self, block: Block) -> None:
        """Take a block of readings."""

    def opened(self, why: str) -> None:
        """Note that the link is open and the instrument answers or streams."""

    def count(self, what: str, number: int = 1, example: str = "") -> None:
        """Add *number* to the instrument's counter *what*; keep the newest *example*.

        Everything that is dropped, garbled, refused or retried is counted here under a
        short name in plain words, for example ``"line without number"``.
        """


class Instrument(Protocol):
    """One way an instrument talks. Made anew by the registry for each entry in a stand file."""

    @property
    def signals(self) -> tuple[str, ...]:
        """Names of every signal this instrument can deliver, in a fixed order."""

    async def run(self, sink: Sink, clock: Clock) -> None:
        """Open the link and deliver until it is lost.

        Never returns normally while the link lives. Must release its handle in ``finally``.

        Raises:
            PortLostError: The link would not open or was lost; the caller tries again later.
        """
