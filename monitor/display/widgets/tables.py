"""How every table looks and behaves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set

from PySide6.QtCore import QItemSelectionModel, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from monitor.display.theme.palette import PALETTE
from monitor.display.widgets.cells import CellDelegate, Painter
from monitor.display.widgets.rows_model import Column, RowsModel, TableRow

ROW_PX = 22
#: What a further line adds to a row.
LINE_PX = 17


class RowsTable(QTableView):
    """A table over a :class:`RowsModel`, for reading and choosing whole rows.

    Args:
        name: Object name.
        columns: Columns from left to right.
        painters: Columns that are painted by hand.
        many: Whether several rows can be selected at once.
        placeholder: What to say while there are no rows.
    """

    def __init__(
        self,
        name: str,
        columns: Sequence[Column],
        painters: Mapping[int, Painter],
        *,
        many: bool = False,
        placeholder: str = "",
        parent: QWidget | None = None,
    ) -> None:
        """Lay out the columns."""
        super().__init__(parent)
        self._placeholder = placeholder
        self._row_px = ROW_PX
        self.setObjectName(name)
        self.rows = RowsModel(columns, self)
        self.setModel(self.rows)
        self.setItemDelegate(CellDelegate(self.rows, painters, self))
        self._behave(many=many)
        header = self.horizontalHeader()
        header.setHighlightSections(False)
        for number, column in enumerate(columns):
            stretch = QHeaderView.ResizeMode.Stretch
            fixed = QHeaderView.ResizeMode.Interactive
            header.setSectionResizeMode(number, stretch if column.is_stretched else fixed)
            header.resizeSection(number, column.width)
        self._headings: set[int] = set()

    def _behave(self, *, many: bool) -> None:
        """Select whole rows; leave Tab to the window."""
        selection = QAbstractItemView.SelectionMode
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(
            selection.ExtendedSelection if many else selection.SingleSelection
        )
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setWordWrap(False)
        vertical = self.verticalHeader()
        vertical.hide()
        vertical.setMinimumSectionSize(ROW_PX)
        vertical.setDefaultSectionSize(ROW_PX)

    def set_lines(self, lines: int) -> None:
        """Give each row so many lines of text; what is longer ends with dots."""
        self._row_px = ROW_PX + (lines - 1) * LINE_PX
        self.verticalHeader().setDefaultSectionSize(self._row_px)

    def show_rows(self, rows: Sequence[TableRow]) -> None:
        """Show *rows*; headings span the table."""
        self.rows.show_rows(rows)
        headings = {number for number, row in enumerate(rows) if row.is_heading}
        if headings != self._headings:
            self.clearSpans()
            for number in sorted(headings):
                self.setSpan(number, 0, 1, len(self.rows.columns))
            self._headings = headings
            self._set_heights(headings)

    def _set_heights(self, headings: Set[int]) -> None:
        """Give headings one line where other rows have more."""
        for number in range(len(self.rows.rows) if self._row_px > ROW_PX else 0):
            self.setRowHeight(number, ROW_PX if number in headings else self._row_px)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Paint the rows, or say that there are none."""
        super().paintEvent(event)
        if not self.rows.rows and self._placeholder:
            painter = QPainter(self.viewport())
            painter.setPen(QColor(PALETTE.quiet))
            middle = Qt.AlignmentFlag.AlignCenter
            painter.drawText(self.viewport().rect(), middle, self._placeholder)

    def selected_rows(self) -> list[TableRow]:
        """Give the selected rows from top to bottom."""
        chosen = sorted({index.row() for index in self.selectionModel().selectedRows()})
        return [self.rows.rows[number] for number in chosen]

    def visible_rows(self) -> list[TableRow]:
        """Give the rows of which the whole height can be seen."""
        height = self.viewport().height()
        return [
            row
            for number, row in enumerate(self.rows.rows)
            if self.rowViewportPosition(number) >= 0
            and self.rowViewportPosition(number) + self.rowHeight(number) <= height
        ]

    def select_first(self) -> None:
        """Select the first row that can be, unless one is selected."""
        if self.selectionModel().hasSelection():
            return
        for row in self.rows.rows:
            if not row.is_heading:
                self.select_key(row.key)
                return

    def select_key(self, key: str) -> None:
        """Select the row with this key, and no other."""
        self.selectionModel().setCurrentIndex(
            self.rows.index(self.rows.row_of(key), 0),
            QItemSelectionModel.SelectionFlag.ClearAndSelect
            | QItemSelectionModel.SelectionFlag.Rows,
        )
