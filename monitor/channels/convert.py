"""Raw numbers to values in the channels' units, all channels of one kind at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from monitor.channels.plan import (
    CurrentLoop,
    Linear,
    Measured,
    PlatinumRtd,
    Polynomial,
    ThermocoupleK,
)
from monitor.physics.current_loop import (
    FAILURE_HIGH_MA,
    FAILURE_LOW_MA,
    SATURATED_HIGH_MA,
    SATURATED_LOW_MA,
)
from monitor.physics.rtd import degc_from_platinum_ohm
from monitor.samples import FIRST_BAD, Bytes, Flags, Floats, Ints, Quality


class Converter:
    """Converts the measured columns of a grid.

    Thermocouples are left for the stage, which knows the cold junction's values.
    """

    def __init__(self, measured: Sequence[Measured]) -> None:
        """Sort the channels by kind of conversion."""
        self._linear = _columns(measured, Linear)
        linear = [m.conversion for m in measured if isinstance(m.conversion, Linear)]
        self._gain = np.array([c.gain for c in linear], dtype=np.float64)
        self._offset = np.array([c.offset for c in linear], dtype=np.float64)
        loops = [m.conversion for m in measured if isinstance(m.conversion, CurrentLoop)]
        self._loop = _columns(measured, CurrentLoop)
        self._at_4ma = np.array([c.at_4ma for c in loops], dtype=np.float64)
        self._per_ma = np.array([(c.at_20ma - c.at_4ma) / 16 for c in loops])
        rtds = [m.conversion for m in measured if isinstance(m.conversion, PlatinumRtd)]
        self._rtd = _columns(measured, PlatinumRtd)
        self._r0_ohm = np.array([c.r0_ohm for c in rtds], dtype=np.float64)
        self._polynomials = [
            (i, m.conversion.coefficients)
            for i, m in enumerate(measured)
            if isinstance(m.conversion, Polynomial)
        ]
        # A loop current says by itself where it leaves its range; see NE 43.
        is_loop = [isinstance(m.conversion, CurrentLoop) for m in measured]
        ranges = [(m.low, m.high) for m in measured]
        self._low = np.array(
            [-np.inf if x else r[0] for x, r in zip(is_loop, ranges, strict=True)]
        )
        self._high = np.array(
            [np.inf if x else r[1] for x, r in zip(is_loop, ranges, strict=True)]
        )
        self._has_range = bool(np.isfinite(self._low).any() or np.isfinite(self._high).any())
        self._overdue: Flags = np.array(
            [m.is_calibration_overdue for m in measured], dtype=np.bool_
        )

    def convert(self, raw: Floats, value: Floats) -> Bytes:
        """Convert (rows, measured) *raw* numbers into *value*; give the quality of each.

        Values whose quality is bad are left as they are: :meth:`finish` clears them.
        """
        quality = np.zeros(raw.shape, dtype=np.uint8)
        if self._linear.size:
            value[:, self._linear] = raw[:, self._linear] * self._gain + self._offset
        if self._loop.size:
            self._convert_loops(raw, value, quality)
        if self._rtd.size:
            value[:, self._rtd] = degc_from_platinum_ohm(raw[:, self._rtd], self._r0_ohm)
        for column, coefficients in self._polynomials:
            value[:, column] = _horner(raw[:, column], coefficients)
        return quality

    def finish(self, value: Floats, quality: Bytes) -> None:
        """Judge range and finiteness; clear bad values; mark overdue calibrations."""
        with np.errstate(invalid="ignore"):
            if self._has_range:
                is_out = (value < self._low) | (value > self._high)
                quality[is_out & (quality < FIRST_BAD)] = Quality.OUT_OF_RANGE
        is_finite = np.isfinite(value)
        if not is_finite.all():
            quality[~is_finite & (quality < FIRST_BAD)] = Quality.OUT_OF_RANGE
        if self._overdue.any():
            quality[(quality == Quality.GOOD) & self._overdue] = Quality.CALIBRATION_OVERDUE
        is_bad = quality >= FIRST_BAD
        if is_bad.any():
            value[is_bad] = np.nan

    def _convert_loops(self, raw: Floats, value: Floats, quality: Bytes) -> None:
        """Loop currents; saturation is named by the side of the value, not of the current."""
        ma = raw[:, self._loop]
        value[:, self._loop] = self._at_4ma + (ma - 4.0) * self._per_ma
        is_normal = (ma >= SATURATED_LOW_MA) & (ma <= SATURATED_HIGH_MA)
        if is_normal.all():
            return
        judged = np.zeros(ma.shape, dtype=np.uint8)
        is_rising = self._per_ma > 0
        for is_beyond, is_high in (
            (ma < SATURATED_LOW_MA, ~is_rising),
            (ma > SATURATED_HIGH_MA, is_rising),
        ):
            judged[is_beyond & is_high] = Quality.SATURATED_HIGH
            judged[is_beyond & ~is_high] = Quality.SATURATED_LOW
        judged[(ma <= FAILURE_LOW_MA) | (ma >= FAILURE_HIGH_MA)] = Quality.CURRENT_FAULT
        quality[:, self._loop] = judged


def _columns(measured: Sequence[Measured], kind: type) -> Ints:
    """Give the columns whose conversion is of *kind*."""
    found = [i for i, m in enumerate(measured) if isinstance(m.conversion, kind)]
    return np.array(found, dtype=np.int64)


def _horner(raw: Floats, coefficients: Sequence[float]) -> Floats:
    """Evaluate a polynomial, lowest coefficient first."""
    value = np.full(raw.shape, coefficients[-1])
    for coefficient in reversed(coefficients[:-1]):
        value = value * raw + coefficient
    return value


def thermocouples(measured: Sequence[Measured]) -> list[tuple[int, ThermocoupleK]]:
    """Give the thermocouple channels: (column, conversion)."""
    return [
        (i, m.conversion)
        for i, m in enumerate(measured)
        if isinstance(m.conversion, ThermocoupleK)
    ]
