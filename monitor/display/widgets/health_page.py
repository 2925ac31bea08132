"""The page of links and counters."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QVBoxLayout, QWidget

from monitor.display.state.counters import CounterRow, LinkRow
from monitor.display.widgets.labels import label
from monitor.display.widgets.rows_model import Column, TableRow
from monitor.display.widgets.tables import RowsTable

_LINK_COLUMNS = (
    Column("Instrument", 120),
    Column("Link", 60, is_coloured=True),
    Column("For", 96),
    Column("Why, and what to do", 200, is_stretched=True),
    Column("Readings", 76, is_right=True),
    Column("Newest", 118),
)
_COUNTER_COLUMNS = (
    Column("Where", 120),
    Column("What", 200, is_stretched=True, is_coloured=True),
    Column("Number", 110, is_right=True),
    Column("Newest example or remark", 220, is_stretched=True),
)


class HealthPage(QWidget):
    """Shows each link and every counter: nothing that is dropped stays unseen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Lay out two tables."""
        super().__init__(parent)
        self.links = RowsTable("link_table", _LINK_COLUMNS, {})
        self.counters = RowsTable("counter_table", _COUNTER_COLUMNS, {})
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(label("Instruments", "heading"))
        column.addWidget(self.links, 2)
        column.addWidget(label("Counters", "heading"))
        column.addWidget(self.counters, 3)

    def show_links(self, rows: Sequence[LinkRow]) -> None:
        """Show the instruments' links."""
        self.links.show_rows([_link_row(row) for row in rows])

    def show_counters(self, rows: Sequence[CounterRow]) -> None:
        """Show the counters."""
        self.counters.show_rows([_counter_row(row) for row in rows])


def _link_row(row: LinkRow) -> TableRow:
    """Lay out one link."""
    why = ". ".join(part for part in (row.why, row.cure) if part)
    cells = (row.instrument, row.state, row.lasting, why, row.readings, row.newest)
    return TableRow(row.instrument, cells, row.severity, why)


def _counter_row(row: CounterRow) -> TableRow:
    """Lay out one counter."""
    cells = (row.where, row.what, row.number, row.example)
    return TableRow(f"{row.where}: {row.what}", cells, row.severity, row.example)
