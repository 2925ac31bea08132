"""The strip across the top: stand, phase, clocks, recording, links, alarms."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QVBoxLayout, QWidget

from monitor.display.state.alarm_rows import PriorityCount
from monitor.display.state.fact import Fact
from monitor.display.state.severity import Severity
from monitor.display.state.strip import Strip
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.shapes import draw_mark
from monitor.display.theme.sheet import VALUE_PX
from monitor.display.widgets.labels import ElidedLabel, FactCell, label


class AlarmSummary(QWidget):
    """One mark and one number for each priority; quiet at nought."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Start without counts."""
        super().__init__(parent)
        self.setObjectName("alarm_summary")
        self._counts: tuple[PriorityCount, ...] = ()
        self.setFixedSize(QSize(212, 24))

    def show_counts(self, counts: tuple[PriorityCount, ...]) -> None:
        """Show *counts*. Cheap when nothing changed."""
        if counts == self._counts:
            return
        self._counts = counts
        told = [
            f"{row.priority}: {row.standing} standing, {row.unacknowledged} not acknowledged"
            for row in counts
        ]
        explained = "Filled: somebody has to acknowledge. The number: how many stand; before"
        explained += " a stroke, how many of them nobody has acknowledged."
        self.setToolTip("\n".join([*told, explained]))
        self.setAccessibleName("; ".join(told))
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Paint mark and count of each priority."""
        painter = QPainter(self)
        font = self.font()
        font.setPixelSize(VALUE_PX)
        painter.setFont(font)
        for place, row in enumerate(self._counts):
            self._paint_one(painter, 53.0 * place, row)

    @staticmethod
    def _paint_one(painter: QPainter, left: float, row: PriorityCount) -> None:
        """Paint one priority: unacknowledged of all that stand, or a dot for none."""
        middle = QRectF(left + 20, 0, 33, 24)
        flags = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        if not row.standing:
            painter.setOpacity(0.45)
        filled = row.unacknowledged > 0
        draw_mark(painter, QRectF(left, 3, 18, 18), row.priority, PALETTE, is_filled=filled)
        painter.setOpacity(1.0)
        painter.setPen(QColor(PALETTE.text if row.standing else PALETTE.quiet))
        text = f"{row.standing}"
        if 0 < row.unacknowledged < row.standing:
            text = f"{row.unacknowledged}/{row.standing}"
        painter.drawText(middle, flags, text)


class TitleStrip(QFrame):
    """Shows a :class:`Strip`; decides nothing."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Lay the cells out from left to right."""
        super().__init__(parent)
        self.setProperty("role", "strip")
        self.setObjectName("title_strip")
        self._strip: Strip | None = None
        self._stand = ElidedLabel("title", "stand")
        self._phase = FactCell("Phase", "phase")
        self._mode = FactCell("Mode", "mode")
        self._clock = FactCell("UTC", "clock")
        self._run = FactCell("Run", "run")
        self._speed = FactCell("Data speed", "speed")
        self._recording = FactCell("Record", "recording")
        self._link = FactCell("Links", "link")
        self._summary = AlarmSummary()
        self._inhibited = FactCell("Inhibited", "inhibited")
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 5, 12, 5)
        row.setSpacing(14)
        row.addWidget(self._stand, 1)
        for cell in (
            self._phase, self._mode, self._clock, self._run, self._speed, self._recording,
            self._link, self._inhibited,
        ):  # fmt: skip
            row.addWidget(cell)
        row.addLayout(self._alarm_column())

    def _alarm_column(self) -> QVBoxLayout:
        """Stack the caption of the alarms on their counts."""
        column = QVBoxLayout()
        column.setSpacing(0)
        column.addWidget(label("Alarms: waiting/standing", "caption", "alarms_caption"))
        column.addWidget(self._summary)
        return column

    def show_strip(self, strip: Strip) -> None:
        """Show *strip*. Cheap when nothing changed."""
        if strip == self._strip:
            return
        self._strip = strip
        clocks = Severity.FROZEN if strip.is_frozen else Severity.CALM
        self._stand.say(strip.stand)
        self._show_place(strip, clocks)
        caption = f"{strip.date} UTC" if not strip.is_frozen else "UTC, stopped"
        self._clock.show_fact(Fact(strip.clock, clocks), caption)
        self._run.show_fact(Fact(strip.run, clocks), "Run lasts")
        self._speed.setVisible(bool(strip.speed))
        self._speed.show_fact(Fact(strip.speed, Severity.DOUBT, "Data time runs this fast."))
        self._recording.show_fact(strip.recording)
        self._link.show_fact(strip.link)
        self._summary.show_counts(strip.alarms)
        self._inhibited.show_fact(strip.inhibited)

    def _show_place(self, strip: Strip, clocks: Severity) -> None:
        """Show phase and mode; both stand still with the clocks."""
        is_frozen = strip.is_frozen
        phase = replace(strip.phase, severity=clocks) if is_frozen else strip.phase
        self._phase.show_fact(phase, f"Phase for {strip.phase_for}")
        self._mode.setVisible(strip.mode is not None)
        if strip.mode is not None:
            mode = replace(strip.mode, severity=clocks)
            self._mode.show_fact(mode, f"Mode for {strip.mode_for}")
