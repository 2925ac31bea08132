"""The page of the abort criteria, watched all the time."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QVBoxLayout, QWidget

from monitor.display.state.aborts import AbortRow
from monitor.display.widgets.labels import label
from monitor.display.widgets.rows_model import Column, TableRow
from monitor.display.widgets.tables import RowsTable

_COLUMNS = (
    Column("Criterion", 160, is_stretched=True),
    Column("State", 160, is_coloured=True),
    Column("Stands", 62),
    Column("Safe state", 150, is_stretched=True),
)
_INPUT_COLUMNS = (
    Column("What it looks at", 170, is_stretched=True),
    Column("Stands", 116),
    Column("Now", 110, is_right=True),
    Column("Limit", 110, is_right=True),
)


class AbortPage(QWidget):
    """Shows each criterion; below, the whole safe state of the selected one and its inputs."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Lay out two tables with the condition between."""
        super().__init__(parent)
        self._rows: tuple[AbortRow, ...] = ()
        self.table = RowsTable(
            "abort_table", _COLUMNS, {}, placeholder="No abort criteria on this stand"
        )
        self.table.set_lines(2)
        self.inputs = RowsTable("abort_input_table", _INPUT_COLUMNS, {})
        self._when = label("", "quiet", "abort_when")
        self._when.setWordWrap(True)
        self._safe = label("", "fact", "abort_safe_state")
        self._safe.setWordWrap(True)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(label("Abort criteria, watched all the time", "heading"))
        column.addWidget(self.table, 3)
        column.addWidget(self._safe)
        column.addWidget(self._when)
        column.addWidget(self.inputs, 2)
        self.table.selectionModel().selectionChanged.connect(self._tell)

    def show_aborts(self, rows: Sequence[AbortRow]) -> None:
        """Show *rows*."""
        self._rows = tuple(rows)
        self.table.show_rows([_table_row(row) for row in rows])
        self.table.select_first()
        self._tell()

    def _tell(self) -> None:
        """Show what the selected criterion looks at."""
        selected = self.table.selected_rows()
        key = selected[0].key if selected else ""
        chosen = next((row for row in self._rows if row.limit == key), None)
        self._safe.setText(f"Safe state: {chosen.safe_state}" if chosen is not None else "")
        self._when.setText(f"Met when {chosen.when}" if chosen is not None else "")
        self.inputs.show_rows(
            [
                TableRow(one.name, (one.name, one.state, one.value, one.limit))
                for one in (chosen.inputs if chosen is not None else ())
            ]
        )


def _table_row(row: AbortRow) -> TableRow:
    """Lay out one criterion."""
    tip = f"{row.title}\nMet when {row.when}\nSafe state: {row.safe_state}"
    cells = (row.title, row.state, row.met, row.safe_state)
    return TableRow(row.limit, cells, row.severity, tip, row)
