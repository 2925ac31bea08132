"""What stands still in a chart: axes, grid, limits, their names; painted once into a picture.

A frame then only copies the picture and draws the lines on top of it.
"""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPen, QPixmap

from monitor.display.state.axis import Range
from monitor.display.state.chart_view import Ticks
from monitor.display.state.charts import LimitLine
from monitor.display.state.limit_names import LimitName
from monitor.display.state.severity import Severity
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.sheet import SMALL_PX

_GAP_PX = 6
_LINE_PX = 16


@dataclass(frozen=True, slots=True)
class Ground:
    """What a picture of the ground depends on.

    Attributes:
        span_s: Length of the time axis in s.
        shown: Range of the value axis.
        time_ticks: Places in s and labels.
        value_ticks: Places and labels.
        limits: Lines across the chart.
        box: Left, top, width and height of the drawing in pixels.
        names: Names of limits, where they can be read.
    """

    span_s: float
    shown: Range
    time_ticks: Ticks
    value_ticks: Ticks
    limits: tuple[LimitLine, ...]
    box: tuple[float, float, float, float]
    names: tuple[LimitName, ...] = ()

    def x_px(self, x_s: float) -> float:
        """Give the place of a time, in whole pixels."""
        left, _, width, _ = self.box
        return round(left + width * (1 + x_s / self.span_s))

    def y_px(self, value: float) -> float:
        """Give the place of a value, in whole pixels."""
        _, top, _, height = self.box
        return round(top + height * (self.shown.high - value) / self.shown.width)


def ground_picture(ground: Ground, size: QSize, ratio: float) -> QPixmap:
    """Paint the ground of a chart of *size*, for a screen of *ratio* device pixels a pixel."""
    picture = QPixmap(size * ratio)
    picture.setDevicePixelRatio(ratio)
    picture.fill(QColor(PALETTE.panel))
    painter = QPainter(picture)
    font = QFont(painter.font())
    font.setFamilies(["DejaVu Sans", "Noto Sans", "Segoe UI"])
    font.setPixelSize(SMALL_PX)
    painter.setFont(font)
    _paint_values(painter, ground)
    _paint_times(painter, ground, size.width())
    _paint_edges(painter, ground)
    _paint_limits(painter, ground)
    painter.end()
    return picture


def _paint_values(painter: QPainter, ground: Ground) -> None:
    """Paint the value axis with its grid and labels."""
    left, _, width, _ = ground.box
    for value, label in ground.value_ticks:
        y = ground.y_px(value)
        painter.setPen(QColor(PALETTE.raised))
        painter.drawLine(QPointF(left, y), QPointF(left + width, y))
        painter.setPen(QColor(PALETTE.quiet))
        box = QRectF(0, y - _LINE_PX / 2, left - _GAP_PX, _LINE_PX)
        side = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(box, side, label)


def _paint_times(painter: QPainter, ground: Ground, total_px: int) -> None:
    """Paint the time axis with its grid and labels; none runs out of the picture."""
    _, top, _, height = ground.box
    bottom = top + height
    for x_s, label in ground.time_ticks:
        x = ground.x_px(x_s)
        painter.setPen(QColor(PALETTE.raised))
        painter.drawLine(QPointF(x, top), QPointF(x, bottom))
        if x_s > -ground.span_s:
            painter.setPen(QColor(PALETTE.quiet))
            label_px = painter.fontMetrics().horizontalAdvance(label) + 2
            start = min(x - label_px / 2, total_px - label_px)
            box = QRectF(start, bottom + _GAP_PX - 2, label_px, _LINE_PX)
            painter.drawText(box, Qt.AlignmentFlag.AlignHCenter, label)


def _paint_edges(painter: QPainter, ground: Ground) -> None:
    """Paint the two axes over the ends of the grid."""
    left, top, width, height = ground.box
    corner = QPointF(left, top + height)
    painter.setPen(QColor(PALETTE.edge))
    painter.drawLine(QPointF(left, top), corner)
    painter.drawLine(corner, QPointF(left + width, top + height))


def _paint_limits(painter: QPainter, ground: Ground) -> None:
    """Paint the limits, active ones on top in the colour of their priority, and name them."""
    left, _, width, _ = ground.box
    for limit in sorted(ground.limits, key=lambda one: one.severity is not Severity.CALM):
        if ground.shown.low <= limit.at <= ground.shown.high:
            calm = limit.severity is Severity.CALM
            painter.setPen(QPen(QColor(PALETTE.normal if calm else PALETTE.of(limit.severity))))
            y = ground.y_px(limit.at)
            painter.drawLine(QPointF(left, y), QPointF(left + width, y))
    for name in ground.names:
        _paint_name(painter, ground, name)


def _paint_name(painter: QPainter, ground: Ground, name: LimitName) -> None:
    """Write a limit's name on its line."""
    calm = name.limit.severity is Severity.CALM
    font = QFont(painter.font())
    font.setBold(not calm)
    painter.setFont(font)
    painter.setPen(QColor(PALETTE.quiet if calm else PALETTE.of(name.limit.severity)))
    left, top, width, _ = ground.box
    box = QRectF(left + name.left, top + name.top, width, _LINE_PX)
    painter.drawText(
        box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, name.limit.text
    )
