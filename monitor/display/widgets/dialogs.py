"""Questions to the person at the screen. Each has a classmethod ``ask`` that waits for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QLineEdit,
    QListWidget,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from monitor.display.state.keys import KEYS
from monitor.display.widgets.labels import label
from monitor.display.widgets.rows_model import Column, TableRow
from monitor.display.widgets.tables import RowsTable

#: The engine refuses longer shelves: a shelf is for a shift.
_LONGEST_SHELF_MIN = 12 * 60
_USUAL_SHELF_MIN = 30


@dataclass(frozen=True, slots=True)
class Shelf:
    """How long to shelve an alarm and why."""

    minutes: int
    reason: str


class Question(QDialog):
    """A dialog with a sentence, fields, and two buttons; Enter is yes, Escape is no."""

    def __init__(self, parent: QWidget | None, title: str, sentence: str, yes: str) -> None:
        """Lay out the sentence and the buttons; fields go between."""
        super().__init__(parent)
        self.setObjectName("question")
        self.setWindowTitle(title)
        self.setMinimumWidth(460)
        self.fields = QVBoxLayout()
        says = label(sentence, "fact", "question_sentence")
        says.setWordWrap(True)
        self.buttons = QDialogButtonBox()
        self.yes = self.buttons.addButton(yes, QDialogButtonBox.ButtonRole.AcceptRole)
        self.yes.setObjectName("question_yes")
        self.yes.setDefault(True)
        self.buttons.addButton("Cancel  Esc", QDialogButtonBox.ButtonRole.RejectRole)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 14, 16, 14)
        column.setSpacing(10)
        column.addWidget(says)
        column.addLayout(self.fields)
        column.addWidget(self.buttons)

    def text_field(self, caption: str, text: str, name: str) -> QLineEdit:
        """Add a line to write on; without any text the answer cannot be yes."""
        line = QLineEdit(text)
        line.setObjectName(name)
        line.setMaxLength(500)
        line.textChanged.connect(lambda now: self.yes.setEnabled(bool(now.strip())))
        self.yes.setEnabled(bool(text.strip()))
        self.fields.addWidget(label(caption, "caption"))
        self.fields.addWidget(line)
        line.setFocus()
        return line

    def is_yes(self) -> bool:
        """Wait for the answer."""
        return self.exec() == QDialog.DialogCode.Accepted


class AskText(Question):
    """Asks for one line of text."""

    @classmethod
    def ask(
        cls, parent: QWidget | None, title: str, sentence: str, text: str = "", yes: str = "OK"
    ) -> str | None:
        """Give what the person wrote, or None when they do not want to."""
        question = cls(parent, title, sentence, f"{yes}  Enter")
        line = question.text_field(title, text, "question_text")
        line.selectAll()
        answer = line.text().strip() if question.is_yes() else None
        question.deleteLater()
        return answer


class AskShelf(Question):
    """Asks how long to shelve an alarm, and why."""

    @classmethod
    def ask(cls, parent: QWidget | None, alarm: str) -> Shelf | None:
        """Give time and reason, or None."""
        sentence = (
            f"Shelve {alarm}? It stays quiet for this time and then comes back by itself. "
            "What watches instead is for you to say."
        )
        question = cls(parent, "Shelve an alarm", sentence, "Shelve  Enter")
        reason = question.text_field("Reason", "", "question_text")
        minutes = QSpinBox()
        minutes.setObjectName("question_minutes")
        minutes.setRange(1, _LONGEST_SHELF_MIN)
        minutes.setValue(_USUAL_SHELF_MIN)
        minutes.setSuffix(" min")
        question.fields.addWidget(label("For how long, in data time", "caption"))
        question.fields.addWidget(minutes)
        given = Shelf(minutes.value(), reason.text().strip()) if question.is_yes() else None
        question.deleteLater()
        return given


class AskPhase(Question):
    """Asks which phase to enter, shows what is normal in it, and asks for confirmation."""

    @classmethod
    def ask(
        cls, parent: QWidget | None, phases: Sequence[tuple[str, str, str]], now: str
    ) -> str | None:
        """Give the name of a phase, or None.

        Args:
            parent: Window to stand before.
            phases: Name, title and note of each.
            now: Name of the present one.
        """
        sentence = "Limits and alarms change with the phase. Enter which one?"
        question = cls(parent, "Enter a phase", sentence, "Enter this phase  Enter")
        chosen = question.phase_list(phases, now)
        name = phases[chosen.currentRow()][0] if question.is_yes() else None
        question.deleteLater()
        if name is None:
            return None
        title = next(title for key, title, _ in phases if key == name)
        sure = cls(parent, "Enter a phase", f"Enter phase {title} now?", "Yes, enter  Enter")
        is_sure = sure.is_yes()
        sure.deleteLater()
        return name if is_sure else None

    def phase_list(self, phases: Sequence[tuple[str, str, str]], now: str) -> QListWidget:
        """Add the list of phases; the one after the present one is chosen."""
        chosen = QListWidget()
        chosen.setObjectName("question_phases")
        for name, title, _ in phases:
            chosen.addItem(f"{title}  (present phase)" if name == now else title)
        note = label("", "quiet", "question_note")
        note.setWordWrap(True)
        note.setMinimumHeight(44)
        note.setAlignment(Qt.AlignmentFlag.AlignTop)
        chosen.currentRowChanged.connect(lambda row: note.setText(phases[row][2]))
        names = [name for name, _, _ in phases]
        after = names.index(now) + 1 if now in names else 0
        chosen.setCurrentRow(min(after, len(names) - 1))
        self.fields.addWidget(chosen)
        self.fields.addWidget(note)
        chosen.setFocus()
        return chosen


class KeyList(QDialog):
    """Every key and what it does."""

    def __init__(self, parent: QWidget | None) -> None:
        """List the keys by group."""
        super().__init__(parent)
        self.setObjectName("key_list")
        self.setWindowTitle("Keys")
        self.resize(620, 740)
        columns = (Column("Key", 130), Column("What it does", 300, is_stretched=True))
        table = RowsTable("key_table", columns, {})
        table.show_rows(self._rows())
        closing = label("Close with Esc. In the alarm list, Space acknowledges.", "quiet")
        column = QVBoxLayout(self)
        column.addWidget(table)
        column.addWidget(closing)

    @staticmethod
    def _rows() -> list[TableRow]:
        """Lay out the keys under their headings."""
        rows, group = [], ""
        for key in KEYS:
            if key.group != group:
                group = key.group
                rows.append(TableRow(f"group {group}", (group,), is_heading=True))
            rows.append(TableRow(key.name, (key.keys, key.does)))
        return rows

    @classmethod
    def ask(cls, parent: QWidget | None) -> Self:
        """Show the list until it is closed."""
        shown = cls(parent)
        shown.exec()
        shown.deleteLater()
        return shown
