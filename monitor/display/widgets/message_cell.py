"""Paints what is wrong, with what belongs to it: cause, first-out, abort, consequences."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from monitor.display.state.alarm_rows import AlarmRow
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.shapes import draw_first
from monitor.display.widgets.rows_model import TableRow

_PAD_PX = 5
_INDENT_PX = 22
_TAG_PX = 17
_FIRST_WORDS = {"first": "1st", "undetermined": "1st?"}
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


def paint_message(painter: QPainter, box: QRectF, row: TableRow) -> None:
    """Paint the message of an alarm with what belongs to it."""
    alarm = row.payload
    if not isinstance(alarm, AlarmRow):
        return
    inner = box.adjusted(_PAD_PX, 0, -_PAD_PX, 0)
    if alarm.is_behind:
        _paint_elbow(painter, inner)
        inner.setLeft(inner.left() + _INDENT_PX)
    words = _FIRST_WORDS.get(alarm.first_out, "")
    if words:
        width = painter.fontMetrics().horizontalAdvance(words) + 14
        tag = QRectF(inner.left(), inner.center().y() - _TAG_PX / 2, width, _TAG_PX)
        draw_first(painter, tag, PALETTE, words, is_filled=alarm.first_out == "first")
        inner.setLeft(tag.right() + _PAD_PX)
    if alarm.is_abort:
        inner.setLeft(_paint_abort(painter, inner))
    if alarm.behind_text:
        inner.setRight(_paint_behind(painter, inner, alarm))
    painter.setPen(QColor(PALETTE.quiet if alarm.is_inhibited else PALETTE.text))
    side = Qt.TextElideMode.ElideRight
    text = painter.fontMetrics().elidedText(alarm.message, side, int(inner.width()))
    painter.drawText(inner, _LEFT, text)


def _paint_elbow(painter: QPainter, inner: QRectF) -> None:
    """Paint a line that leads down from the cause above."""
    painter.setPen(QPen(QColor(PALETTE.quiet), 1))
    x, middle = inner.left() + 5, inner.center().y()
    painter.drawLine(QPointF(x, inner.top()), QPointF(x, middle))
    painter.drawLine(QPointF(x, middle), QPointF(x + 11, middle))


def _paint_behind(painter: QPainter, inner: QRectF, alarm: AlarmRow) -> float:
    """Paint how many are quiet behind it; give where the message has to end."""
    measure = painter.fontMetrics().horizontalAdvance
    words = alarm.behind_text
    if measure(alarm.message) + measure(words) + 2 * _PAD_PX > inner.width():
        words = words.partition(" ")[0]
    painter.setPen(QColor(PALETTE.quiet))
    painter.drawText(inner, _RIGHT, words)
    return inner.right() - measure(words) - 2 * _PAD_PX


def _paint_abort(painter: QPainter, inner: QRectF) -> float:
    """Paint the word in a filled box; give where the text goes on."""
    width = painter.fontMetrics().horizontalAdvance("ABORT") + 10
    tag = QRectF(inner.left(), inner.center().y() - _TAG_PX / 2, width, _TAG_PX)
    painter.fillRect(tag, QColor(PALETTE.top))
    painter.setPen(QColor(PALETTE.ink))
    painter.drawText(tag, Qt.AlignmentFlag.AlignCenter, "ABORT")
    return tag.right() + _PAD_PX
