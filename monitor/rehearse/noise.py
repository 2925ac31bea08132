"""How noisy a recorded signal is: its scatter from sample to sample, and its spikes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from monitor.samples import Flags, Floats, Ints

#: Standard deviation of a normal distribution by its median absolute deviation.
#:
#: Source: 1 / quantile(3/4) of the normal distribution, 0.674490 (any table of it).
_SIGMA_PER_MAD = 1 / 0.674490
#: Variance of x[i-1] - 2 x[i] + x[i+1] by that of independent x: 1 + 4 + 1.
_SECOND_DIFFERENCE = 6.0
#: Samples further apart than so many periods are no neighbours.
_LONGEST_STEP = 1.5
#: With fewer differences there is no saying.
FEWEST = 20


@dataclass(frozen=True, slots=True)
class Noise:
    """The scatter of a signal.

    Attributes:
        sigma: Standard deviation, in the unit of the signal; NaN where too little is there.
        resolution: Least difference between two neighbours that are not equal; NaN where
            none is known.
        samples: Good samples that it was taken from.
    """

    sigma: float
    resolution: float
    samples: int

    @property
    def scatter(self) -> float:
        """What a deadband is measured by: sigma, or the resolution where that is coarser."""
        known = [x for x in (self.sigma, self.resolution) if not math.isnan(x)]
        return max(known, default=math.nan)


def period_of(t_ns: Ints) -> int:
    """Give the usual time between two samples, in ns; 0 where there are fewer than two."""
    return int(np.median(np.diff(t_ns))) if t_ns.size > 1 else 0


def noise_of(t_ns: Ints, value: Floats, is_good: Flags) -> Noise:
    """Estimate the scatter of good samples.

    Second differences leave out every level and every straight trend, and the median keeps
    spikes and steps out. What varies slowly against the sample rate does not count: of noise
    that is alike from sample to sample this sees too little.

    Source:
        T. Gasser, L. Sroka, C. Jennen-Steinmetz, Biometrika 73 (1986) 625: residuals of a
        point against the line through its neighbours (from memory); the median absolute
        deviation in place of the mean square is the usual robust form.
    """
    steps, longest_ns = np.diff(t_ns), _LONGEST_STEP * period_of(t_ns)
    is_step = (steps > 0) & (steps <= longest_ns) & is_good[1:] & is_good[:-1]
    differences = np.diff(value)
    distinct = np.abs(differences[is_step & (differences != 0)])
    resolution = float(distinct.min()) if distinct.size else math.nan
    is_bend = is_step[1:] & is_step[:-1]
    bends = np.diff(differences)[is_bend]
    samples = int(np.count_nonzero(is_good))
    if bends.size < FEWEST:
        return Noise(math.nan, resolution, samples)
    deviation = float(np.median(np.abs(bends - np.median(bends))))
    sigma = _SIGMA_PER_MAD * deviation / math.sqrt(_SECOND_DIFFERENCE)
    return Noise(sigma, resolution, samples)


@dataclass(frozen=True, slots=True)
class Spans:
    """Stretches of neighbouring rows.

    Attributes:
        first: (spans,) row in which each begins.
        end: (spans,) row behind its last one.
        start_ns: (spans,) when it begins.
        end_ns: (spans,) when the row behind it comes, or its last one where none does.
    """

    first: Ints
    end: Ints
    start_ns: Ints
    end_ns: Ints

    @property
    def rows(self) -> Ints:
        """How many rows each has."""
        return self.end - self.first

    @property
    def lasted_ns(self) -> Ints:
        """How long each lasts, in ns."""
        return self.end_ns - self.start_ns

    def only(self, chosen: Flags) -> Spans:
        """Give some of them."""
        return Spans(
            self.first[chosen], self.end[chosen], self.start_ns[chosen], self.end_ns[chosen]
        )


def spans_of(t_ns: Ints, holds: Flags) -> Spans:
    """Give the stretches in which *holds* is true."""
    turns = np.diff(np.concatenate([[False], holds, [False]]).astype(np.int8))
    first, end = np.flatnonzero(turns == 1), np.flatnonzero(turns == -1)
    if not first.size:
        nothing = np.zeros(0, np.int64)
        return Spans(nothing, nothing, nothing, nothing)
    return Spans(first, end, t_ns[first], t_ns[np.minimum(end, t_ns.size - 1)])


def lasting(t_ns: Ints, holds: Flags, window_ns: int) -> Spans:
    """Give the stretches in which *holds* was true for most of the time around.

    Most of the samples within half a window on either side. This looks ahead, so no alarm
    could do it: it is what a person says afterwards. What stays true for longer than half a
    window is found with its true beginning and end; shorter spikes are not, and short returns
    do not break a stretch.

    Args:
        t_ns: (rows,) rising times.
        holds: (rows,) whether it is true.
        window_ns: Length of the window.
    """
    half = window_ns // 2
    total = np.concatenate([[0], np.cumsum(holds)])
    low = np.searchsorted(t_ns, t_ns - half, side="left")
    high = np.searchsorted(t_ns, t_ns + half, side="right")
    return spans_of(t_ns, 2 * (total[high] - total[low]) > high - low)
