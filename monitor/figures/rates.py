"""How dense alarms came: counts in bins and windows of 10 min, floods, chatter.

Every bin and window holds its first instant and not its last: two activations exactly 10 min
apart are never in one.

Source:
    ANSI/ISA-18.2-2016, 16.4.2 to 16.4.6, by secondary texts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

NS_PER_S = 1_000_000_000
WINDOW_NS = 600 * NS_PER_S
#: More than so many in 10 min begin a flood, fewer than so many end it.
FLOOD_ABOVE = 10
FLOOD_BELOW = 5
CHATTER_COUNT = 3
CHATTER_NS = 60 * NS_PER_S


@dataclass(frozen=True, slots=True)
class Flood:
    """More alarms than people can follow.

    Attributes:
        run: Name of the run.
        since_ns: Begin of the first 10 min with more than :data:`FLOOD_ABOVE`.
        until_ns: Begin of the first 10 min after that with fewer than :data:`FLOOD_BELOW`, or
            the end of the data.
        activations: How many came.
        is_over: Whether it ended before the data.
    """

    run: str
    since_ns: int
    until_ns: int
    activations: int
    is_over: bool


def counts_in_bins(times_ns: Sequence[int], start_ns: int, end_ns: int) -> list[int]:
    """Count times in bins of 10 min that follow each other from *start_ns*.

    The last bin is shorter when the time up to *end_ns* does not fill it. A time at *end_ns*
    itself counts in the last bin.
    """
    bins = max(-((start_ns - end_ns) // WINDOW_NS), 1 if times_ns else 0)
    counts = [0] * bins
    for t_ns in times_ns:
        counts[min((t_ns - start_ns) // WINDOW_NS, bins - 1)] += 1
    return counts


def most_in_window(times_ns: Sequence[int], width_ns: int) -> int:
    """Give the largest number of times that lie in any window of *width_ns*.

    Args:
        times_ns: Rising.
        width_ns: Width of the window, in ns.
    """
    first = most = 0
    for number, t_ns in enumerate(times_ns, 1):
        while t_ns - times_ns[first] >= width_ns:
            first += 1
        most = max(most, number - first)
    return most


def floods(run: str, counts: Sequence[int], start_ns: int, end_ns: int) -> list[Flood]:
    """Find floods among the counts of bins that begin at *start_ns*.

    A last bin that is shorter than 10 min can begin a flood and never ends one: it is too
    short to say that fewer than five came.
    """
    found = []
    since = None
    for number, count in enumerate(counts):
        begin_ns = start_ns + number * WINDOW_NS
        is_whole = begin_ns + WINDOW_NS <= end_ns
        if since is None and count > FLOOD_ABOVE:
            since = number
        elif since is not None and count < FLOOD_BELOW and is_whole:
            came = sum(counts[since:number])
            found.append(Flood(run, start_ns + since * WINDOW_NS, begin_ns, came, is_over=True))
            since = None
    if since is not None:
        came = sum(counts[since:])
        found.append(Flood(run, start_ns + since * WINDOW_NS, end_ns, came, is_over=False))
    return found


def chatter(times_ns: Sequence[int]) -> int:
    """Count the times that lie in any window of 1 min with at least three of them.

    Args:
        times_ns: Of one alarm, rising.
    """
    chattering: set[int] = set()
    for first in range(len(times_ns) - CHATTER_COUNT + 1):
        last = first + CHATTER_COUNT - 1
        if times_ns[last] - times_ns[first] < CHATTER_NS:
            chattering.update(range(first, last + 1))
    return len(chattering)
