"""The event list: what happened, newest first."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QVBoxLayout, QWidget

from monitor.display.state.sentences import EventLine
from monitor.display.widgets.labels import label
from monitor.display.widgets.rows_model import Column, TableRow
from monitor.display.widgets.tables import RowsTable

_COLUMNS = (
    Column("UTC", 78),
    Column("What happened, newest first", 300, is_stretched=True, is_coloured=True),
)


class EventPage(QWidget):
    """Shows what happened, newest first, and the whole text of the selected line."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Lay out the list with the text below."""
        super().__init__(parent)
        self.table = RowsTable("event_table", _COLUMNS, {})
        self._whole = label("", "fact", "event_text")
        self._whole.setWordWrap(True)
        self._whole.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.table, 1)
        column.addWidget(self._whole)
        self.table.selectionModel().selectionChanged.connect(self._tell)

    def show_events(self, first: int, lines: Sequence[EventLine]) -> None:
        """Show *lines*, oldest first; *first* is the number of the oldest in the journal."""
        rows = [
            TableRow(f"{number}", (line.time, line.text), line.severity, line.text)
            for number, line in enumerate(lines, start=first)
        ]
        self.table.show_rows(rows[::-1])

    def _tell(self) -> None:
        """Show the whole text of the selected line."""
        selected = self.table.selected_rows()
        self._whole.setText(" ".join(selected[0].cells) if selected else "")
        self._whole.setVisible(bool(selected))
