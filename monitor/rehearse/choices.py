"""Which deadbands, filters and delays are worth a try for a limit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product
from typing import Any

from monitor.channels.plan import Filtered
from monitor.rehearse.words import filter_text
from monitor.stand.limit_values import StartingPoint

#: Most choices that are tried, the present one among them.
MOST = 40
#: Deadbands by the scatter of the signal. Normal noise leaves three sigma on either side of its
#: mean once in 370 samples: six span it from peak to peak, three reach from its middle.
PEAK_TO_PEAK, HALF_OF_IT = 6.0, 3.0
#: Periods of the lag that is tried: it lets a third of the noise through, 1 / sqrt(2 * 5 - 1).
_LAG_PERIODS = 5
#: Longest window of a median, in samples.
_WIDEST = 9
#: What is below it is nothing, in whatever unit.
_TINY = 1e-200
_S_PER_NS = 1e-9
_NS_PER_S = 1_000_000_000


@dataclass(frozen=True, slots=True)
class Sieve:
    """A filter by its settings; all 0 for none. See :class:`monitor.channels.plan.Filtered`."""

    median_of: int = 0
    lag_ns: int = 0
    mean_ns: int = 0

    def row(self, tag: str, source: str) -> Filtered:
        """Give it as a row of a plan."""
        return Filtered(tag, source, self.median_of, self.lag_ns, self.mean_ns)

    def delay_ns(self, period_ns: int) -> int:
        """How late it is: half of a window, the time constant of a lag."""
        return (max(self.median_of, 1) - 1) * period_ns // 2 + self.lag_ns + self.mean_ns // 2

    @property
    def text(self) -> str:
        """Its name."""
        return filter_text(self.row("", "")) if self != NO_SIEVE else "none"


NO_SIEVE = Sieve()


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to set a limit up.

    Attributes:
        deadband: In the unit of what is compared.
        sieve: The filter of its channel.
        on_delay_ns: Its on-delay.
        n_of_m: What counts samples instead of a delay; (0, 0) for nothing.
    """

    deadband: float
    sieve: Sieve
    on_delay_ns: int
    n_of_m: tuple[int, int] = (0, 0)

    def delay_ns(self, period_ns: int) -> int:
        """What it costs by itself: the filter's and its own delay."""
        counted_ns = max(self.n_of_m[0] - 1, 0) * period_ns
        return self.sieve.delay_ns(period_ns) + self.on_delay_ns + counted_ns


@dataclass(frozen=True, slots=True)
class Ground:
    """What choices are made from.

    Attributes:
        present: How the limit is set up in the new stand.
        scatter: Of the signal, in its unit; NaN where it is not known.
        period_ns: Usual time between two samples.
        spike_rows: How many samples most spikes last at most; 0 where there are none.
        spike_ns: How long most spikes last at most; 0 where there are none.
        span: Range of the channel, in its unit; 0 where it has no meaning.
        published: Starting point for the type of the signal; None where it is not known.
        may_delay: Whether an on-delay may be proposed: never for top priority.
        may_filter: Whether the channel can have a filter for this limit.
    """

    present: Choice
    scatter: float
    period_ns: int
    spike_rows: int = 0
    spike_ns: int = 0
    span: float = 0.0
    published: StartingPoint | None = None
    may_delay: bool = True
    may_filter: bool = True


def choices_of(ground: Ground) -> list[Choice]:
    """Give the choices to try, the present one first, at most :data:`MOST`."""
    deadbands, sieves, delays = _deadbands(ground), _sieves(ground), _delays(ground)
    lists: tuple[list[Any], ...] = (deadbands, sieves, delays)
    while math.prod(len(each) for each in lists) >= MOST:
        # What stands last in each list is the least likely.
        max(lists, key=len).pop()
    tried = [Choice(*one) for one in product(deadbands, sieves, delays)]
    return list(dict.fromkeys((ground.present, *tried)))


def _deadbands(ground: Ground) -> list[float]:
    """The present one, what spans the noise, the published starting point, half the noise."""
    found = [ground.present.deadband]
    if ground.scatter > 0:
        found.append(rounded_up(PEAK_TO_PEAK * ground.scatter))
    if ground.published is not None and ground.span > 0:
        found.append(rounded_up(ground.published.deadband_percent / 100 * ground.span))
    if ground.scatter > 0:
        found.append(rounded_up(HALF_OF_IT * ground.scatter))
    return list(dict.fromkeys(found))


def _sieves(ground: Ground) -> list[Sieve]:
    """The present filter, none, a median that is wider than two spikes, a lag."""
    found = [ground.present.sieve]
    if ground.may_filter:
        width = min(max(2 * ground.spike_rows + 1, 3), _WIDEST)
        found += [NO_SIEVE, Sieve(median_of=width)]
    if ground.may_filter and ground.period_ns:
        lag_s = rounded_up(_LAG_PERIODS * ground.period_ns * _S_PER_NS)
        found.append(Sieve(lag_ns=round(lag_s * _NS_PER_S)))
    return list(dict.fromkeys(found))


def _delays(ground: Ground) -> list[int]:
    """None, the present one, a little longer than spikes, the published starting point."""
    found = [0]
    if ground.may_delay:
        found.append(ground.present.on_delay_ns)
    if ground.may_delay and ground.spike_ns:
        spike_s = rounded_up((ground.spike_ns + ground.period_ns) * _S_PER_NS)
        found.append(round(spike_s * _NS_PER_S))
    if ground.may_delay and ground.published is not None:
        found.append(round(ground.published.delay_s * _NS_PER_S))
    return list(dict.fromkeys(found))


def rounded_up(value: float) -> float:
    """Round up to two digits, as a person would write it: 0.0123 to 0.013."""
    if not value > _TINY:
        return 0.0
    place = math.floor(math.log10(value)) - 1
    # A hair less, or 0.30000000000000004 would become 0.31.
    digits = math.ceil(value / 10.0**place * (1 - 1e-12))
    return float(f"{digits}e{place}")
