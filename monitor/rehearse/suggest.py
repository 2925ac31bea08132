"""Deadband, filter and delay for one limit, from what was recorded."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from monitor.limits.plan import Limit
from monitor.rehearse.choices import PEAK_TO_PEAK, Choice, Ground, choices_of, rounded_up
from monitor.rehearse.judge import Bounds, Verdict, proposed, sooner
from monitor.rehearse.noise import Noise, Spans, lasting, noise_of, period_of, spans_of
from monitor.rehearse.subject import Subject, SuggestError
from monitor.rehearse.track import Track
from monitor.rehearse.trial import tried
from monitor.samples import FIRST_SPECIAL, FIRST_UNCERTAIN, Flags, Ints

#: What lasts for half as long, or for half of so many samples, is no spike.
_WINDOW_NS = 30_000_000_000
_WINDOW_SAMPLES = 20
#: Percentile of the spikes that "most" of them means.
_MOST = 95.0


@dataclass(frozen=True, slots=True)
class Spikes:
    """Stretches beyond a setpoint that did not last.

    Attributes:
        count: How many there are.
        most_rows: Samples that 95 of 100 of them last at most; 0 where there are none.
        most_ns: How long 95 of 100 of them last at most.
        longest_ns: How long the longest lasts.
    """

    count: int
    most_rows: int
    most_ns: int
    longest_ns: int


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What was found.

    Attributes:
        subject: The limit.
        noise: Scatter by phase, and by mode where there is one, where the limit is watched.
        period_ns: Usual time between two samples.
        spikes: Stretches beyond the setpoint that did not last.
        lasted: How many stretches beyond the setpoint lasted.
        window_ns: What lasts is true for most of so long a window.
        verdicts: The present choice first, then by what they save and cost.
        noise_span: Noise from peak to peak in the noisiest place, unfiltered; 0 where it is
            not known.
        proposed: One of *verdicts*; None where none fits.
        sooner: One that would have come sooner at no cost in these runs; None where none is.
    """

    subject: Subject
    noise: dict[str, Noise]
    period_ns: int
    spikes: Spikes
    lasted: int
    window_ns: int
    verdicts: tuple[Verdict, ...]
    noise_span: float
    proposed: Verdict | None
    sooner: Verdict | None


@dataclass(frozen=True, slots=True)
class _Run:
    """One run seen by the limit.

    Attributes:
        track: Its samples.
        is_watched: (rows,) whether the limit is watched.
        lasted: Stretches beyond the setpoint that lasted.
        spikes: Stretches beyond the setpoint that touch none of them.
    """

    track: Track
    is_watched: Flags
    lasted: Spans
    spikes: Spans


def suggest(subject: Subject, tracks: Sequence[Track]) -> Suggestion:
    """Try choices for a limit on the samples of some runs, and propose one.

    Args:
        subject: The limit.
        tracks: Its column in each run, at least one.

    Raises:
        SuggestError: There are no samples while the limit is watched.
    """
    limit = subject.limit
    period_ns = max(period_of(track.t_ns) for track in tracks)
    window_ns = max(_WINDOW_NS, _WINDOW_SAMPLES * period_ns)
    runs = [_run(track, limit, window_ns) for track in tracks]
    noise = dict(_noise(runs))
    if not any(one.samples for one in noise.values()):
        raise SuggestError(f"{subject.tag} has no sample in these runs while it is watched")
    spikes = _spikes(runs)
    ground = _ground(subject, noise, period_ns, spikes)
    verdicts = _verdicts(limit, choices_of(ground), runs, period_ns)
    noise_span = rounded_up(PEAK_TO_PEAK * ground.scatter)
    bounds = Bounds(subject.may_delay, subject.respond_ns, noise_span)
    best = proposed(verdicts, bounds)
    return Suggestion(
        subject=subject,
        noise=noise,
        period_ns=period_ns,
        spikes=spikes,
        lasted=sum(run.lasted.first.size for run in runs),
        window_ns=window_ns,
        verdicts=(verdicts[0], *sorted(verdicts[1:], key=_order)),
        noise_span=noise_span,
        proposed=best,
        sooner=sooner(verdicts, best, bounds) if best is not None else None,
    )


