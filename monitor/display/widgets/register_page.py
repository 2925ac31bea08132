"""The page of what is inhibited now."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from monitor.display.state.register import RegisterRow, Section
from monitor.display.widgets.keys import Actions, key_button
from monitor.display.widgets.labels import ElidedLabel, label
from monitor.display.widgets.rows_model import Column, TableRow
from monitor.display.widgets.tables import RowsTable

_COLUMNS = (
    Column("What", 150, is_stretched=True),
    Column("Who and why", 150, is_stretched=True),
    Column("Since", 74),
    Column("Until", 132),
    Column("Watched instead by", 150, is_stretched=True, is_coloured=True),
)


class RegisterPage(QWidget):
    """Shows everything that is inhibited, and the whole text of the selected line."""

    def __init__(self, actions: Actions, parent: QWidget | None = None) -> None:
        """Lay out heading, list and text."""
        super().__init__(parent)
        self.table = RowsTable(
            "register_table", _COLUMNS, {}, placeholder="Nothing is inhibited"
        )
        self.table.set_lines(2)
        self._count = ElidedLabel("quiet", "register_count")
        self._whole = label("", "quiet", "register_text")
        self._whole.setWordWrap(True)
        self._whole.hide()
        row = QHBoxLayout()
        row.addWidget(label("Inhibited now", "heading"))
        row.addSpacing(10)
        row.addWidget(self._count, 1)
        row.addWidget(key_button(actions, "copy_register"))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addLayout(row)
        column.addWidget(self.table, 1)
        column.addWidget(self._whole)
        self.table.selectionModel().selectionChanged.connect(self._tell)

    def show_register(self, rows: Sequence[RegisterRow]) -> None:
        """Show *rows* under the headings of their sections."""
        made: list[TableRow] = []
        for section in Section:
            members = [row for row in rows if row.section is section]
            if members:
                title = f"{section} ({len(members)})"
                made.append(TableRow(f"section {section}", (title,), is_heading=True))
                made += [_table_row(row) for row in members]
        self.table.show_rows(made)
        count = sum(row.section is not Section.UNWATCHED for row in rows)
        self._count.say(f"{count} to hand over at a change of shift" if count else "")

    def selected_row(self) -> RegisterRow | None:
        """Give the selected line."""
        selected = self.table.selected_rows()
        payload = selected[0].payload if selected else None
        return payload if isinstance(payload, RegisterRow) else None

    def _tell(self) -> None:
        """Show the whole text of the selected line."""
        selected = self.table.selected_rows()
        self._whole.setText(selected[0].tip if selected else "")
        self._whole.setVisible(bool(selected))


def _table_row(row: RegisterRow) -> TableRow:
    """Lay out one line."""
    cells = (row.what, row.why, row.since, row.until, row.instead)
    told = [row.what, row.why, f"since {row.since}" if row.since else "", f"until: {row.until}"]
    told.append(f"watched instead by: {row.instead}" if row.instead else "")
    tip = ". ".join(part for part in told if part)
    return TableRow(row.key, cells, row.severity, tip, row)
