"""Questions to the person at the screen. Each has a classmethod ``ask`` that waits for it."""

from __future__ import annotations

from itertools import pairwise
from typing import Self

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QLayout,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from monitor.display.state.keys import KEYS
from monitor.display.widgets.labels import label
from monitor.display.widgets.rows_model import Column, TableRow
from monitor.display.widgets.tables import RowsTable

_CLOSING = (
    "Close with Esc. In the alarm list Space acknowledges, and Right and Left show and fold "
    "what is quiet behind an alarm. What acts on a limit takes it from where the keyboard is: "
    "alarm list, register, or channel table."
)


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
        self.no = self.buttons.addButton("Cancel  Esc", QDialogButtonBox.ButtonRole.RejectRole)
        # Enter is yes wherever the keyboard is, even after it has been on this button.
        self.no.setAutoDefault(False)
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
        """Wait for the answer. Tab goes through the fields in their order, then the buttons."""
        order = [*_tab_stops(self.fields), self.yes, self.no]
        for before, after in pairwise(order):
            self.setTabOrder(before, after)
        return self.exec() == QDialog.DialogCode.Accepted


def _tab_stops(layout: QLayout) -> list[QWidget]:
    """Give what takes the keyboard in a layout and those within it, in their order."""
    stops: list[QWidget] = []
    items = [layout.itemAt(number) for number in range(layout.count())]
    for item in (one for one in items if one is not None):
        widget, inner = item.widget(), item.layout()
        if widget is not None and widget.focusPolicy() & Qt.FocusPolicy.TabFocus:
            stops.append(widget)
        elif inner is not None:
            stops += _tab_stops(inner)
    return stops


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


class AskSure(Question):
    """Asks once more."""

    @classmethod
    def ask(cls, parent: QWidget | None, title: str, sentence: str, yes: str) -> bool:
        """Tell whether the person is sure."""
        question = cls(parent, title, sentence, yes)
        is_sure = question.is_yes()
        question.deleteLater()
        return is_sure


class KeyList(QDialog):
    """Every key and what it does."""

    def __init__(self, parent: QWidget | None) -> None:
        """List the keys by group."""
        super().__init__(parent)
        self.setObjectName("key_list")
        self.setWindowTitle("Keys")
        self.resize(640, 780)
        columns = (Column("Key", 130), Column("What it does", 300, is_stretched=True))
        table = RowsTable("key_table", columns, {})
        table.show_rows(self._rows())
        closing = label(_CLOSING, "quiet")
        closing.setWordWrap(True)
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
