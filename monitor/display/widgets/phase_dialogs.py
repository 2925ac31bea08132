"""Questions which phase or mode to enter."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from monitor.display.state.phases import PhaseRow
from monitor.display.state.severity import Severity
from monitor.display.widgets.dialogs import Question
from monitor.display.widgets.labels import label
from monitor.display.widgets.rows_model import Column, TableRow
from monitor.display.widgets.tables import LINE_PX, ROW_PX, RowsTable

_PHASE_COLUMNS = (
    Column("Phase", 170, is_coloured=True),
    Column("Planned", 176),
    Column("Present phase", 180),
    Column("Kind", 150),
    Column("What enters it by itself", 160, is_stretched=True),
)
_MODE_COLUMNS = (
    Column("Mode", 170, is_coloured=True),
    Column("Present mode", 150),
    Column("What is different in it", 200, is_stretched=True),
)
_PHASE_SAYS = "Limits and alarms change with the phase. Enter which one?"
_MODE_SAYS = (
    "A mode holds beside the phase; where they differ, the mode counts. Enter which one?"
)


class AskPlace(Question):
    """Shows phases or modes and asks which to enter."""

    @classmethod
    def ask_phase(cls, parent: QWidget | None, rows: Sequence[PhaseRow]) -> str | None:
        """Give the name of a phase, or None. The one after the present one is chosen."""
        question = cls(parent, "Enter a phase", _PHASE_SAYS, "Enter this phase  Enter")
        question.setMinimumWidth(1040)
        cells = [(one.title, one.planned, one.left, one.sort, one.entry) for one in rows]
        return question.answer(rows, _PHASE_COLUMNS, cells)

    @classmethod
    def ask_mode(cls, parent: QWidget | None, rows: Sequence[PhaseRow]) -> str | None:
        """Give the name of a mode, or None."""
        question = cls(parent, "Enter a mode", _MODE_SAYS, "Enter this mode  Enter")
        question.setMinimumWidth(640)
        cells = [(one.title, one.left, one.note) for one in rows]
        return question.answer(rows, _MODE_COLUMNS, cells)

    def answer(
        self,
        rows: Sequence[PhaseRow],
        columns: Sequence[Column],
        cells: Sequence[tuple[str, ...]],
    ) -> str | None:
        """Show *rows* as *cells*, and give the chosen name."""
        table = _table(rows, columns, cells)
        note = label("", "quiet", "question_note")
        note.setWordWrap(True)
        note.setMinimumHeight(44)
        note.setAlignment(Qt.AlignmentFlag.AlignTop)
        table.selectionModel().selectionChanged.connect(lambda: note.setText(_note(table)))
        table.doubleClicked.connect(self.accept)
        now = next((number for number, row in enumerate(rows) if row.is_now), -1)
        if rows:
            table.select_key(rows[min(now + 1, len(rows) - 1)].name)
        self.fields.addWidget(table)
        self.fields.addWidget(note)
        table.setFocus()
        chosen = [row.key for row in table.selected_rows()] if self.is_yes() else []
        self.deleteLater()
        return chosen[0] if chosen else None


def _table(
    rows: Sequence[PhaseRow], columns: Sequence[Column], cells: Sequence[tuple[str, ...]]
) -> RowsTable:
    """Make the list of phases or modes."""
    table = RowsTable("question_places", columns, {})
    table.set_lines(2)
    table.show_rows(
        [
            TableRow(row.name, texts, Severity.CALM, "\n".join((row.note, row.entry)), row)
            for row, texts in zip(rows, cells, strict=True)
        ]
    )
    table.setMinimumHeight((ROW_PX + LINE_PX) * min(9, len(rows)) + 34)
    return table


def _note(table: RowsTable) -> str:
    """Give what is normal in the selected phase, and what enters it by itself."""
    selected = table.selected_rows()
    row = selected[0].payload if selected else None
    if not isinstance(row, PhaseRow):
        return ""
    entry = f" Entered by itself {row.entry}." if row.entry else ""
    return f"{row.note}{entry}"
