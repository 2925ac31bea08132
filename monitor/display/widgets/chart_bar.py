"""The bar above the charts: time span, hold, look back, close-up."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from monitor.display.state.looking import Looking, span_labels
from monitor.display.theme.sheet import restyle
from monitor.display.widgets.keys import Actions, key_button
from monitor.display.widgets.labels import ElidedLabel


class ChartBar(QWidget):
    """Shows what the charts look at; its buttons are those of the window's keys.

    Attributes:
        text: What is shown in words; the window puts it where there is room.
    """

    #: Position of the span that the person has chosen.
    span_chosen = Signal(int)

    def __init__(self, actions: Actions, parent: QWidget | None = None) -> None:
        """Lay out spans and buttons."""
        super().__init__(parent)
        self.setObjectName("chart_bar")
        self._spans = [self._span_button(n, text) for n, text in enumerate(span_labels())]
        self._pause = key_button(actions, "pause")
        self._close = key_button(actions, "close_up")
        for button in (self._pause, self._close):
            button.setCheckable(True)
        self.text = ElidedLabel("quiet", "chart_text")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(4)
        for button in self._spans:
            row.addWidget(button)
        row.addSpacing(8)
        row.addWidget(self._close)
        row.addWidget(self._pause)
        row.addStretch(1)

    def _span_button(self, number: int, text: str) -> QPushButton:
        """Make the button of one span."""
        button = QPushButton(text)
        button.setObjectName(f"span_{number}")
        button.setCheckable(True)
        button.setAutoDefault(False)
        button.setToolTip("Length of the time axis  (Ctrl+Up shorter, Ctrl+Down longer)")
        button.clicked.connect(lambda: self.span_chosen.emit(number))
        return button

    def show_looking(self, looking: Looking, text: str) -> None:
        """Show what is looked at. Cheap when nothing changed."""
        for number, button in enumerate(self._spans):
            button.setChecked(number == looking.span)
        self._pause.setChecked(looking.held_ns is not None)
        self._close.setChecked(looking.is_close)
        self.text.say(text)
        restyle(self.text, "calm" if looking.held_ns is None else "doubt")
