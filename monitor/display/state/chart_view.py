"""One chart from frame to frame: remembers what need not be worked out again."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.axis import Range, time_ticks, value_ticks
from monitor.display.state.charts import (
    ChartPlan,
    EndLabel,
    LimitLine,
    end_labels,
    held_labels,
    limit_lines,
    shown_range,
)
from monitor.display.state.limit_names import LimitName, Sheet, limit_names
from monitor.display.state.model import Model
from monitor.display.state.rows import ChannelRow
from monitor.display.state.severity import Severity
from monitor.display.state.text import NS, clock_text
from monitor.display.state.trace import Line, Trace, Window

Ticks = tuple[tuple[float, str], ...]
_PX_PER_TIME_TICK = 90
#: Narrower than this, a time of day would run into its neighbour on the axis.
_CLOCK_COLUMNS = 200
_PX_PER_VALUE_TICK = 26
#: Names of limits are placed anew when the curves have moved by so small a part of the chart.
_STEPS_PER_SPAN = 60


@dataclass(frozen=True, slots=True, eq=False)
class ChartFrame:
    """All that a chart draws. Unchanged parts are the very same objects as before.

    Attributes:
        lines: One for each channel of the plan.
        span_s: Length of the time axis in s; it runs from minus this to 0.
        shown: Range of the value axis.
        time_ticks: Places in s and labels.
        value_ticks: Places and labels.
        limits: Lines across the chart.
        names: Their names, where they can be read.
        labels: Tag and value at the right end of each line.
    """

    lines: tuple[Line, ...]
    span_s: float
    shown: Range
    time_ticks: Ticks
    value_ticks: Ticks
    limits: tuple[LimitLine, ...]
    names: tuple[LimitName, ...]
    labels: tuple[EndLabel, ...]


class ChartView:
    """Makes the frames of one chart."""

    def __init__(self, plan: ChartPlan) -> None:
        """Start with nothing drawn."""
        self.plan = plan
        self._traces = [Trace() for _ in plan.channels]
        self._shown: Range | None = None
        self._was_close = False
        self._rows: tuple[ChannelRow, ...] | None = None
        self._limits: tuple[LimitLine, ...] = ()
        self._labels: tuple[EndLabel, ...] = ()
        self._names: tuple[LimitName, ...] = ()
        self._names_key: tuple[object, ...] = ()
        self._ticks: tuple[tuple[object, ...], Ticks, Ticks] | None = None

    def frame(
        self,
        model: Model,
        window: Window,
        rows: tuple[ChannelRow, ...],
        *,
        height_px: int,
        is_close: bool,
        is_held: bool = False,
    ) -> ChartFrame:
        """Work out what to draw.

        Args:
            model: The run.
            window: Stretch of time and columns of pixels.
            rows: Rows of the channel table, for the labels.
            height_px: Height of the drawing, for how many ticks there is room.
            is_held: The window is of the past: labels tell its right end, not the present.
            is_close: Fit the value axis to the lines alone, not to the limits as well.
        """
        lines = tuple(
            trace.line(model.series[number], window)
            for trace, number in zip(self._traces, self.plan.channels, strict=True)
        )
        if is_close != self._was_close:
            self._shown, self._was_close = None, is_close
        self._follow(model, rows)
        marks = () if is_close else tuple(limit.at for limit in self._limits)
        self._shown = shown_range(self.plan, lines, marks, self._shown)
        over_time, over_value = self._tick_pair(window, height_px, is_held=is_held)
        labels = self._labels
        if is_held:
            labels = held_labels(model, labels, lines, self.plan)
        return ChartFrame(
            lines=lines,
            span_s=window.span_ns / NS,
            shown=self._shown,
            time_ticks=over_time,
            value_ticks=over_value,
            limits=self._limits,
            names=self._names_on(lines, window, height_px),
            labels=labels,
        )

    def _names_on(
        self, lines: tuple[Line, ...], window: Window, height_px: int
    ) -> tuple[LimitName, ...]:
        """Place the names of limits, again when the curves have moved on by a little."""
        shown = self._shown or self.plan.span
        moved = window.until_ns // max(1, window.span_ns // _STEPS_PER_SPAN)
        key = (self._limits, shown, window.span_ns, window.columns, height_px, moved)
        if key != self._names_key:
            self._names_key = key
            span_s = window.span_ns / NS
            sheet = Sheet(shown, span_s, float(window.columns), float(height_px), lines)
            self._names = limit_names(self._limits, sheet, self._names)
        return self._names

    def _follow(self, model: Model, rows: tuple[ChannelRow, ...]) -> None:
        """Write limits and labels anew when the table's rows are other ones."""
        if rows is not self._rows:
            self._rows = rows
            self._limits = limit_lines(model, self.plan)
            self._labels = end_labels(model, self.plan, rows)

    def _tick_pair(
        self, window: Window, height_px: int, *, is_held: bool
    ) -> tuple[Ticks, Ticks]:
        """Give both axes' ticks, the same objects while nothing changed."""
        shown = self._shown or self.plan.span
        is_past = is_held or any(row.severity is Severity.FROZEN for row in self._rows or ())
        end = clock_text(window.until_ns) if window.columns >= _CLOCK_COLUMNS else "end"
        edge = end if is_past else "now"
        key = (window.span_ns, window.columns, height_px, shown, edge)
        if self._ticks is None or self._ticks[0] != key:
            pieces = max(2, window.columns // _PX_PER_TIME_TICK)
            over_time = time_ticks(window.span_ns // NS, pieces, edge)
            over_value = value_ticks(shown, max(3, height_px // _PX_PER_VALUE_TICK))
            self._ticks = (key, over_time, over_value)
        return self._ticks[1], self._ticks[2]
