"""Where the names of limits stand in a chart: on their line, and clear of the curves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from monitor.display.state.axis import Range
from monitor.display.state.charts import LimitLine
from monitor.display.state.severity import Severity
from monitor.display.state.trace import Line

#: Height of a line of text in a chart, in pixels.
NAME_PX = 17
#: Width of a letter, of a bold one, and the room to the edge, in pixels.
_LETTER_PX, _BOLD_PX, _EDGE_PX = 8.0, 9.0, 4.0


@dataclass(frozen=True, slots=True)
class LimitName:
    """A limit with its name, *left* and *top* pixels from the corner of the drawing.

    *is_below*: it stands below its line, not above.
    """

    limit: LimitLine
    is_below: bool
    left: float
    top: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """What names are written on.

    Attributes:
        shown: Range of the value axis.
        span_s: Length of the time axis.
        width_px: Width of the drawing.
        height_px: Its height.
        lines: Curves that must not run through a name.
    """

    shown: Range
    span_s: float
    width_px: float
    height_px: float
    lines: tuple[Line, ...] = ()


@dataclass(frozen=True, slots=True)
class _Box:
    """A stretch of the drawing, in pixels from its top left corner."""

    left: float
    top: float
    width: float

    def meets(self, other: _Box) -> bool:
        """Tell whether two names would run into each other."""
        apart = self.left >= other.left + other.width or other.left >= self.left + self.width
        return not apart and abs(self.top - other.top) < NAME_PX


def limit_names(
    limits: Sequence[LimitLine], sheet: Sheet, before: Sequence[LimitName] = ()
) -> tuple[LimitName, ...]:
    """Choose where the names of limits can be read: active ones first.

    That of an active limit may stand at the top or the bottom of the drawing: its colour says
    which line it belongs to. A name without a free place is left out.

    Args:
        limits: All limits of a chart.
        sheet: What they are written on.
        before: Where names stood until now: there they stay while that is free.
    """
    if not sheet.shown.width > 0:
        return ()
    chosen: list[LimitName] = []
    taken: list[_Box] = []
    stood = {name.limit.text: name for name in before}
    heights = {limit.at: _line_px(limit, sheet) for limit in limits}
    for limit in sorted(limits, key=lambda one: one.severity is Severity.CALM):
        if not sheet.shown.low <= limit.at <= sheet.shown.high:
            continue
        places = list(_places(limit, sheet, stood.get(limit.text)))
        free = [one for one in places if not any(one[1].meets(box) for box in taken)]
        others = [px for at, px in heights.items() if at != limit.at]
        clear = next((one for one in free if not _is_crossed(one[1], sheet, others)), None)
        if clear is not None:
            chosen.append(clear[0])
            taken.append(clear[1])
    return tuple(chosen)


def _places(
    limit: LimitLine, sheet: Sheet, stood: LimitName | None
) -> Iterator[tuple[LimitName, _Box]]:
    """Give the places for a name, the best first: where it stood, left, right, middle."""
    letter = _LETTER_PX if limit.severity is Severity.CALM else _BOLD_PX
    width = len(limit.text) * letter
    line_px = _line_px(limit, sheet)
    right = max(_EDGE_PX, sheet.width_px - width - _EDGE_PX)
    tops = {False: line_px - NAME_PX, True: line_px}
    sides = [(left, below) for left in (_EDGE_PX, right, right / 2) for below in tops]
    if stood is not None:
        sides.insert(0, (stood.left, stood.is_below))
    spots = [(left, tops[below]) for left, below in sides]
    if limit.severity is not Severity.CALM:
        spots += [(_EDGE_PX, 0.0), (_EDGE_PX, sheet.height_px - NAME_PX)]
    for left, top in spots:
        if 0 <= top <= sheet.height_px - NAME_PX:
            name = LimitName(limit, top >= line_px, left, top)
            yield name, _Box(left, top, width)


def _line_px(limit: LimitLine, sheet: Sheet) -> float:
    """Give the height of a limit's line, from the top of the drawing."""
    return sheet.height_px * (sheet.shown.high - limit.at) / sheet.shown.width


def _is_crossed(box: _Box, sheet: Sheet, others: Sequence[float]) -> bool:
    """Tell whether a curve, or the line of another limit, runs through a box."""
    if any(_EDGE_PX < px - box.top < NAME_PX - _EDGE_PX for px in others):
        return True
    s_per_px = sheet.span_s / max(1.0, sheet.width_px)
    start = box.left * s_per_px - sheet.span_s
    end = start + box.width * s_per_px
    per_px = sheet.shown.width / max(1.0, sheet.height_px)
    high = sheet.shown.high - box.top * per_px
    low = high - NAME_PX * per_px
    return any(_runs_through(line, start, end, low, high) for line in sheet.lines)


def _runs_through(line: Line, start: float, end: float, low: float, high: float) -> bool:
    """Tell whether a curve has a piece between two times and two values."""
    first = max(0, int(np.searchsorted(line.x_s, start)) - 1)
    y = line.y[first : int(np.searchsorted(line.x_s, end)) + 1]
    if y.size < 2:
        return bool(y.size) and low <= float(y[0]) <= high
    # A gap is NaN and compares as false: nothing is drawn there.
    bottom, top = np.minimum(y[:-1], y[1:]), np.maximum(y[:-1], y[1:])
    return bool(np.any((bottom <= high) & (top >= low)))
