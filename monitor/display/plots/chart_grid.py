"""All strip charts of a stand, on one time axis, beside and below each other."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QScrollArea, QWidget

from monitor.display.plots.strip_chart import StripChart
from monitor.display.state.chart_view import ChartFrame
from monitor.display.state.charts import ChartPlan
from monitor.display.state.looking import grid_columns

_LOWEST_PX = 106


class ChartGrid(QScrollArea):
    """Shows a frame for each plan; scrolls when there is no room for all."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Start without charts."""
        super().__init__(parent)
        self.setObjectName("chart_grid")
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._inner = QWidget()
        self._grid = QGridLayout(self._inner)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(4)
        self.setWidget(self._inner)
        self._plans: tuple[ChartPlan, ...] = ()
        self._charts: list[StripChart] = []
        self._columns = 0

    @property
    def charts(self) -> Sequence[StripChart]:
        """Give the charts in the order of their plans."""
        return self._charts

    def show_plans(self, plans: tuple[ChartPlan, ...]) -> None:
        """Make a chart for each plan; charts whose plan stays are kept."""
        if plans == self._plans:
            return
        kept = dict(zip(self._plans, self._charts, strict=True))
        self._charts = [kept.pop(plan) if plan in kept else StripChart(plan) for plan in plans]
        for chart in kept.values():
            self._grid.removeWidget(chart)
            chart.deleteLater()
        self._plans = plans
        self._columns = 0
        self._lay_out()

    def show_frames(self, frames: Sequence[ChartFrame]) -> None:
        """Show a frame in each chart."""
        for chart, frame in zip(self._charts, frames, strict=True):
            chart.show_frame(frame)

    def _lay_out(self) -> None:
        """Put the charts into as few columns as let all be seen."""
        size = self.viewport().size()
        columns = grid_columns(len(self._charts), size.width(), size.height())
        if columns == self._columns:
            return
        self._columns = columns
        for number, chart in enumerate(self._charts):
            chart.setMinimumHeight(_LOWEST_PX)
            self._grid.addWidget(chart, number // columns, number % columns)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        """Choose the columns anew."""
        super().resizeEvent(event)
        self._lay_out()
