"""Keeps one instrument going: starts it, waits after a loss, starts it again, for ever."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from random import Random
from typing import Protocol

import numpy as np

from drivers.errors import DriverError, PortLostError, RefusedError
from drivers.reading import Block, Clock, Instrument
from monitor.events import LinkChange

_logger = logging.getLogger(__name__)

#: Different counters an instrument may keep; more would only be an error in a driver.
_MOST_COUNTERS = 64
_OTHER = "other"
#: Length to which an example is cut, in characters.
_EXAMPLE_LENGTH = 200


@dataclass(frozen=True, slots=True)
class Patience:
    """How long to wait before the next attempt, in seconds of real time.

    Attributes:
        first_s: After the first loss.
        longest_s: Each failed attempt doubles the wait, up to this.
        refused_s: After a refusal, which only a person can cure.
        proven_s: A link that held this long was good: the next wait is the first one again.
    """

    first_s: float = 0.5
    longest_s: float = 15.0
    refused_s: float = 30.0
    proven_s: float = 10.0


class Taker(Protocol):
    """Where a supervised instrument's output goes. Called in the loop's thread."""

    def take(self, block: Block) -> Mapping[str, int]:
        """Take a block of readings; give what of it is to be counted, by reason."""

    def change_link(self, change: LinkChange) -> None:
        """Take a change of the link's state or of the reason for it."""


class LinkRecord:
    """What is known of one instrument's link; the ``Sink`` that its driver writes into.

    Attributes:
        is_up: Whether readings can be expected.
        since_ns: Since when it is so, in data time.
        why: What happened last, for a person to read.
        cure: What that person can do.
        readings: Numbers received.
        last_reading_ns: Time of the newest row; 0 before the first.
        counts: Everything dropped, garbled, refused or retried, by reason.
        examples: Newest example for each reason that has one.
    """

    def __init__(self, instrument: str, taker: Taker, now_ns: Callable[[], int]) -> None:
        """Start with a link that was never up, and say nothing about it yet."""
        self.instrument = instrument
        self._taker = taker
        self._now_ns = now_ns
        self.is_up = False
        self.since_ns = now_ns()
        self.why = ""
        self.cure = ""
        self.readings = 0
        self.last_reading_ns = 0
        self.counts: dict[str, int] = {}
        self.examples: dict[str, str] = {}

    def take(self, block: Block) -> None:
        """Count the numbers of a block and pass it on."""
        if len(block.t_ns):
            self.readings += block.values.size - int(np.count_nonzero(np.isnan(block.values)))
            self.last_reading_ns = int(block.t_ns[-1])
        for what, number in self._taker.take(block).items():
            self.count(what, number)

    def opened(self, why: str) -> None:
        """Note that the link is open and the instrument answers or streams."""
        self._become(True, why, "")

    def lost(self, why: str, cure: str) -> None:
        """Note that the link is gone or would not open."""
        self._become(False, why, cure)

    def count(self, what: str, number: int = 1, example: str = "") -> None:
        """Add to a counter; keep the newest example."""
        if what not in self.counts and len(self.counts) >= _MOST_COUNTERS:
            what = _OTHER
        self.counts[what] = self.counts.get(what, 0) + number
        if example:
            self.examples[what] = example[:_EXAMPLE_LENGTH]

    def _become(self, is_up: bool, why: str, cure: str) -> None:
        """Tell of a change of state or of reason; stay silent about the same again."""
        if is_up == self.is_up and (is_up or why == self.why):
            return
        if is_up != self.is_up:
            self.since_ns = self._now_ns()
        self.is_up, self.why, self.cure = is_up, why, cure
        self._taker.change_link(LinkChange(self.instrument, is_up, why, cure))


class Supervisor:
    """Runs one instrument for ever.

    Args:
        instrument: The instrument.
        record: Where its output and its link's state go.
        clock: Data time, handed to the driver.
        random: Spreads attempts out, so that many instruments do not all knock at once.
        patience: How long to wait between attempts.
    """

    def __init__(
        self,
        instrument: Instrument,
        record: LinkRecord,
        clock: Clock,
        random: Random,
        patience: Patience | None = None,
    ) -> None:
        """Start nothing yet."""
        self._instrument = instrument
        self._record = record
        self._clock = clock
        self._random = random
        self._patience = Patience() if patience is None else patience
        self._wait_s = self._patience.first_s

    async def run(self) -> None:
        """Run until cancelled. No error of a driver ends it."""
        loop, task = asyncio.get_running_loop(), asyncio.current_task()
        while True:
            began_s = loop.time()
            is_refused = await self._attempt()
            if task is not None and task.cancelling():
                # Letting go of a port failed while it was cancelled, and hid the cancellation.
                raise asyncio.CancelledError
            if loop.time() - began_s >= self._patience.proven_s:
                self._wait_s = self._patience.first_s
            await asyncio.sleep(self._next_wait_s(is_refused))

    async def _attempt(self) -> bool:
        """Run the instrument until its link is lost; say whether it was refused."""
        try:
            await self._instrument.run(self._record, self._clock)
        except PortLostError as error:
            self._record.lost(error.why, error.cure)
            return isinstance(error, RefusedError)
        except DriverError as error:
            self._record.lost(str(error), "")
        except Exception as error:
            # The one place of its kind: a fault in a driver is shown as a fault of its link,
            # and neither the other instruments nor the recording notice.
            _logger.exception("driver of %s failed", self._record.instrument)
            self._record.count("faults of the driver", example=repr(error))
            self._record.lost(
                f"the driver failed: {type(error).__name__}: {error}",
                "it is started again by itself; please report this",
            )
        else:
            self._record.lost("the driver ended without a reason", "please report this")
        return False

    def _next_wait_s(self, is_refused: bool) -> float:
        """Give the wait before the next attempt, between half and one and a half of it."""
        wait_s = self._wait_s
        self._wait_s = min(2 * wait_s, self._patience.longest_s)
        if is_refused:
            wait_s = self._patience.refused_s
        return wait_s * (0.5 + self._random.random())
