"""Rows of many channels over one step of data time, and what their quality bytes mean."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from drivers.reading import Block

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bytes = NDArray[np.uint8]
Flags = NDArray[np.bool_]


class Quality(IntEnum):
    """Quality of a value with its reason, in one byte. The greater, the worse.

    Below 0x40 good, below 0x80 uncertain, from 0x80 bad (the three words of OPC UA).
    From 0x60 on the limit engine must look at the quality, not at the value alone.
    """

    GOOD = 0x00
    CALIBRATION_OVERDUE = 0x40
    FORCED = 0x41
    INPUT_UNCERTAIN = 0x42
    #: Of several redundant sensors only one is left.
    LONE_SENSOR = 0x43
    #: The loop current saturates high: the true value is at least this.
    SATURATED_HIGH = 0x60
    #: The loop current saturates low: the true value is at most this.
    SATURATED_LOW = 0x61
    OUT_OF_RANGE = 0x80
    #: Loop current in a fault band of NAMUR NE 43.
    CURRENT_FAULT = 0x81
    LINK_LOST = 0x82
    STALE = 0x83
    NOT_FINITE = 0x84
    INPUT_BAD = 0x85
    #: An input of a computed channel is older than its stated largest skew.
    SKEWED = 0x86
    #: No value has come yet.
    WAITING = 0x87
    #: Kept by the broker, of unknown age.
    OLD = 0x88
    #: A window over the past is not covered yet.
    FILLING = 0x89
    #: Too few of the redundant sensors are left.
    TOO_FEW = 0x8A
    #: A value that was forced by hand is forced no more, and no reading has come since.
    RELEASED = 0x8B


FIRST_UNCERTAIN = 0x40
#: From here on a quality changes how limits are evaluated.
FIRST_SPECIAL = 0x60
FIRST_BAD = 0x80

#: One short phrase for each quality, as shown beside a value.
QUALITY_TEXT: dict[int, str] = {
    Quality.GOOD: "good",
    Quality.CALIBRATION_OVERDUE: "calibration overdue",
    Quality.FORCED: "forced by hand",
    Quality.INPUT_UNCERTAIN: "an input is uncertain",
    Quality.SATURATED_HIGH: "at or above sensor range",
    Quality.SATURATED_LOW: "at or below sensor range",
    Quality.OUT_OF_RANGE: "out of sensor range",
    Quality.CURRENT_FAULT: "loop current fault",
    Quality.LINK_LOST: "link lost",
    Quality.STALE: "stale",
    Quality.NOT_FINITE: "no finite result",
    Quality.INPUT_BAD: "an input is bad",
    Quality.SKEWED: "inputs too far apart in time",
    Quality.WAITING: "waiting for first value",
    Quality.OLD: "kept by the broker, age unknown",
    Quality.LONE_SENSOR: "only one of the redundant sensors left",
    Quality.FILLING: "its window is not covered yet",
    Quality.TOO_FEW: "too few of the redundant sensors left",
    Quality.RELEASED: "forced no more, no reading since",
}


@dataclass(slots=True)
class Grid:
    """All channels over (W0, W], time-major and padded.

    Column *c* owns rows ``0 .. count[c] - 1``, strictly rising in time. Rows from ``count[c]``
    on repeat the last row (or the held sample where the column got none), so that minima and
    maxima along axis 0 need no mask. Where ``count[c]`` is 0 only the padding exists.

    Attributes:
        t_ns: (rows, channels) int64.
        value: (rows, channels) float64, NaN where the quality is bad.
        quality: (rows, channels) uint8, see :class:`Quality`.
        count: (channels,) int64.
    """

    t_ns: Ints
    value: Floats
    quality: Bytes
    count: Ints


@dataclass(frozen=True, slots=True)
class Admitted:
    """A block as it was handed over.

    Attributes:
        block: The readings.
        late: (rows,) True for rows at or before the W of that moment: recorded, not
            evaluated. None when no row is late.
    """

    block: Block
    late: Flags | None = None
