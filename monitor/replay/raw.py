"""What instruments sent, by channel and time: the raw side of the tables."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from monitor.channels.plan import Measured
from monitor.record.frame import Frame
from monitor.samples import Admitted, Flags, Floats, Ints

_NO_TIMES = np.zeros(0, np.int64)
_NO_NUMBERS = np.zeros(0, np.float64)


@dataclass(slots=True)
class _Pieces:
    """Readings of one signal, as they came."""

    t_ns: list[Ints] = field(default_factory=list)
    raw: list[Floats] = field(default_factory=list)
    late_ns: list[Ints] = field(default_factory=list)
    late_raw: list[Floats] = field(default_factory=list)

    def add(self, t_ns: Ints, raw: Floats, late: Flags) -> None:
        """Take rows that say something."""
        self.t_ns.append(t_ns[~late])
        self.raw.append(raw[~late])
        if late.any():
            self.late_ns.append(t_ns[late])
            self.late_raw.append(raw[late])


class RawRows:
    """Holds readings until the step that evaluates them has come.

    Args:
        measured: The measured channels of the plan.
    """

    def __init__(self, measured: Sequence[Measured]) -> None:
        """Hold nothing."""
        self._signals = {row.tag: (row.instrument, row.signal) for row in measured}
        self._pieces: defaultdict[tuple[str, str], _Pieces] = defaultdict(_Pieces)
        self._wanted = set(self._signals.values())

    def add(self, frames: Iterable[Frame]) -> None:
        """Take the readings of some steps."""
        for frame in frames:
            for part in frame.admitted:
                self._add(part)

    def at(self, tag: str, t_ns: Ints) -> Floats:
        """Give what was sent at some times; NaN where nothing was.

        Of two readings of one time the first counts, as in the pipeline.
        """
        found = np.full(len(t_ns), np.nan)
        times, raw = self._sorted(tag)
        if not len(times):
            return found
        at = np.minimum(np.searchsorted(times, t_ns), len(times) - 1)
        is_there = times[at] == t_ns
        found[is_there] = raw[at[is_there]]
        return found

    def late(self, tag: str) -> tuple[Ints, Floats]:
        """Give readings that came too late to be evaluated."""
        pieces = self._pieces.get(self._signals.get(tag, ("", "")))
        if pieces is None or not pieces.late_ns:
            return _NO_TIMES, _NO_NUMBERS
        return np.concatenate(pieces.late_ns), np.concatenate(pieces.late_raw)

    def forget(self, until_ns: int) -> None:
        """Drop what was evaluated or late; rows after *until_ns* wait for a later step."""
        for pieces in self._pieces.values():
            times = np.concatenate(pieces.t_ns) if pieces.t_ns else _NO_TIMES
            raw = np.concatenate(pieces.raw) if pieces.raw else _NO_NUMBERS
            later = times > until_ns
            pieces.t_ns, pieces.raw = [times[later]], [raw[later]]
            pieces.late_ns, pieces.late_raw = [], []

    def _add(self, part: Admitted) -> None:
        """Take the readings of a block."""
        block = part.block
        late = np.zeros(len(block.t_ns), np.bool_) if part.late is None else part.late
        for column, signal in enumerate(block.signals):
            if (block.instrument, signal) in self._wanted:
                raw = block.values[:, column]
                has_said = ~np.isnan(raw)
                pieces = self._pieces[block.instrument, signal]
                pieces.add(block.t_ns[has_said], raw[has_said], late[has_said])

    def _sorted(self, tag: str) -> tuple[Ints, Floats]:
        """Give what is held of a channel, by time."""
        pieces = self._pieces.get(self._signals.get(tag, ("", "")))
        if pieces is None or not pieces.t_ns:
            return _NO_TIMES, _NO_NUMBERS
        times, raw = np.concatenate(pieces.t_ns), np.concatenate(pieces.raw)
        order = np.argsort(times, kind="stable")
        return times[order], raw[order]
