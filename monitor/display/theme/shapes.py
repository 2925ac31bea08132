"""Shapes that say what a colour says: one outline and one number for each priority."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QPainter, QPen, QPolygonF

from monitor.display.state.severity import PRIORITY_RANK
from monitor.display.theme.palette import Palette
from monitor.display.theme.sheet import SMALL_PX

#: Corners of the outline for each priority, most urgent first; 0 is a circle.
_CORNERS: dict[str, int] = {"top": 8, "high": 3, "medium": 4, "low": 0}
_HATCH_STEP = 7
#: Opacity of hatching, 0 to 255: it must be seen, and what lies under it must be read.
_HATCH_ALPHA = 70


def outline(priority: str, box: QRectF) -> QPolygonF:
    """Give the outline of a priority within *box*: octagon, triangle, diamond, or circle."""
    corners = _CORNERS.get(priority, 4) or 24
    radius, middle = min(box.width(), box.height()) / 2, box.center()
    turn = -math.pi / 2 + (math.pi / corners if corners == 8 else 0.0)
    points = [
        QPointF(
            middle.x() + radius * math.cos(turn + 2 * math.pi * k / corners),
            middle.y() + radius * math.sin(turn + 2 * math.pi * k / corners),
        )
        for k in range(corners)
    ]
    return QPolygonF(points)


def draw_mark(
    painter: QPainter, box: QRectF, priority: str, colours: Palette, *, is_filled: bool
) -> None:
    """Draw a priority's shape with its number in it.

    Filled: somebody must acknowledge. Outline only: acknowledged.
    """
    colour = QColor(colours.of_priority(priority))
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colour, 2))
    painter.setBrush(QBrush(colour) if is_filled else Qt.BrushStyle.NoBrush)
    painter.drawPolygon(outline(priority, box.adjusted(1, 1, -1, -1)))
    font = QFont(painter.font())
    font.setPixelSize(SMALL_PX - 1)
    font.setBold(True)
    painter.setFont(font)
    painter.setPen(QColor(colours.ink) if is_filled else colour)
    lowered = box.translated(0, 2) if priority == "high" else box
    number = str(PRIORITY_RANK.get(priority, 8) + 1)
    painter.drawText(lowered, Qt.AlignmentFlag.AlignCenter, number)
    painter.restore()


def draw_hatch(painter: QPainter, box: QRectF, colours: Palette) -> None:
    """Draw stripes over *box*: what is under them is not the present."""
    colour = QColor(colours.hatch)
    colour.setAlpha(_HATCH_ALPHA)
    painter.save()
    painter.setClipRect(box, Qt.ClipOperation.IntersectClip)
    painter.setPen(QPen(colour, 1))
    height = int(box.height())
    for left in range(int(box.left()) - height, int(box.right()), _HATCH_STEP):
        painter.drawLine(left, int(box.bottom()), left + height, int(box.top()))
    painter.restore()


def draw_arrow(painter: QPainter, box: QRectF, trend: int | None, colour: QColor) -> None:
    """Draw a trend: slanted arrow, steep arrow, flat line; nothing when unknown."""
    if trend is None:
        return
    middle, reach = box.center(), 7.0
    angle = {0: 0.0, 1: 32.0, 2: 68.0}[min(2, abs(trend))] * (1 if trend >= 0 else -1)
    radians = math.radians(angle)
    along = QPointF(reach * math.cos(radians), -reach * math.sin(radians))
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colour, 1.6))
    tip = middle + along
    painter.drawLine(middle - along, tip)
    if trend:
        for side in (150.0, -150.0):
            barb = radians + math.radians(side)
            painter.drawLine(tip, tip + QPointF(5 * math.cos(barb), -5 * math.sin(barb)))
    painter.restore()
