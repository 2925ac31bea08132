"""Painters of cells that are more than text: band bars, marks, arrows, hatched values."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from monitor.display.state.alarm_rows import AlarmRow
from monitor.display.state.band import Band
from monitor.display.state.rows import ChannelRow
from monitor.display.state.severity import Severity
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.shapes import draw_arrow, draw_crossed, draw_hatch, draw_mark
from monitor.display.theme.sheet import VALUE_PX
from monitor.display.widgets.rows_model import RowsModel, TableRow

Painter = Callable[[QPainter, QRectF, TableRow], None]
_MARK_PX = 18.0
_PAD_PX = 5


class CellDelegate(QStyledItemDelegate):
    """Paints some columns by hand, all others as text.

    Rows are taken straight from the model: asking for them through Qt costs more than painting.
    """

    def __init__(
        self, rows: RowsModel, painters: Mapping[int, Painter], parent: QWidget
    ) -> None:
        """Paint column *n* of *rows* by ``painters[n]``."""
        super().__init__(parent)
        self._rows = rows
        self._painters = painters

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Paint one cell."""
        column, row = index.column(), self._rows.rows[index.row()]
        by_hand = self._painters.get(column)
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(option.rect, QColor(PALETTE.raised))
        painter.save()
        box = QRectF(option.rect)
        if by_hand is None or row.is_heading:
            self._paint_text(painter, box, row, column)
        else:
            by_hand(painter, box, row)
        painter.restore()

    def _paint_text(self, painter: QPainter, box: QRectF, row: TableRow, column: int) -> None:
        """Paint the text of a cell in its own colour, selected or not, ending with dots."""
        text = row.cells[column] if column < len(row.cells) else ""
        if not text:
            return
        painter.setPen(self._rows.colour(row, column))
        inner = box.adjusted(_PAD_PX, 0, -_PAD_PX, 0)
        metrics = painter.fontMetrics()
        lines = fitted(text, inner.width(), int(inner.height()) // metrics.height(), metrics)
        painter.drawText(inner, self._rows.alignment(column), lines)


def fitted(text: str, width: float, most: int, metrics: QFontMetrics) -> str:
    """Break *text* into at most *most* lines that are no wider than *width* pixels.

    What does not fit ends with dots.
    """
    if metrics.horizontalAdvance(text) <= width:
        return text
    lines: list[str] = []
    words = text.split(" ")
    while words and len(lines) < most - 1:
        line = words.pop(0)
        while words and metrics.horizontalAdvance(f"{line} {words[0]}") <= width:
            line = f"{line} {words.pop(0)}"
        lines.append(line)
    lines.append(" ".join(words))
    side = Qt.TextElideMode.ElideRight
    return "\n".join(metrics.elidedText(line, side, int(width)) for line in lines if line)


def paint_channel_mark(painter: QPainter, box: QRectF, row: TableRow) -> None:
    """Paint the mark of the most urgent alarm of a channel."""
    channel = row.payload
    if isinstance(channel, ChannelRow) and channel.alarm:
        filled = channel.is_unacknowledged
        draw_mark(painter, mark_box(box), channel.alarm, PALETTE, is_filled=filled)


def paint_alarm_mark(painter: QPainter, box: QRectF, row: TableRow) -> None:
    """Paint the mark of an alarm; an inhibited one is crossed out."""
    alarm = row.payload
    if not isinstance(alarm, AlarmRow):
        return
    where = mark_box(box)
    draw_mark(painter, where, alarm.priority, PALETTE, is_filled=alarm.is_unacknowledged)
    if alarm.is_inhibited:
        draw_crossed(painter, where, PALETTE)


def mark_box(box: QRectF) -> QRectF:
    """Give the square in the middle of *box* that a mark fills."""
    return QRectF(
        box.center().x() - _MARK_PX / 2, box.center().y() - _MARK_PX / 2, _MARK_PX, _MARK_PX
    )


def paint_value(painter: QPainter, box: QRectF, row: TableRow) -> None:
    """Paint a value: filled while an alarm wants attention, hatched when not the present."""
    channel = row.payload
    if not isinstance(channel, ChannelRow):
        return
    inner = box.adjusted(1, 1, -1, -1)
    colour = QColor(PALETTE.of(channel.severity))
    is_filled = channel.is_active and channel.is_unacknowledged
    if channel.is_active:
        loud = QColor(PALETTE.of_priority(channel.alarm))
        if is_filled:
            painter.fillRect(inner, loud)
            colour = QColor(PALETTE.ink)
        else:
            painter.setPen(QPen(loud, 1))
            painter.drawRect(inner.adjusted(0, 0, -1, -1))
            colour = loud if channel.severity is Severity.CALM else colour
    if channel.severity in (Severity.BAD, Severity.FROZEN):
        draw_hatch(painter, inner, PALETTE, is_on_fill=is_filled)
    font = QFont(painter.font())
    font.setPixelSize(VALUE_PX)
    font.setBold(channel.severity is not Severity.FROZEN)
    painter.setFont(font)
    painter.setPen(colour)
    flags = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
    painter.drawText(box.adjusted(4, 0, -6, 0), flags, channel.value)


def paint_trend(painter: QPainter, box: QRectF, row: TableRow) -> None:
    """Paint a trend arrow."""
    channel = row.payload
    if isinstance(channel, ChannelRow):
        colour = QColor(PALETTE.quiet if channel.trend in (0, None) else PALETTE.text)
        draw_arrow(painter, box, channel.trend, colour)


def paint_band(painter: QPainter, box: QRectF, row: TableRow) -> None:
    """Paint the bar of a value against its limits."""
    channel = row.payload
    if isinstance(channel, ChannelRow):
        track = QRectF(box.left() + 8, box.center().y() - 3, box.width() - 16, 6)
        _paint_track(painter, track, channel.band)
        if channel.severity in (Severity.BAD, Severity.FROZEN):
            draw_hatch(painter, track.adjusted(-4, -5, 4, 5), PALETTE)
        if channel.severity is not Severity.BAD:
            loud = PALETTE.of_priority(channel.alarm) if channel.is_active else PALETTE.pointer
            _paint_pointer(painter, track, channel.band, QColor(loud))


def _paint_track(painter: QPainter, track: QRectF, bar: Band) -> None:
    """Paint the span as a thin line, the normal stretch as a thick one, limits as ticks."""
    middle = track.center().y()
    painter.setPen(QPen(QColor(PALETTE.edge), 1))
    painter.drawLine(QPointF(track.left(), middle), QPointF(track.right(), middle))
    normal = QRectF(track)
    normal.setLeft(track.left() + bar.normal_from * track.width())
    normal.setRight(track.left() + bar.normal_until * track.width())
    painter.fillRect(normal, QColor(PALETTE.normal))
    for mark in bar.marks:
        is_outer = mark.kind in ("high_high", "low_low")
        reach = 7 if is_outer else 5
        x = track.left() + mark.at * track.width()
        painter.setPen(QPen(QColor(PALETTE.quiet), 2 if is_outer else 1))
        painter.drawLine(QPointF(x, middle - reach), QPointF(x, middle + reach))


def _paint_pointer(painter: QPainter, track: QRectF, bar: Band, colour: QColor) -> None:
    """Paint the value as an upright bar, or as an arrow at the end that it is beyond."""
    if bar.at is None:
        return
    x, middle = track.left() + bar.at * track.width(), track.center().y()
    if not bar.beyond:
        painter.fillRect(QRectF(x - 2, middle - 8, 4, 16), colour)
        return
    tip = x + 7 * bar.beyond
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    corners = [QPointF(tip, middle), QPointF(x, middle - 7), QPointF(x, middle + 7)]
    painter.drawPolygon(QPolygonF(corners))
