"""Quality of measured values: what the sensor's range and its loop current say of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from monitor.channels.draft import LARGEST, Draft
from monitor.channels.plan import CurrentLoop, Measured, PlatinumRtd, ThermocoupleK
from monitor.physics.current_loop import (
    HIGH_SATURATION_MA,
    LOW_SATURATION_MA,
    is_loop_failure,
    is_loop_saturated_high,
    is_loop_saturated_low,
)
from monitor.samples import FIRST_BAD, Bytes, Flags, Floats, Ints, Quality


class Judge:
    """Finds what is wrong with converted values.

    A loop current in saturation is a bound, not a fault: it must not blind a limit. So the
    sensor's range does not apply to it, nor where the range ends with the loop's own: there the
    current itself says when it leaves (3.9 mA of a loop that starts at 0 bar is a value a
    little below 0, not a broken sensor).
    """

    def __init__(self, measured: Sequence[Measured]) -> None:
        """Lay out the bounds of every column."""
        bounds = [_bounds(channel) for channel in measured]
        self._low: Floats = np.array([pair[0] for pair in bounds], dtype=np.float64)
        self._high: Floats = np.array([pair[1] for pair in bounds], dtype=np.float64)
        loops = [isinstance(channel.conversion, CurrentLoop) for channel in measured]
        self._is_loop: Flags = np.array(loops, dtype=np.bool_)
        self._low_ma = np.where(self._is_loop, LOW_SATURATION_MA, -np.inf)
        self._high_ma = np.where(self._is_loop, HIGH_SATURATION_MA, np.inf)
        self._at_low_ma: Bytes = _qualities([_at_low_current(one) for one in measured])
        self._at_high_ma: Bytes = _qualities([_at_high_current(one) for one in measured])
        self._no_number: Bytes = _qualities([_without_number(one) for one in measured])
        self._is_later: Flags = np.array([_is_compensated(one) for one in measured], np.bool_)
        overdue = [i for i, one in enumerate(measured) if one.is_calibration_overdue]
        self._overdue: Ints = np.array(overdue, dtype=np.int64)

    def judge_all(self, draft: Draft) -> None:
        """Judge every measured column; idle ones may get any result.

        Not thermocouples that still need the value of another channel.
        """
        width = self._low.size
        value = draft.grid.value[:, :width]
        lowest, highest = value.min(axis=0), value.max(axis=0)
        is_fine = (lowest >= self._low) & (highest <= self._high)
        is_fine &= draft.raw.min(axis=0) >= self._low_ma
        is_fine &= draft.raw.max(axis=0) <= self._high_ma
        is_fine |= self._is_later | (draft.grid.count[:width] == 0)
        if not is_fine.all():
            self.judge(draft, np.flatnonzero(~is_fine))
        if self._overdue.size:
            quality = draft.grid.quality[:, self._overdue]
            quality[quality == Quality.GOOD] = Quality.CALIBRATION_OVERDUE
            draft.grid.quality[:, self._overdue] = quality

    def judge(self, draft: Draft, columns: Ints) -> None:
        """Judge *columns* sample by sample; a sample that is bad already stays as it is."""
        grid = draft.grid
        value, before = grid.value[:, columns], grid.quality[:, columns]
        verdict = np.zeros(value.shape, dtype=np.uint8)
        verdict[(value < self._low[columns]) | (value > self._high[columns])] = (
            Quality.OUT_OF_RANGE
        )
        has_number = np.abs(value) <= LARGEST
        verdict = np.where(has_number, verdict, self._no_number[columns])
        if self._is_loop[columns].any():
            verdict = self._judge_current(draft.raw[:, columns], columns, verdict)
        quality = np.where(before >= FIRST_BAD, before, np.maximum(before, verdict))
        value[quality >= FIRST_BAD] = np.nan
        grid.value[:, columns] = value
        grid.quality[:, columns] = quality

    def _judge_current(self, raw: Floats, columns: Ints, verdict: Bytes) -> Bytes:
        """Let the loop current, where there is one, overrule *verdict*."""
        is_loop = self._is_loop[columns]
        is_low = is_loop & is_loop_saturated_low(raw)
        is_high = is_loop & is_loop_saturated_high(raw)
        verdict = np.where(is_low, self._at_low_ma[columns], verdict)
        verdict = np.where(is_high, self._at_high_ma[columns], verdict)
        fault = np.uint8(Quality.CURRENT_FAULT)
        return np.where(is_loop & is_loop_failure(raw), fault, verdict)


def _qualities(qualities: Sequence[Quality]) -> Bytes:
    """Give qualities as an array."""
    return np.array(qualities, dtype=np.uint8)


def _bounds(channel: Measured) -> tuple[float, float]:
    """Give the range that a channel's values are held against."""
    low, high, loop = channel.low, channel.high, channel.conversion
    if isinstance(loop, CurrentLoop):
        if low <= min(loop.at_4ma, loop.at_20ma):
            low = -LARGEST
        if high >= max(loop.at_4ma, loop.at_20ma):
            high = LARGEST
    return max(low, -LARGEST), min(high, LARGEST)


def _is_compensated(channel: Measured) -> bool:
    """Whether another channel gives the cold junction's temperature."""
    kind = channel.conversion
    return isinstance(kind, ThermocoupleK) and bool(kind.cold_junction_tag)


def _is_falling(channel: Measured) -> bool:
    """Whether a higher loop current means a lower value."""
    loop = channel.conversion
    return isinstance(loop, CurrentLoop) and loop.at_20ma < loop.at_4ma


def _at_low_current(channel: Measured) -> Quality:
    """Name saturation at a low current by the side on which the value lies."""
    return Quality.SATURATED_HIGH if _is_falling(channel) else Quality.SATURATED_LOW


def _at_high_current(channel: Measured) -> Quality:
    """Name saturation at a high current by the side on which the value lies."""
    return Quality.SATURATED_LOW if _is_falling(channel) else Quality.SATURATED_HIGH


def _without_number(channel: Measured) -> Quality:
    """Tell what it means that a conversion gives no number: a sensor's curve has ends."""
    is_curve = isinstance(channel.conversion, PlatinumRtd | ThermocoupleK)
    return Quality.OUT_OF_RANGE if is_curve else Quality.NOT_FINITE
