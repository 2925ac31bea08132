"""Inputs of different rates on the rows of one of them: each at its last sample until then."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.channels.draft import Draft
from monitor.samples import Bytes, Floats, Ints


@dataclass(frozen=True, slots=True)
class Aligned:
    """An input's samples as they stand at each row of the clock; arrays of (rows,).

    Attributes:
        value: Value of the last sample at or before the row's time.
        quality: Its quality.
        age_ns: How long before the row it was; None where the rows are the very same.
    """

    value: Floats
    quality: Bytes
    age_ns: Ints | None


def aligned(draft: Draft, column: int, clock: int) -> Aligned:
    """Give *column* on the rows of *clock*, both already filled."""
    grid = draft.grid
    if draft.same_rows[column] == draft.same_rows[clock]:
        return Aligned(grid.value[:, column], grid.quality[:, column], None)
    held, n = draft.held, int(grid.count[column])
    # The newest sample from before the step stands in front of the rows of this one.
    t_ns = np.append(held.t_ns[column], grid.t_ns[:n, column])
    value = np.append(held.value[column], grid.value[:n, column])
    quality = np.append(held.quality[column], grid.quality[:n, column])
    clock_ns = grid.t_ns[:, clock]
    last = np.searchsorted(t_ns[1:], clock_ns, side="right")
    return Aligned(value[last], quality[last], clock_ns - t_ns[last])
