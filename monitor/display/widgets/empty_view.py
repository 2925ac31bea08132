"""The page that stands where a run would be."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QVBoxLayout, QWidget

from monitor.display.state.empty import EmptyPage
from monitor.display.widgets.labels import label

#: Height of a command with its frame.
_COMMAND_PX = 36


class EmptyView(QWidget):
    """Shows an :class:`EmptyPage`: what is the matter and what to do."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Lay out headline, sentence, steps and status in the middle."""
        super().__init__(parent)
        self.setObjectName("empty_view")
        self._page: EmptyPage | None = None
        self._headline = label("", "title", "empty_headline")
        self._says = label("", "fact", "empty_says")
        self._says.setWordWrap(True)
        self._status = label("", "quiet", "empty_status")
        self._status.setWordWrap(True)
        self._steps = QVBoxLayout()
        inner = QWidget()
        inner.setFixedWidth(720)
        column = QVBoxLayout(inner)
        column.setSpacing(14)
        column.addWidget(self._headline)
        column.addWidget(self._says)
        column.addLayout(self._steps)
        column.addSpacing(10)
        column.addWidget(self._status)
        outer = QVBoxLayout(self)
        outer.addStretch(2)
        outer.addWidget(inner, alignment=Qt.AlignmentFlag.AlignHCenter)
        outer.addStretch(3)

    def show_page(self, page: EmptyPage) -> None:
        """Show *page*. Cheap when nothing changed."""
        if page == self._page:
            return
        if self._page is None or page.steps != self._page.steps:
            self._show_steps(page)
        self._page = page
        self._headline.setText(page.headline)
        self._says.setText(page.says)
        self._status.setText(page.status)

    def _show_steps(self, page: EmptyPage) -> None:
        """Write each step as a sentence with the command below it."""
        while (item := self._steps.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.deleteLater()
        for wish, command in page.steps:
            self._steps.addWidget(label(f"{wish}:", "quiet"))
            typed = label(command, "command")
            typed.setMinimumHeight(_COMMAND_PX)
            typed.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            self._steps.addWidget(typed)
