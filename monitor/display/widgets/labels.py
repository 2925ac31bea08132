"""Small labels that several parts use."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QLabel, QSizePolicy, QVBoxLayout, QWidget

from monitor.display.state.fact import Fact
from monitor.display.state.severity import Severity
from monitor.display.theme.sheet import restyle


def label(text: str, role: str, name: str = "") -> QLabel:
    """Make a label that the style sheet knows by its role."""
    made = QLabel(text)
    made.setProperty("role", role)
    made.setTextFormat(Qt.TextFormat.PlainText)
    if name:
        made.setObjectName(name)
    return made


class ElidedLabel(QLabel):
    """A label that ends with dots where it has no room, and tells all as a tooltip."""

    def __init__(self, role: str, name: str) -> None:
        """Start empty."""
        super().__init__()
        self.setProperty("role", role)
        self.setObjectName(name)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        """Ask for little width."""
        return QSize(40, super().minimumSizeHint().height())

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Paint the text, shortened at its end."""
        painter = QPainter(self)
        side = Qt.TextElideMode.ElideRight
        text = self.fontMetrics().elidedText(self.text(), side, self.width())
        flags = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        painter.setPen(self.palette().color(self.foregroundRole()))
        painter.drawText(self.rect(), flags, text)

    def say(self, text: str) -> None:
        """Show *text*."""
        if text != self.text():
            self.setText(text)
            self.setToolTip(text)


class FactCell(QFrame):
    """A caption with a fact below it. :meth:`show_fact` is the one way to change it."""

    def __init__(self, caption: str, name: str, parent: QWidget | None = None) -> None:
        """Lay out caption and fact."""
        super().__init__(parent)
        self._fact: Fact | None = None
        self.caption = label(caption, "caption", f"{name}_caption")
        self.text = label("", "fact", name)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.caption)
        column.addWidget(self.text)
        self.setProperty("role", "clear")

    def show_fact(self, fact: Fact, caption: str | None = None) -> None:
        """Show *fact*. Cheap when nothing changed."""
        if caption is not None and caption != self.caption.text():
            self.caption.setText(caption)
        if fact == self._fact:
            return
        self._fact = fact
        self.text.setText(fact.text)
        self.setToolTip(fact.more)
        restyle(self.text, fact.severity)

    def say(self, text: str, caption: str | None = None) -> None:
        """Show a text that is never abnormal."""
        self.show_fact(Fact(text, Severity.CALM), caption)
