"""Gives each row of one read a time of its own."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]

#: For ``last_ns`` when there is no row before.
NEVER_NS = -(2**62)


def rising_stamps(arrival_ns: int, last_ns: int, before_ns: Ints) -> Ints:
    """Stamp the rows that arrived together, in ns of data time.

    Where the rows do not fit between the row before and the arrival, the whole pattern is
    squeezed evenly. Stamps rise strictly and lie after *last_ns*. None is later than the
    arrival, save that *n* rows less than *n* ns after *last_ns* (a clock that stands still)
    end at ``last_ns + n``.

    Args:
        arrival_ns: When the rows arrived.
        last_ns: The stamp of the row before; :data:`NEVER_NS` if there is none.
        before_ns: (rows,) how long before the arrival each row was made, 0 or more. Where
            that does not fall from row to row, the least change that makes it fall is made.
    """
    rows = len(before_ns)
    if rows == 1 and arrival_ns - int(before_ns[0]) > last_ns:
        return arrival_ns - before_ns
    steps = np.arange(rows, dtype=np.int64)
    wanted = arrival_ns - _squeezed(before_ns, arrival_ns - last_ns)
    # A sequence rises strictly when it does not fall after 0, 1, 2, ... were taken off.
    rising = np.maximum.accumulate(wanted - steps) + steps
    no_later: Ints = np.minimum(rising, arrival_ns - (rows - 1) + steps)
    stamps: Ints = np.maximum(no_later, last_ns + 1 + steps)
    return stamps


def evenly_before_ns(rows: int, spacing_ns: int) -> Ints:
    """Give how long before the last row each of evenly spaced rows was made, in ns."""
    return np.arange(rows - 1, -1, -1, dtype=np.int64) * spacing_ns


def _squeezed(before_ns: Ints, room_ns: int) -> Ints:
    """Shrink a pattern so that its longest time fits into the room since the row before."""
    longest_ns = int(before_ns.max(initial=0))
    if longest_ns < room_ns or longest_ns == 0:
        return before_ns
    rows = len(before_ns)
    # One n-th of the room stays free before the first of n rows, as between the others.
    fitting_ns = max(room_ns, 0) * (rows - 1) // rows
    squeezed_ns: Ints = np.rint(before_ns * (fitting_ns / longest_ns)).astype(np.int64)
    return squeezed_ns
