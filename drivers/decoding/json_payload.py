"""Turns the payload of an MQTT message into rows of numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import msgspec
import numpy as np
from numpy.typing import NDArray

from drivers.decoding.json_pointer import MISSING, parse_pointer, value_at
from drivers.decoding.numbers import number_in

EMPTY = "empty array"
BAD_TIMES = "times do not fit the values"
MISSING_POINTER = "pointer leads nowhere"
NOT_A_NUMBER = "not a number"
NOT_JSON = "not JSON"
TOO_LONG = "payload too long"

#: How many ns each unit of device time has.
NS_OF_UNIT = {"s": 1_000_000_000, "ms": 1_000_000, "us": 1_000, "ns": 1}
#: Device times are ns since the Unix epoch below this: the year 2200.
_LATEST_NS = 7_258_118_400 * 1_000_000_000
#: The samples of one message span less than this, in ns.
_LONGEST_PACK_NS = 3600 * 1_000_000_000

_JSON = msgspec.json.Decoder()


@dataclass(frozen=True, slots=True)
class PayloadLayout:
    """How the numbers sit in a payload.

    Attributes:
        pointers: Pointer to each value, or to an array of values; empty when the payload is
            one plain number.
        times: Pointer to the device time of the value or to the array of times; None if the
            device sends none.
        unit_ns: Unit of the device's times, in ns.
        max_len: Longest payload to look at, in bytes.
    """

    pointers: tuple[str, ...] = ()
    times: str | None = None
    unit_ns: int = NS_OF_UNIT["s"]
    max_len: int = 1_000_000


@dataclass(slots=True)
class Samples:
    """What one payload gave.

    Attributes:
        values: (rows, columns) float64; NaN where a value is missing or no number.
        device_ns: (rows,) device times, strictly rising; None where none are sent.
        faults: What could not be used: how many, by reason.
    """

    values: NDArray[np.float64]
    device_ns: NDArray[np.int64] | None = None
    faults: dict[str, int] = field(default_factory=dict)


class PayloadDecoder:
    """Reads payloads of one layout."""

    def __init__(self, layout: PayloadLayout) -> None:
        """Take the pointers apart once.

        Raises:
            ValueError: A pointer is malformed.
        """
        self._pointers = [parse_pointer(pointer) for pointer in layout.pointers]
        self._times = None if layout.times is None else parse_pointer(layout.times)
        self._unit_ns = layout.unit_ns
        self._max_len = layout.max_len
        self._columns = max(1, len(self._pointers))

    def decode(self, payload: bytes) -> Samples:
        """Read one payload. A payload of which nothing can be used gives no row."""
        if len(payload) > self._max_len:
            return self._nothing(TOO_LONG)
        if not self._pointers:
            value = number_in(payload)
            return self._nothing(NOT_A_NUMBER) if math.isnan(value) else _one(value)
        try:
            document = _JSON.decode(payload)
        except (ValueError, RecursionError) as error:
            # msgspec tells a number that no float holds from text that is no JSON.
            is_range = "out of range" in str(error)
            return self._nothing(NOT_A_NUMBER if is_range else NOT_JSON)
        faults: dict[str, int] = {}
        columns = [self._column(document, tokens, faults) for tokens in self._pointers]
        rows = max(map(len, columns))
        if rows == 0:
            return Samples(np.empty((0, self._columns)), None, faults)
        values = _side_by_side(columns, rows, faults)
        return self._timed(document, values, faults)

    def _nothing(self, why: str) -> Samples:
        """Give no row, and the reason."""
        return Samples(np.empty((0, self._columns)), None, {why: 1})

    def _column(
        self, document: object, tokens: tuple[str, ...], faults: dict[str, int]
    ) -> list[float]:
        """Read the value or values at a pointer; none when there is no number at all."""
        found = value_at(document, tokens)
        if found is MISSING or found == []:
            what = MISSING_POINTER if found is MISSING else EMPTY
            faults[what] = faults.get(what, 0) + 1
            return []
        column = [_float_of(item) for item in found] if isinstance(found, list) else None
        column = [_float_of(found)] if column is None else column
        if wrong := sum(map(math.isnan, column)):
            faults[NOT_A_NUMBER] = faults.get(NOT_A_NUMBER, 0) + wrong
        return [] if wrong == len(column) else column

    def _timed(
        self, document: object, values: NDArray[np.float64], faults: dict[str, int]
    ) -> Samples:
        """Put the device's times to the rows; no row when they do not fit."""
        if self._times is None:
            return Samples(values, None, faults)
        found = value_at(document, self._times)
        if found is MISSING:
            faults[MISSING_POINTER] = faults.get(MISSING_POINTER, 0) + 1
            return Samples(values[:0], None, faults)
        times = _times_ns(found if isinstance(found, list) else [found], self._unit_ns)
        if times is None or len(times) != len(values):
            faults[BAD_TIMES] = faults.get(BAD_TIMES, 0) + 1
            return Samples(values[:0], None, faults)
        return Samples(values, times, faults)


def _one(value: float) -> Samples:
    """Give one row of one value."""
    return Samples(np.array([[value]]))


def _float_of(item: object) -> float:
    """Give a JSON number as a float; NaN for text, true, null and everything else."""
    if isinstance(item, bool) or not isinstance(item, int | float):
        return math.nan
    try:
        value = float(item)
    except OverflowError:
        return math.nan
    return value if math.isfinite(value) else math.nan


def _side_by_side(
    columns: Sequence[list[float]], rows: int, faults: dict[str, int]
) -> NDArray[np.float64]:
    """Put columns beside each other; one of another length is left out and counted."""
    values = np.full((rows, len(columns)), np.nan)
    for place, column in enumerate(columns):
        if len(column) == rows:
            values[:, place] = column
        elif column:
            faults["arrays of different lengths"] = 1
    return values


def _times_ns(items: list[object], unit_ns: int) -> NDArray[np.int64] | None:
    """Read device times; None unless they are numbers that rise strictly, in a sane range."""
    times = [_time_ns(item, unit_ns) for item in items]
    if not times or min(times) < 0 or max(times) > _LATEST_NS:
        return None
    result = np.array(times, np.int64)
    if (np.diff(result) <= 0).any() or times[-1] - times[0] > _LONGEST_PACK_NS:
        return None
    return result


def _time_ns(item: object, unit_ns: int) -> int:
    """Read one device time, exactly where it is an integer; -1 where it is no number."""
    if isinstance(item, int) and not isinstance(item, bool):
        return item * unit_ns
    value = _float_of(item)
    if math.isnan(value) or abs(value) > _LATEST_NS:
        return -1
    # Apart, so that the fraction of a large number of seconds is not rounded with it.
    whole = math.floor(value)
    return whole * unit_ns + round((value - whole) * unit_ns)
