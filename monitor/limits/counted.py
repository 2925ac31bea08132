"""Limits by n of the last m samples, instead of a delay."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from monitor.limits.compare import Seen
from monitor.limits.plan import Limit
from monitor.samples import Bytes, Floats, Ints

#: When it was, its value and its quality.
Shown = tuple[int, float, int]


class Counted:
    """What the last samples of each such limit were: beyond the setpoint or not.

    A sample that is bad is not counted, and nothing that is counted goes with it. While n of
    the last m are beyond, the limit sees true; else it sees returned where the newest sample
    has returned, and in between otherwise.
    """

    def __init__(self, limits: Sequence[Limit]) -> None:
        """Start with nothing counted."""
        self._needs = {i: x.n_of_m for i, x in enumerate(limits) if x.n_of_m[1]}
        #: Time, value and quality of those beyond; None for the others. The newest is last.
        self._recent: dict[int, list[Shown | None]] = {i: [] for i in self._needs}

    def __contains__(self, i: int) -> bool:
        """Whether limit *i* counts."""
        return i in self._needs

    def __bool__(self) -> bool:
        """Whether any limit counts."""
        return bool(self._needs)

    def is_blank(self, i: int) -> bool:
        """Whether none of the last samples was beyond."""
        return not any(self._recent[i])

    def forget(self, i: int) -> None:
        """Begin to count anew."""
        self._recent[i].clear()

    def see(self, i: int, seen: int, shown: Shown) -> tuple[int, Shown]:
        """Count a sample.

        Args:
            i: The limit.
            seen: What the comparison saw.
            shown: Time, value and quality of the sample.

        Returns:
            What the limit sees, and the sample with which that began: the first of the n.
        """
        if seen == Seen.BAD:
            return seen, shown
        needed, window = self._needs[i]
        recent = self._recent[i]
        recent.append(shown if seen == Seen.TRUE else None)
        del recent[:-window]
        beyond = [one for one in recent if one is not None]
        if len(beyond) >= needed:
            return Seen.TRUE, beyond[0]
        return (Seen.BETWEEN if seen == Seen.TRUE else seen), shown

    def state(self) -> dict[str, Ints | Floats | Bytes]:
        """Give what must outlive a restart, as arrays of one row a counted sample.

        What can count no more is left out, so that how the input was cut leaves no trace.
        """
        rows = []
        for i, recent in self._recent.items():
            first = next((k for k, one in enumerate(recent) if one is not None), len(recent))
            rows += [(i, one) for one in recent[first:]]
        blank = (0, np.nan, 0)
        return {
            "counted_limit": np.array([i for i, _ in rows], dtype=np.int64),
            "counted_is_beyond": np.array([one is not None for _, one in rows], dtype=np.uint8),
            "counted_ns": np.array([(one or blank)[0] for _, one in rows], dtype=np.int64),
            "counted_value": np.array([(one or blank)[1] for _, one in rows], dtype=np.float64),
            "counted_quality": np.array([(one or blank)[2] for _, one in rows], dtype=np.uint8),
        }

    def load_state(self, state: dict[str, Ints | Floats | Bytes]) -> None:
        """Take back what :meth:`state` gave."""
        names = ("limit", "is_beyond", "ns", "value", "quality")
        columns = (state[f"counted_{name}"].tolist() for name in names)
        for i, is_beyond, t_ns, value, quality in zip(*columns, strict=True):
            self._recent[i].append((t_ns, value, quality) if is_beyond else None)
