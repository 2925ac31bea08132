"""One strip chart: fixed relative time axis, reduced lines, limits, words at the right end.

What costs is kept away: axes are cached and change seldom, pens are one pixel wide, nothing is
smoothed, and a line is handed over only when it is another one than before.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pyqtgraph as pg
from PySide6.QtGui import QColor, QFont
from PySide6.QtWidgets import QFrame, QGraphicsItem, QGraphicsView, QGridLayout, QLabel, QWidget

from monitor.display.plots.end_labels import EndLabels
from monitor.display.state.axis import Range
from monitor.display.state.chart_view import ChartFrame, Ticks
from monitor.display.state.charts import ChartPlan, LimitName, limit_names
from monitor.display.state.severity import Severity
from monitor.display.state.trace import Line, line_of
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.sheet import SMALL_PX

_VALUE_AXIS_PX = 54
_TIME_AXIS_PX = 24


def _segments(xs: Sequence[tuple[float, float, float, float]]) -> Line:
    """Make one broken line out of segments (x from, y from, x until, y until)."""
    points = np.array([(a, b, c, d, np.nan, np.nan) for a, b, c, d in xs], np.float64)
    flat = points.reshape(-1, 2)
    return line_of(flat[:, 0].copy(), flat[:, 1].copy())


class StripChart(QFrame):
    """Shows :class:`ChartFrame` objects of one plan; decides nothing."""

    def __init__(self, plan: ChartPlan, parent: QWidget | None = None) -> None:
        """Lay out heading, drawing and labels for the channels of *plan*."""
        super().__init__(parent)
        self.setProperty("role", "panel")
        self.setObjectName(f"chart_{plan.title}")
        self._heading = QLabel(f"{plan.title}, {plan.unit}" if plan.unit else plan.title)
        self._heading.setProperty("role", "caption")
        self._view = pg.PlotWidget(background=PALETTE.panel)
        self._plot = self._view.getPlotItem()
        self._labels = EndLabels()
        self._prepare_plot()
        self._grid = self._static_curve(PALETTE.raised, -20)
        self._calm_limits = self._static_curve(PALETTE.normal, -10)
        self._loud_limits = {
            severity: self._static_curve(PALETTE.of(severity), -5)
            for severity in (Severity.LOW, Severity.MEDIUM, Severity.HIGH, Severity.TOP)
        }
        self._curves = [self._curve(number) for number in range(len(plan.channels))]
        self._texts: list[pg.TextItem] = []
        self._frame: ChartFrame | None = None
        self._axes: tuple[object, ...] = ()
        grid = QGridLayout(self)
        grid.setContentsMargins(4, 2, 2, 2)
        grid.setSpacing(0)
        grid.addWidget(self._heading, 0, 0, 1, 2)
        grid.addWidget(self._view, 1, 0)
        grid.addWidget(self._labels, 1, 1)

    def _prepare_plot(self) -> None:
        """Take everything away that moves, follows or reacts."""
        update = QGraphicsView.ViewportUpdateMode.FullViewportUpdate
        self._view.setViewportUpdateMode(update)
        self._view.setFrameShape(QFrame.Shape.NoFrame)
        self._view.setFocusPolicy(pg.QtCore.Qt.FocusPolicy.NoFocus)
        self._plot.setMouseEnabled(x=False, y=False)
        self._plot.setMenuEnabled(False)
        self._plot.hideButtons()
        self._plot.disableAutoRange()
        font = QFont(self.font())
        font.setPixelSize(SMALL_PX)
        for name in ("left", "bottom"):
            axis = self._plot.getAxis(name)
            axis.setStyle(tickFont=font, tickLength=4, autoExpandTextSpace=False)
            axis.setPen(PALETTE.edge)
            axis.setTextPen(PALETTE.quiet)
            axis.enableAutoSIPrefix(False)
            axis.setCacheMode(QGraphicsItem.CacheMode.DeviceCoordinateCache)
        # Room for the upper half of the topmost number and the right half of the last one.
        self._plot.layout.setContentsMargins(0, 8, 16, 0)
        self._plot.getAxis("bottom").setStyle(hideOverlappingLabels=False)
        self._plot.getAxis("left").setWidth(_VALUE_AXIS_PX)
        self._plot.getAxis("bottom").setHeight(_TIME_AXIS_PX)

    def _static_curve(self, colour: str, depth: int) -> pg.PlotCurveItem:
        """Add lines that seldom change, at *depth* behind the channels' lines."""
        curve = pg.PlotCurveItem(pen=pg.mkPen(colour, width=1), connect="finite")
        curve.setZValue(depth)
        self._plot.addItem(curve, ignoreBounds=True)
        return curve

    def _curve(self, number: int) -> pg.PlotCurveItem:
        """Add the line of a channel."""
        colour = PALETTE.lines[number % len(PALETTE.lines)]
        curve = pg.PlotCurveItem(
            pen=pg.mkPen(colour, width=1), connect="finite", antialias=False
        )
        self._plot.addItem(curve, ignoreBounds=True)
        return curve

    def drawing_size(self) -> tuple[int, int]:
        """Give width and height of the drawing in pixels: how many columns a line may have."""
        box = self._plot.getViewBox()
        return max(1, int(box.width())), max(1, int(box.height()))

    def show_frame(self, frame: ChartFrame) -> None:
        """Show *frame*. Only what is another object than before is touched."""
        was, self._frame = self._frame, frame
        for number, line in enumerate(frame.lines):
            if was is None or line is not was.lines[number]:
                self._curves[number].setData(line.x_s, line.y)
        axes = (frame.span_s, frame.shown, self.drawing_size())
        has_moved, self._axes = axes != self._axes, axes
        if has_moved:
            self._plot.setXRange(-frame.span_s, 0, padding=0)
            self._plot.setYRange(frame.shown.low, frame.shown.high, padding=0)
        ticks_are_new = was is None or frame.time_ticks is not was.time_ticks
        if ticks_are_new or (was is not None and frame.value_ticks is not was.value_ticks):
            self._show_ticks(frame)
        if has_moved or was is None or frame.limits != was.limits:
            self._show_limits(frame)
        self._show_labels(frame)

    def _show_ticks(self, frame: ChartFrame) -> None:
        """Label the axes and draw the grid."""
        self._plot.getAxis("bottom").setTicks([list(frame.time_ticks)])
        self._plot.getAxis("left").setTicks([list(frame.value_ticks)])
        low, high = frame.shown.low, frame.shown.high
        upright = [(x, low, x, high) for x, _ in frame.time_ticks]
        level = [(-frame.span_s, y, 0.0, y) for y, _ in frame.value_ticks]
        grid = _segments(upright + level)
        self._grid.setData(grid.x_s, grid.y)

    def _show_limits(self, frame: ChartFrame) -> None:
        """Draw the limits, active ones in the colour of their priority, and name them."""
        for severity, curve in ((Severity.CALM, self._calm_limits), *self._loud_limits.items()):
            mine = [limit for limit in frame.limits if limit.severity is severity]
            lines = _segments([(-frame.span_s, one.at, 0.0, one.at) for one in mine])
            curve.setData(lines.x_s, lines.y)
        for text in self._texts:
            self._plot.removeItem(text)
        names = limit_names(frame.limits, frame.shown, self.drawing_size()[1])
        self._texts = [self._limit_text(name, frame.span_s) for name in names]

    def _limit_text(self, name: LimitName, span_s: float) -> pg.TextItem:
        """Write a limit's name on its line."""
        limit = name.limit
        calm = limit.severity is Severity.CALM
        colour = PALETTE.quiet if calm else PALETTE.of(limit.severity)
        anchor = (0, 0 if name.is_below else 1)
        text = pg.TextItem(limit.text, color=QColor(colour), anchor=anchor)
        font = QFont(self.font())
        font.setPixelSize(SMALL_PX)
        font.setBold(not calm)
        text.setFont(font)
        self._plot.addItem(text, ignoreBounds=True)
        text.setPos(-span_s, limit.at)
        return text

    def _show_labels(self, frame: ChartFrame) -> None:
        """Hand the labels to the words at the right end."""
        box = self._plot.getViewBox().sceneBoundingRect()
        shown: Range = frame.shown
        self._labels.show_labels(frame.labels, shown, float(box.top()), float(box.height()))

    def curves(self) -> Sequence[pg.PlotCurveItem]:
        """Give the lines as drawn, for tests of what is painted."""
        return tuple(self._curves)

    def ticks(self) -> tuple[Ticks, Ticks]:
        """Give the ticks shown on both axes."""
        if self._frame is None:
            return (), ()
        return self._frame.time_ticks, self._frame.value_ticks
