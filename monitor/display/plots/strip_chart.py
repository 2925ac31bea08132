"""One strip chart: fixed relative time axis, reduced lines, limits, words at the right end.

What costs is kept away: all that stands still is one picture, pens are one pixel wide, nothing
is smoothed, and a line is handed over only when it is another one than before.
"""

from __future__ import annotations

from collections.abc import Sequence

import pyqtgraph as pg
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QBrush, QColor, QPen
from PySide6.QtWidgets import (
    QFrame,
    QGraphicsPathItem,
    QGraphicsView,
    QGridLayout,
    QLabel,
    QWidget,
)

from monitor.display.plots.end_labels import EndLabels
from monitor.display.plots.ground import Ground, ground_picture
from monitor.display.state.chart_view import ChartFrame
from monitor.display.state.charts import ChartPlan
from monitor.display.theme.palette import PALETTE

#: Room around the lines for numbers: left, top, right, bottom.
_MARGINS_PX = (54, 8, 16, 24)


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
        self._curves = [self._curve(number) for number in range(len(plan.channels))]
        self._frame: ChartFrame | None = None
        self._ground: Ground | None = None
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
        self._view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._plot.setMouseEnabled(x=False, y=False)
        self._plot.setMenuEnabled(False)
        self._plot.hideButtons()
        self._plot.disableAutoRange()
        self._plot.hideAxis("left")
        self._plot.hideAxis("bottom")
        self._plot.layout.setContentsMargins(*_MARGINS_PX)

    def _curve(self, number: int) -> QGraphicsPathItem:
        """Add the line of a channel: a plain item of Qt, which paints without Python."""
        colour = PALETTE.lines[number % len(PALETTE.lines)]
        curve = QGraphicsPathItem()
        # Width 0 is one pixel whatever the scale, and spares Qt the outline of the line.
        curve.setPen(QPen(QColor(colour), 0))
        self._plot.getViewBox().addItem(curve, ignoreBounds=True)
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
                self._curves[number].setPath(pg.arrayToQPath(line.x_s, line.y, "finite"))
        if was is None or (frame.span_s, frame.shown) != (was.span_s, was.shown):
            self._plot.setXRange(-frame.span_s, 0, padding=0)
            self._plot.setYRange(frame.shown.low, frame.shown.high, padding=0)
        box = self._plot.getViewBox().sceneBoundingRect()
        self._show_ground(
            Ground(
                frame.span_s, frame.shown, frame.time_ticks, frame.value_ticks, frame.limits,
                (float(box.left()), float(box.top()), float(box.width()), float(box.height())),
                frame.names,
            )
        )  # fmt: skip
        self._labels.show_labels(
            frame.labels, frame.shown, float(box.top()), float(box.height())
        )

    def _show_ground(self, ground: Ground) -> None:
        """Put the picture of all that stands still behind the lines."""
        if ground != self._ground:
            self._ground = ground
            ratio = self.devicePixelRatioF()
            picture = ground_picture(ground, self.view_size(), ratio)
            self._view.setBackgroundBrush(QBrush(picture))

    def curves(self) -> Sequence[QGraphicsPathItem]:
        """Give the lines as drawn."""
        return tuple(self._curves)

    def shown_frame(self) -> ChartFrame | None:
        """Give the frame shown now."""
        return self._frame

    def viewport(self) -> QWidget:
        """Give the widget that the lines are painted on."""
        viewport: QWidget = self._view.viewport()
        return viewport

    def view_size(self) -> QSize:
        """Give the size of the drawing with its axes, in pixels."""
        size: QSize = self._view.size()
        return size