def _run(track: Track, limit: Limit, window_ns: int) -> _Run:
    """Find what lasted and what did not."""
    is_beyond = track.beyond(limit)
    lasted = lasting(track.t_ns, is_beyond, window_ns)
    does_last = np.zeros(track.t_ns.size + 1, np.int64)
    does_last[lasted.first] += 1
    does_last[lasted.end] -= 1
    # Number of rows before each that are part of something that lasted.
    before = np.concatenate([[0], np.cumsum(np.cumsum(does_last[:-1]))])
    spans = spans_of(track.t_ns, is_beyond)
    spikes = spans.only(before[spans.end] == before[spans.first])
    return _Run(track, ~np.isnan(track.setpoints(limit)), lasted, spikes)


def _spikes(runs: Sequence[_Run]) -> Spikes:
    """Count the spikes of all runs, and measure them."""
    rows = np.concatenate([run.spikes.rows for run in runs])
    lengths_ns = np.concatenate([run.spikes.lasted_ns for run in runs])
    return Spikes(rows.size, _most(rows), _most(lengths_ns), int(lengths_ns.max(initial=0)))


def _noise(runs: Sequence[_Run]) -> Iterator[tuple[str, Noise]]:
    """Give the scatter by phase and mode, of good samples while the limit is watched.

    Where none is good, as with an overdue calibration, uncertain ones have to do.
    """
    t_ns = np.concatenate([run.track.t_ns for run in runs])
    value = np.concatenate([run.track.value for run in runs])
    quality = np.concatenate([run.track.quality for run in runs])
    is_watched = np.concatenate([run.is_watched for run in runs])
    is_good = is_watched & (quality < FIRST_UNCERTAIN)
    if not is_good.any():
        is_good = is_watched & (quality < FIRST_SPECIAL)
    where = np.concatenate([_labels(run.track) for run in runs])
    for label in dict.fromkeys(where.tolist()):
        chosen = is_good & (where == label)
        if chosen.any():
            yield label, noise_of(t_ns, value, chosen)


def _labels(track: Track) -> np.ndarray[tuple[int], np.dtype[np.object_]]:
    """Give (rows,) the phase, and behind it the mode where there is one."""
    labels = np.empty(track.t_ns.size, dtype=object)
    for place, rows in track.stays():
        labels[rows] = f"{place.phase}, {place.mode}" if place.mode else place.phase
    return labels


def _ground(
    subject: Subject, noise: dict[str, Noise], period_ns: int, spikes: Spikes
) -> Ground:
    """Put together what choices are made from; the noisiest phase counts."""
    scatters = [one.scatter for one in noise.values() if not math.isnan(one.scatter)]
    scatter = max(scatters, default=math.nan)
    if not any(one.sigma > 0 for one in noise.values()) and _is_wide(scatter, subject.span):
        scatter = math.nan
    return Ground(
        present=subject.present,
        scatter=scatter,
        period_ns=period_ns,
        spike_rows=spikes.most_rows,
        spike_ns=spikes.most_ns,
        span=subject.span,
        published=subject.published,
        may_delay=subject.may_delay,
        may_filter=subject.may_filter,
    )


def _is_wide(scatter: float, span: float) -> bool:
    """Tell steps as wide as the span, of a contact that opens and closes, from noise."""
    return 0 < span <= PEAK_TO_PEAK * scatter


def _verdicts(
    limit: Limit, choices: Sequence[Choice], runs: Sequence[_Run], period_ns: int
) -> list[Verdict]:
    """Try all choices on all runs."""
    verdicts = [Verdict(choice, choice.delay_ns(period_ns)) for choice in choices]
    first = 0
    for run in runs:
        for verdict, found in zip(verdicts, tried(run.track, limit, choices), strict=True):
            verdict.add(found, run.lasted, first)
        first += run.lasted.first.size
    return verdicts


def _most(lengths: Ints) -> int:
    """Give what most are at most; 0 of none."""
    if not lengths.size:
        return 0
    return int(np.percentile(lengths, _MOST, method="higher"))


def _order(one: Verdict) -> tuple[int, int, int, float]:
    """Order by what is missed, then by nuisance, then by what it costs."""
    return one.missed, one.nuisance, one.delay_ns, one.choice.deadband
