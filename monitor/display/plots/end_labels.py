"""Tag and value at the right end of each line: what tells lines apart besides their colour."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from monitor.display.state.axis import Range
from monitor.display.state.charts import EndLabel
from monitor.display.state.severity import Severity
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.shapes import draw_hatch
from monitor.display.theme.sheet import SMALL_PX

WIDTH_PX = 122
_ROW_PX = 17
_LEAD_PX = 12


def spread(wanted: Sequence[float], low: float, high: float, apart: float) -> list[float]:
    """Move places apart so that none is nearer than *apart* to the next, within [low, high].

    Args:
        wanted: Places in any order, in pixels.
        low: Smallest place allowed.
        high: Greatest place allowed.
        apart: Least distance.
    """
    order = sorted(range(len(wanted)), key=lambda number: wanted[number])
    places = [0.0] * len(wanted)
    floor = low
    for number in order:
        places[number] = max(floor, wanted[number])
        floor = places[number] + apart
    ceiling = high
    for number in reversed(order):
        places[number] = max(low, min(ceiling, places[number]))
        ceiling = places[number] - apart
    return places


class EndLabels(QWidget):
    """Paints :class:`EndLabel` objects, each with a lead to the end of its line."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Start empty."""
        super().__init__(parent)
        self.setObjectName("end_labels")
        self.setFixedWidth(WIDTH_PX)
        self._labels: tuple[EndLabel, ...] = ()
        self._shown = Range(0.0, 1.0)
        self._top = 0.0
        self._height = 1.0

    def show_labels(
        self, labels: tuple[EndLabel, ...], shown: Range, top: float, height: float
    ) -> None:
        """Show *labels* for a drawing that begins at *top* and is *height* pixels high."""
        if (labels, shown, top, height) == (self._labels, self._shown, self._top, self._height):
            return
        self._labels, self._shown = labels, shown
        self._top, self._height = top, height
        self.setAccessibleName("; ".join(f"{label.tag} {label.value}" for label in labels))
        self.update()

    def _place(self, label: EndLabel) -> float:
        """Give the height of a line's end in pixels; the middle where there is no value."""
        if label.at is None or not self._shown.width > 0:
            return self._top + self._height / 2
        share = (label.at - self._shown.low) / self._shown.width
        return self._top + self._height * (1 - min(1.0, max(0.0, share)))

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Paint every label."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(PALETTE.panel))
        wanted = [self._place(label) for label in self._labels]
        half = _ROW_PX / 2
        places = spread(wanted, half, max(half, self.height() - half), _ROW_PX)
        for label, end, place in zip(self._labels, wanted, places, strict=True):
            self._paint_one(painter, label, end, place)

    def _paint_one(self, painter: QPainter, label: EndLabel, end: float, place: float) -> None:
        """Paint the lead, the tag in the line's colour, and the value in its own."""
        line = QColor(PALETTE.lines[label.line % len(PALETTE.lines)])
        painter.setPen(QPen(line, 1))
        if label.at is not None:
            painter.drawLine(QPointF(0, end), QPointF(_LEAD_PX - 3, place))
        box = QRectF(_LEAD_PX, place - _ROW_PX / 2, self.width() - _LEAD_PX - 4, _ROW_PX)
        font = QFont(self.font())
        font.setPixelSize(SMALL_PX)
        painter.setFont(font)
        middle = Qt.AlignmentFlag.AlignVCenter
        painter.drawText(box, Qt.AlignmentFlag.AlignLeft | middle, label.tag)
        is_past = label.severity in (Severity.BAD, Severity.FROZEN)
        colour = PALETTE.of(label.severity)
        if label.alarm and not is_past:
            colour = PALETTE.of_priority(label.alarm)
        font.setBold(not is_past)
        painter.setFont(font)
        painter.setPen(QColor(colour))
        painter.drawText(box, Qt.AlignmentFlag.AlignRight | middle, label.value)
        if is_past:
            draw_hatch(painter, box, PALETTE)
