"""Samples against limits, without time: true, returned, in between, or bad."""

from __future__ import annotations

from collections.abc import Sequence
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from monitor.limits.plan import QUALITY_KINDS, Kind, Limit, Place
from monitor.samples import FIRST_BAD, FIRST_SPECIAL, Bytes, Floats, Ints, Quality

Seens = NDArray[np.int8]


class Seen(IntEnum):
    """What a limit sees in one sample."""

    RETURNED = -1
    BETWEEN = 0
    TRUE = 1
    BAD = 2


#: Readings come, and they are no measurement.
_FAULTS = (Quality.OUT_OF_RANGE, Quality.CURRENT_FAULT, Quality.NOT_FINITE)


def _by_quality(kind: Kind) -> Seens:
    """Give what a quality limit sees for each byte. Unlisted bad ones decide nothing."""
    seen = np.full(256, Seen.BETWEEN, dtype=np.int8)
    seen[:FIRST_BAD] = Seen.RETURNED
    faults = list(_FAULTS)
    if kind is Kind.STALE:
        seen[faults] = Seen.RETURNED
        seen[Quality.STALE] = Seen.TRUE
    else:
        seen[faults] = Seen.TRUE
    return seen


_STALE_SEEN = _by_quality(Kind.STALE)
_FAULT_SEEN = _by_quality(Kind.FAULT)


class Comparison:
    """The limits of a plan that have a column, as arrays, with the setpoints now in force.

    A low limit is a high limit of the negated value: one rule serves both.

    Attributes:
        column: (limits,) grid column of each limit.
        sign: (limits,) 1 where it is true above its setpoint, -1 where below.
        setpoint: (limits,) setpoint in force, NaN for quality kinds.
        deadband: (limits,) in the unit of what is compared.
    """

    def __init__(self, limits: Sequence[Limit], place: Place) -> None:
        """Lay the limits out as arrays."""
        self.column: Ints = np.array([limit.column for limit in limits], dtype=np.int64)
        self.sign: Floats = np.array([1.0 if limit.is_high else -1.0 for limit in limits])
        self.is_value = np.array([x.kind not in QUALITY_KINDS for x in limits], dtype=np.bool_)
        self.is_stale = np.array([x.kind is Kind.STALE for x in limits], dtype=np.bool_)
        self.is_once = np.array([limit.is_once for limit in limits], dtype=np.bool_)
        self.deadband: Floats = np.array([x.deadband for x in limits], dtype=np.float64)
        self.setpoint: Floats = setpoints_at(limits, place)
        self._has_once = bool(self.is_once.any())

    def see(self, chosen: Ints, value: Floats, quality: Bytes) -> Seens:
        """Compare samples with the limits *chosen*.

        Args:
            chosen: (n,) positions of limits.
            value: (rows, n) the value in each limit's column.
            quality: (rows, n) its quality byte.

        Returns:
            (rows, n) of :class:`Seen`.
        """
        sign = self.sign[chosen]
        upward = value * sign
        setpoint = self.setpoint[chosen] * sign
        # TRUE is 1 and RETURNED is -1; writing through masks takes three times as long.
        is_true = (upward > setpoint).view(np.int8)
        has_returned = (upward < setpoint - self.deadband[chosen]).view(np.int8)
        seen: Seens = is_true - has_returned
        if quality.size and quality.max() >= FIRST_SPECIAL:
            self._see_special(sign, quality, seen)
        self._see_quality_kinds(chosen, quality, seen)
        if self._has_once:
            # What has to come once has not come until it is seen.
            once = self.is_once[chosen]
            seen[:, once] = np.where(seen[:, once] == Seen.RETURNED, Seen.RETURNED, Seen.TRUE)
        return seen

    def see_one(self, i: int, value: Floats, quality: Bytes, *, is_special: bool) -> Seens:
        """Compare many samples with limit *i*.

        Args:
            i: Its position.
            value: (rows,) the value in its column.
            quality: (rows,) its quality byte.
            is_special: Whether any quality changes how limits are evaluated.

        Returns:
            (rows,) of :class:`Seen`, as :meth:`see` gives them.
        """
        if is_special or not self.is_value[i] or self.is_once[i]:
            return self.see(np.array([i]), value[:, None], quality[:, None])[:, 0]
        setpoint, deadband = float(self.setpoint[i]), float(self.deadband[i])
        if self.sign[i] > 0:
            is_true, has_returned = value > setpoint, value < setpoint - deadband
        else:
            is_true, has_returned = value < setpoint, value > setpoint + deadband
        seen: Seens = is_true.view(np.int8) - has_returned.view(np.int8)
        return seen

    def _see_special(self, sign: Floats, quality: Bytes, seen: Seens) -> None:
        """A saturated current is a one-sided bound; a bad value is not evaluated."""
        high = quality == Quality.SATURATED_HIGH
        low = quality == Quality.SATURATED_LOW
        seen[high | low] = Seen.BETWEEN
        seen[(high & (sign > 0)) | (low & (sign < 0))] = Seen.TRUE
        seen[quality >= FIRST_BAD] = Seen.BAD

    def _see_quality_kinds(self, chosen: Ints, quality: Bytes, seen: Seens) -> None:
        """Stale and fault limits look at the quality alone."""
        for where, table in (
            (self.is_stale[chosen], _STALE_SEEN),
            (~self.is_value[chosen] & ~self.is_stale[chosen], _FAULT_SEEN),
        ):
            columns = np.flatnonzero(where)
            if columns.size:
                seen[:, columns] = table[quality[:, columns]]


def setpoints_at(limits: Sequence[Limit], place: Place) -> Floats:
    """Give (limits,) setpoints that hold at *place*; NaN for kinds that compare nothing."""
    rows = [x.chosen_setpoint(place) if x.compares else np.nan for x in limits]
    return np.array(rows, dtype=np.float64)
