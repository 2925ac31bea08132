"""The figures of one or several stretches of time, from what alarms did in them.

Bins, windows and days begin with each stretch and never reach into the next.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence

from monitor.alarms.plan import Priority
from monitor.figures.figures import (
    AlarmCount,
    Answers,
    Figures,
    Floods,
    Frequent,
    Inhibited,
    Load,
    Nuisance,
    PriorityCount,
    Standing,
    StandingAlarm,
)
from monitor.figures.rates import (
    FLOOD_ABOVE,
    NS_PER_S,
    WINDOW_NS,
    chatter,
    counts_in_bins,
    floods,
    most_in_window,
)
from monitor.figures.stretch import Held, Stretch

_HOUR_NS = 3600 * NS_PER_S
_DAY_NS = 24 * _HOUR_NS
#: Our choice, no source: the standards ask for no fleeting alarm and give no time.
FLEETING_BELOW_NS = 10 * NS_PER_S
#: Source: ANSI/ISA-18.2-2016, 16.4.7, by secondary texts.
STALE_ABOVE_NS = _DAY_NS
_MOST_FREQUENT = 10
_PRIORITIES = (Priority.TOP, Priority.HIGH, Priority.MEDIUM, Priority.LOW)


def figures_of(name: str, stretches: Sequence[Stretch]) -> Figures:
    """Compute all figures of some stretches together."""
    lasted_ns = sum(stretch.lasted_ns for stretch in stretches)
    return Figures(
        name=name,
        stretches=len(stretches),
        lasted_ns=lasted_ns,
        load=_load(stretches, lasted_ns),
        floods=_floods(stretches, lasted_ns),
        priorities=_priorities(stretches),
        frequent=_frequent(stretches),
        nuisance=_nuisance(stretches),
        standing=_standing(stretches),
        answers=_answers(stretches),
        inhibited=_inhibited(stretches),
    )


def _load(stretches: Sequence[Stretch], lasted_ns: int) -> Load:
    """How many alarms were shown."""
    count = sum(len(stretch.activations) for stretch in stretches)
    bins = [row for stretch in stretches for row in _bins(stretch)]
    above = sum(row > FLOOD_ABOVE for row in bins)
    windows = (most_in_window(_times(stretch), WINDOW_NS) for stretch in stretches)
    return Load(
        activations=count,
        realarms=_marks(stretches)["realarm"],
        per_10_min=_share(count * WINDOW_NS, lasted_ns),
        per_hour=_share(count * _HOUR_NS, lasted_ns),
        per_day=_share(count * _DAY_NS, lasted_ns),
        bins=len(bins),
        bins_above=above,
        share_above=_share(above, len(bins)),
        most_in_bin=max(bins, default=0),
        most_in_window=max(windows, default=0),
    )


def _floods(stretches: Sequence[Stretch], lasted_ns: int) -> Floods:
    """When more alarms came than people can follow."""
    periods = [
        flood
        for stretch in stretches
        for flood in floods(stretch.run, _bins(stretch), stretch.start_ns, stretch.end_ns)
    ]
    flood_ns = sum(flood.until_ns - flood.since_ns for flood in periods)
    return Floods(tuple(periods), flood_ns, _share(flood_ns, lasted_ns))


def _priorities(stretches: Sequence[Stretch]) -> tuple[PriorityCount, ...]:
    """How urgent the alarms were that were shown."""
    counts = Counter(row.priority for stretch in stretches for row in stretch.activations)
    total = counts.total()
    return tuple(
        PriorityCount(row.value, counts[row.value], _share(counts[row.value], total))
        for row in _PRIORITIES
    )


def _frequent(stretches: Sequence[Stretch]) -> Frequent:
    """Which alarms came most often."""
    counts = Counter(row.subject for stretch in stretches for row in stretch.activations)
    ten = _counted(counts)[:_MOST_FREQUENT]
    return Frequent(ten, _share(sum(row.count for row in ten), counts.total()), len(counts))


def _nuisance(stretches: Sequence[Stretch]) -> Nuisance:
    """Which alarms tell nothing new."""
    chattering: Counter[str] = Counter()
    fleeting: Counter[str] = Counter()
    stale = []
    for stretch in stretches:
        times: defaultdict[str, list[int]] = defaultdict(list)
        for row in stretch.activations:
            times[row.subject].append(row.t_ns)
            fleeting[row.subject] += row.fled_ns is not None and row.fled_ns < FLEETING_BELOW_NS
        for subject, own in times.items():
            chattering[subject] += chatter(own)
        held = [row for row in stretch.shown if row.lasted_ns > STALE_ABOVE_NS]
        stale += [_standing_alarm(stretch, row) for row in held]
    worst = max((_stale_on_worst_day(stretch) for stretch in stretches), default=0)
    return Nuisance(_counted(chattering), _counted(fleeting), _longest_first(stale), worst)


def _stale_on_worst_day(stretch: Stretch) -> int:
    """Count the different stale alarms of the day that has most of them."""
    days: defaultdict[int, set[str]] = defaultdict(set)
    for row in stretch.shown:
        if row.lasted_ns > STALE_ABOVE_NS:
            first = (row.since_ns + STALE_ABOVE_NS - stretch.start_ns) // _DAY_NS
            last = (row.until_ns - 1 - stretch.start_ns) // _DAY_NS
            for day in range(first, last + 1):
                days[day].add(row.subject)
    return max((len(subjects) for subjects in days.values()), default=0)


def _standing(stretches: Sequence[Stretch]) -> Standing:
    """Which alarms stood."""
    rows = _longest_first(
        _standing_alarm(stretch, row) for stretch in stretches for row in stretch.standing
    )
    at_end = tuple(row for row in rows if not row.is_over)
    total_ns = sum(row.lasted_ns for row in rows)
    return Standing(at_end, rows[0] if rows else None, total_ns)


def _answers(stretches: Sequence[Stretch]) -> Answers:
    """How long alarms waited for somebody."""
    waited = sorted(row.waited_ns for stretch in stretches for row in stretch.answers)
    waiting = sum(not row.is_over for stretch in stretches for row in stretch.waiting)
    if not waited:
        return Answers(0, None, None, waiting)
    low, high = waited[(len(waited) - 1) // 2], waited[len(waited) // 2]
    return Answers(len(waited), (low + high) // 2, waited[-1], waiting)


def _inhibited(stretches: Sequence[Stretch]) -> Inhibited:
    """How often alarms were kept from being shown."""
    marks = _marks(stretches)
    return Inhibited(
        shelved=marks["shelved"],
        out_of_service=marks["out of service"],
        suppressed=marks["suppressed"],
        hidden=marks["hidden"],
    )


def _marks(stretches: Sequence[Stretch]) -> Counter[str]:
    """Count what is only counted."""
    return Counter(mark.what for stretch in stretches for mark in stretch.marks)


def _times(stretch: Stretch) -> list[int]:
    """Give the times of the activations, rising."""
    return [row.t_ns for row in stretch.activations]


def _bins(stretch: Stretch) -> list[int]:
    """Count the activations of each 10 min."""
    return counts_in_bins(_times(stretch), stretch.start_ns, stretch.end_ns)


def _share(part: int, whole: int) -> float | None:
    """Give part by whole; None where there is no whole."""
    return part / whole if whole else None


def _counted(counts: Counter[str]) -> tuple[AlarmCount, ...]:
    """Order counts, the largest first and those of one size by id; leave zeros out."""
    ordered = sorted(counts.items(), key=lambda row: (-row[1], row[0]))
    return tuple(AlarmCount(subject, count) for subject, count in ordered if count)


def _standing_alarm(stretch: Stretch, row: Held) -> StandingAlarm:
    """Say of which run it is."""
    return StandingAlarm(
        stretch.run, row.subject, row.priority, row.since_ns, row.lasted_ns, row.is_over
    )


def _longest_first(rows: Iterable[StandingAlarm]) -> tuple[StandingAlarm, ...]:
    """Order by how long, those of one length by begin and id."""
    return tuple(sorted(rows, key=lambda row: (-row.lasted_ns, row.since_ns, row.subject)))
