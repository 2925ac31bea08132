"""What must not be overlooked: a band across the window, and stripes over what is frozen."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QWidget

from monitor.display.state.connection import Freshness
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.shapes import draw_hatch
from monitor.display.widgets.labels import ElidedLabel, label


class Banner(QFrame):
    """A headline and a detail across the window; hidden while there is nothing to say."""

    def __init__(self, name: str, *, can_close: bool = False) -> None:
        """Start hidden."""
        super().__init__()
        self.setObjectName(name)
        self.setProperty("role", "banner")
        self.headline = label("", "heading", f"{name}_headline")
        self.detail = ElidedLabel("fact", f"{name}_detail")
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 6, 12, 6)
        row.setSpacing(16)
        row.addWidget(self.headline)
        row.addWidget(self.detail, 1)
        if can_close:
            close = QPushButton("Understood")
            close.setObjectName(f"{name}_close")
            close.clicked.connect(self.hide)
            row.addWidget(close)
        self.hide()

    def show_banner(self, headline: str, detail: str) -> None:
        """Show the two texts; empty headline: hide. Cheap when nothing changed."""
        if (headline, detail) != (self.headline.text(), self.detail.text()):
            self.headline.setText(headline)
            self.detail.say(detail)
            self.setVisible(bool(headline))

    def show_freshness(self, fresh: Freshness) -> None:
        """Say that the screen does not show the present."""
        self.show_banner(fresh.headline, fresh.detail)


class Veil(QWidget):
    """Stripes over another widget. The mouse goes through; what is below can still be read."""

    def __init__(self, over: QWidget) -> None:
        """Lie over *over*, hidden."""
        super().__init__(over)
        self._over = over
        self.setObjectName("veil")
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setAttribute(Qt.WidgetAttribute.WA_NoSystemBackground)
        self.setProperty("role", "clear")
        self.hide()

    def show_frozen(self, is_frozen: bool) -> None:
        """Show or hide the stripes."""
        if is_frozen and self.size() != self._over.size():
            self.resize(self._over.size())
        if is_frozen != self.isVisibleTo(self._over):
            self.setVisible(is_frozen)
            self.raise_()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Paint stripes."""
        draw_hatch(QPainter(self), QRectF(self.rect()), PALETTE)
