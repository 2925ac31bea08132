"""Shapes that say what a colour says: one outline and one number for each priority."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QPainter, QPen, QPolygonF

from monitor.display.state.severity import PRIORITY_RANK
from monitor.display.theme.palette import Palette

#: Outlines as shares of the box, most urgent first; a circle is drawn as a circle.
_OUTLINES: dict[str, tuple[tuple[float, float], ...]] = {
    "top": (
        (0.29, 0.0), (0.71, 0.0), (1.0, 0.29), (1.0, 0.71),
        (0.71, 1.0), (0.29, 1.0), (0.0, 0.71), (0.0, 0.29),
    ),
    "high": ((0.5, -0.06), (1.06, 0.98), (-0.06, 0.98)),
    "medium": ((0.5, -0.06), (1.06, 0.5), (0.5, 1.06), (-0.06, 0.5)),
}  # fmt: skip
#: How far below the middle the number stands, as a share of the box.
_LOWERED: dict[str, float] = {"high": 0.16}
#: The number repeats what the outline says; it may be smaller than text.
_NUMBER_PX = 11
#: Words in a tag.
_TAG_PX = 13
_HATCH_STEP = 7
#: Opacity of hatching, 0 to 255: it must be seen, and what lies under it must be read.
_HATCH_ALPHA = 70
_HATCH_ALPHA_ON_FILL = 130


def _draw_outline(painter: QPainter, priority: str, box: QRectF) -> None:
    """Draw the outline of a priority in *box*: octagon, triangle, diamond, or circle."""
    shares = _OUTLINES.get(priority)
    if shares is None:
        painter.drawEllipse(box)
        return
    corners = [
        QPointF(box.left() + x * box.width(), box.top() + y * box.height()) for x, y in shares
    ]
    painter.drawPolygon(QPolygonF(corners))


def draw_mark(
    painter: QPainter, box: QRectF, priority: str, colours: Palette, *, is_filled: bool
) -> None:
    """Draw a priority's shape with its number in it.

    Filled: somebody must acknowledge. Outline only: acknowledged.
    """
    colour = QColor(colours.of_priority(priority))
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colour, 1.6))
    painter.setBrush(QBrush(colour) if is_filled else Qt.BrushStyle.NoBrush)
    _draw_outline(painter, priority, box.adjusted(1, 1, -1, -1))
    font = QFont(painter.font())
    font.setPixelSize(_NUMBER_PX)
    font.setBold(True)
    painter.setFont(font)
    painter.setPen(QColor(colours.ink) if is_filled else colour)
    lowered = box.translated(0, _LOWERED.get(priority, 0.0) * box.height())
    number = str(PRIORITY_RANK.get(priority, 8) + 1)
    painter.drawText(lowered, Qt.AlignmentFlag.AlignCenter, number)
    painter.restore()


def draw_crossed(painter: QPainter, box: QRectF, colours: Palette) -> None:
    """Draw a line across a mark: it is inhibited."""
    painter.save()
    painter.setPen(QPen(QColor(colours.text), 2))
    painter.drawLine(box.bottomLeft(), box.topRight())
    painter.restore()


def draw_first(
    painter: QPainter, box: QRectF, colours: Palette, text: str, *, is_filled: bool
) -> None:
    """Draw a tag that points ahead, with *text* in it: this one came first.

    Filled: it is known to be the first. Outline only: that cannot be told.
    """
    colour = QColor(colours.text)
    tip = box.height() / 4
    shoulder, point = box.right() - tip, QPointF(box.right(), box.center().y())
    above, below = QPointF(shoulder, box.top()), QPointF(shoulder, box.bottom())
    corners = [box.topLeft(), above, point, below, box.bottomLeft()]
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colour, 1.2))
    painter.setBrush(QBrush(colour) if is_filled else Qt.BrushStyle.NoBrush)
    painter.drawPolygon(QPolygonF(corners))
    font = QFont(painter.font())
    font.setPixelSize(_TAG_PX)
    font.setBold(is_filled)
    painter.setFont(font)
    painter.setPen(QColor(colours.ink) if is_filled else colour)
    inner = box.adjusted(2, 0, -tip, 0)
    painter.drawText(inner, Qt.AlignmentFlag.AlignCenter, text)
    painter.restore()


def draw_hatch(
    painter: QPainter, box: QRectF, colours: Palette, *, is_on_fill: bool = False
) -> None:
    """Draw stripes over *box*: what is under them is not the present."""
    colour = QColor(colours.ink if is_on_fill else colours.hatch)
    colour.setAlpha(_HATCH_ALPHA_ON_FILL if is_on_fill else _HATCH_ALPHA)
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
