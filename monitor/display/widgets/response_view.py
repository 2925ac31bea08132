"""What the selected alarm means and what to do."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QPlainTextEdit, QVBoxLayout

from monitor.display.state.response import Response
from monitor.display.state.severity import Severity
from monitor.display.theme.sheet import restyle
from monitor.display.widgets.labels import ElidedLabel, label

_NONE = Response("", "Select an alarm to see what to do about it.", "")


class ResponseView(QFrame):
    """Shows a :class:`Response`; the safe state of an abort criterion stands out."""

    def __init__(self) -> None:
        """Start empty."""
        super().__init__()
        self.setProperty("role", "panel")
        self.setObjectName("response_view")
        self._response: Response | None = None
        self._title = ElidedLabel("heading", "response_title")
        self._facts = label("", "quiet", "response_facts")
        self._facts.setWordWrap(True)
        self._safe = label("", "abort", "response_safe_state")
        self._safe.setWordWrap(True)
        self._safe.hide()
        self._text = QPlainTextEdit()
        self._text.setObjectName("response_text")
        self._text.setProperty("role", "response")
        self._text.setReadOnly(True)
        self._text.setTabChangesFocus(True)
        self._text.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._text.setMinimumHeight(36)
        self._text.document().setDocumentMargin(0)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 5, 8, 5)
        column.setSpacing(2)
        for part in (self._title, self._safe, self._facts):
            column.addWidget(part)
        column.addWidget(self._text, 1)

    def show_response(self, response: Response | None) -> None:
        """Show *response*. Cheap when nothing changed."""
        shown = response or _NONE
        if shown == self._response:
            return
        whole = f"{shown.text}\n{shown.more}" if shown.more else shown.text
        if whole != self._text.toPlainText():
            self._text.setPlainText(whole)
        self._response = shown
        self._title.say(shown.title)
        restyle(self._title, Severity.TOP if shown.safe_state else Severity.CALM)
        self._facts.setText(shown.facts)
        self._safe.setText(f"ABORT. Safe state: {shown.safe_state}")
        self._safe.setVisible(bool(shown.safe_state))
