"""What the lamp test lights beside the title strip: every mark, colour and pattern, named."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from monitor.display.state.lamp import Lamps
from monitor.display.state.severity import PRIORITIES, Severity
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.shapes import draw_crossed, draw_first, draw_hatch, draw_mark
from monitor.display.theme.sheet import VALUE_PX

_HEIGHT_PX = 58
_MARK_PX = 22
_STEP_PX = 88
_WORDS = (
    (Severity.DOUBT, "in doubt"),
    (Severity.BAD, "not valid"),
    (Severity.FROZEN, "not the present"),
)


class LampPanel(QWidget):
    """Hidden but for the seconds of the test."""

    def __init__(self, parent: QWidget, below: QWidget) -> None:
        """Start hidden; lies over what stands below *below*, and moves nothing."""
        super().__init__(parent)
        self.setObjectName("lamp_panel")
        self._over, self._below = parent, below
        self._lamps: Lamps | None = None
        self.hide()

    def show_lamps(self, lamps: Lamps | None) -> None:
        """Show the test, or nothing. Cheap when nothing changed."""
        if lamps == self._lamps:
            return
        self._lamps = lamps
        top = self._below.geometry().bottom() + 1
        self.setGeometry(0, top, self._over.width(), _HEIGHT_PX)
        self.raise_()
        self.setVisible(lamps is not None)
        self.setAccessibleName(lamps.headline if lamps is not None else "")
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Paint the headline, and below it every mark and every pattern."""
        if self._lamps is None:
            return
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(PALETTE.panel))
        font = self.font()
        font.setPixelSize(VALUE_PX)
        font.setBold(True)
        painter.setFont(font)
        painter.setPen(QColor(PALETTE.text))
        flags = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(QRectF(12, 2, self.width() - 24, 24), flags, self._lamps.headline)
        left = 12.0
        for priority in PRIORITIES:
            left = self._paint_mark(painter, left, priority, self._lamps)
        box = QRectF(left, 30, 64, _MARK_PX)
        draw_first(painter, box, PALETTE, "first-out", is_filled=self._lamps.is_filled)
        self._paint_words(painter, left + 96)

    @staticmethod
    def _paint_mark(painter: QPainter, left: float, priority: str, lamps: Lamps) -> float:
        """Paint one priority: as it waits, as it was seen, and crossed out."""
        for place in range(3):
            box = QRectF(left + 26 * place, 30, _MARK_PX, _MARK_PX)
            is_filled = place < 2 and lamps.is_filled is (place == 0)
            draw_mark(painter, box, priority, PALETTE, is_filled=is_filled)
            if place == 2:
                draw_crossed(painter, box, PALETTE)
        return left + _STEP_PX

    @staticmethod
    def _paint_words(painter: QPainter, left: float) -> None:
        """Paint the words of doubt, fault and standstill in their colours."""
        flags = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        for severity, words in _WORDS:
            width = painter.fontMetrics().horizontalAdvance(words)
            box = QRectF(left, 30, width + 4, _MARK_PX)
            painter.setPen(QColor(PALETTE.of(severity)))
            painter.drawText(box, flags, words)
            if severity in (Severity.BAD, Severity.FROZEN):
                draw_hatch(painter, box, PALETTE)
            left += width + 24
