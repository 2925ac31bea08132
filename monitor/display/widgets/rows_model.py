"""The one table model: rows with a key, told apart by it when they come, go and move."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtGui import QColor

from monitor.display.state.severity import Severity
from monitor.display.theme.palette import PALETTE

Index = QModelIndex | QPersistentModelIndex

#: What rows of a table lie below.
_TOP = QModelIndex()

#: Gives the :class:`TableRow` of an index.
ROW_ROLE = int(Qt.ItemDataRole.UserRole) + 1


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row as a table shows it.

    Attributes:
        key: Unique in the table, the same for the same matter from one time to the next.
        cells: Text of each column; of a column painted by hand, what it says in words: a
            change of text is what makes a cell be painted anew.
        severity: Colours the text of the columns named by the table.
        tip: Longer text for who looks closer.
        payload: The state object behind the row, for painters of cells.
        is_heading: Spans all columns and cannot be selected.
    """

    key: str
    cells: tuple[str, ...]
    severity: Severity = Severity.CALM
    tip: str = ""
    payload: object = None
    is_heading: bool = False


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, width in pixels, and whether it takes what width is left."""

    title: str
    width: int
    is_right: bool = False
    is_stretched: bool = False
    is_coloured: bool = False


class RowsModel(QAbstractTableModel):
    """Rows over state objects. :meth:`show_rows` is the only way to change them."""

    def __init__(self, columns: Sequence[Column], parent: QObject | None = None) -> None:
        """Start without rows."""
        super().__init__(parent)
        self.columns = tuple(columns)
        self._rows: list[TableRow] = []

    @property
    def rows(self) -> Sequence[TableRow]:
        """Give the rows shown now."""
        return self._rows

    def row_of(self, key: str) -> int:
        """Give the position of a row, -1 when it is not there."""
        return next((n for n, row in enumerate(self._rows) if row.key == key), -1)

    def rowCount(self, parent: Index = _TOP) -> int:  # noqa: N802 - Qt's name
        """Count rows; a row has no rows below it."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = _TOP) -> int:  # noqa: N802 - Qt's name
        """Count columns."""
        return 0 if parent.isValid() else len(self.columns)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Give text, alignment, colour or the whole row of a cell."""
        if not index.isValid():
            return None
        row = self._rows[index.row()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return row.cells[index.column()] if index.column() < len(row.cells) else ""
        if role == ROW_ROLE:
            return row
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return self.alignment(index.column())
        if role == Qt.ItemDataRole.ForegroundRole:
            return self.colour(row, index.column())
        return (row.tip or None) if role == Qt.ItemDataRole.ToolTipRole else None

    def alignment(self, column: int) -> Qt.AlignmentFlag:
        """Give how a column's text is aligned."""
        is_right = self.columns[column].is_right
        side = Qt.AlignmentFlag.AlignRight if is_right else Qt.AlignmentFlag.AlignLeft
        return side | Qt.AlignmentFlag.AlignVCenter

    def colour(self, row: TableRow, column: int) -> QColor:
        """Colour headings and calm rows quietly, others where the column says so."""
        if row.is_heading:
            return QColor(PALETTE.quiet)
        is_coloured = self.columns[column].is_coloured
        return QColor(PALETTE.of(row.severity if is_coloured else Severity.CALM))

    def headerData(  # noqa: N802 - Qt's name
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Give the columns' headings."""
        if orientation is not Qt.Orientation.Horizontal or section >= len(self.columns):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self.columns[section].title
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return self.alignment(section)
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Let rows be selected, headings not."""
        if not index.isValid():
            return Qt.ItemFlag.NoItemFlags
        if self._rows[index.row()].is_heading:
            return Qt.ItemFlag.ItemIsEnabled
        return Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable

    def show_rows(self, rows: Sequence[TableRow]) -> None:
        """Show *rows*; selection follows the keys. Cheap when nothing changed."""
        keys = [row.key for row in rows]
        if keys != [row.key for row in self._rows]:
            self._remove_all_but(set(keys))
            self._append_missing(rows)
            self._reorder(keys)
        changed: dict[int, list[int]] = {}
        for number, row in enumerate(rows):
            if row != self._rows[number]:
                for column in self._changed_columns(self._rows[number], row):
                    changed.setdefault(column, []).append(number)
                self._rows[number] = row
        for column, numbers in changed.items():
            start, end = self.index(numbers[0], column), self.index(numbers[-1], column)
            self.dataChanged.emit(start, end)

    def _changed_columns(self, was: TableRow, row: TableRow) -> Iterable[int]:
        """List the columns that look different; a new mark or colour concerns the whole row."""
        everything = range(len(self.columns))
        if was.severity is not row.severity or was.cells[:1] != row.cells[:1]:
            return everything
        pairs = zip_longest(was.cells, row.cells, fillvalue="")
        return [column for column, (old, new) in enumerate(pairs) if old != new]

    def _remove_all_but(self, keys: set[str]) -> None:
        """Take rows away that are no longer there, in as few pieces as they come."""
        end = len(self._rows)
        while end > 0:
            if self._rows[end - 1].key in keys:
                end -= 1
                continue
            start = end - 1
            while start > 0 and self._rows[start - 1].key not in keys:
                start -= 1
            self.beginRemoveRows(QModelIndex(), start, end - 1)
            del self._rows[start:end]
            self.endRemoveRows()
            end = start

    def _append_missing(self, rows: Sequence[TableRow]) -> None:
        """Put rows that are new behind the others."""
        there = {row.key for row in self._rows}
        missing = [row for row in rows if row.key not in there]
        if missing:
            start = len(self._rows)
            self.beginInsertRows(QModelIndex(), start, start + len(missing) - 1)
            self._rows += missing
            self.endInsertRows()

    def _reorder(self, keys: list[str]) -> None:
        """Bring the rows into the order of *keys*."""
        if keys == [row.key for row in self._rows]:
            return
        self.layoutAboutToBeChanged.emit()
        before = self.persistentIndexList()
        old_keys = [self._rows[index.row()].key for index in before]
        place = {key: number for number, key in enumerate(keys)}
        self._rows.sort(key=lambda row: place[row.key])
        after = [
            self.index(place[key], index.column())
            for key, index in zip(old_keys, before, strict=True)
        ]
        self.changePersistentIndexList(before, after)
        self.layoutChanged.emit()
