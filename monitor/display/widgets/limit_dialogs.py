"""Questions about one limit: which, for how long, who agrees, and what to change."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtWidgets import QGridLayout, QLineEdit, QListWidget, QSpinBox, QWidget

from monitor.display.state.edit import (
    Choice,
    EditForm,
    Verdict,
    judge_edit,
    second_problem,
)
from monitor.display.widgets.dialogs import Question
from monitor.display.widgets.labels import label

#: The engine refuses longer shelves: a shelf is for a shift.
_LONGEST_SHELF_MIN = 12 * 60
_USUAL_SHELF_MIN = 30


@dataclass(frozen=True, slots=True)
class Agreed:
    """What was answered. *second* is empty where nobody has to agree.

    Attributes:
        reason: Why.
        second: Who agrees.
        minutes: For how long, for a shelf.
        verdict: What to change, for an edit.
    """

    reason: str
    second: str = ""
    minutes: int = 0
    verdict: Verdict | None = None


@dataclass(frozen=True, slots=True)
class About:
    """The limit that is asked about: its name, who acts, whether a second has to agree."""

    title: str
    by: str
    needs_second: bool


class AskReason(Question):
    """Asks why and, for top priority, who agrees; says what is still missing."""

    def __init__(
        self, parent: QWidget | None, title: str, sentence: str, yes: str, about: About
    ) -> None:
        """Lay out what every one of these questions has."""
        super().__init__(parent, title, sentence, yes)
        self._about = about
        self._second: QLineEdit | None = None
        self._missing = label("", "quiet", "question_missing")
        self._missing.setWordWrap(True)
        self._more: Callable[[], str] = str
        self._reason = self._first = self._line("Reason", "question_text")
        if about.needs_second:
            caption = "Second name: top priority takes two people"
            self._second = self._line(caption, "question_second")

    def _line(self, caption: str, name: str) -> QLineEdit:
        """Add a line to write on."""
        line = QLineEdit()
        line.setObjectName(name)
        line.setMaxLength(500 if name == "question_text" else 100)
        line.textChanged.connect(self.look)
        self.fields.addWidget(label(caption, "caption"))
        self.fields.addWidget(line)
        return line

    def minutes_field(self) -> QSpinBox:
        """Add how long it is to last, at most what the engine allows."""
        minutes = QSpinBox()
        minutes.setObjectName("question_minutes")
        minutes.setRange(1, _LONGEST_SHELF_MIN)
        minutes.setValue(_USUAL_SHELF_MIN)
        minutes.setSuffix(" min")
        self.fields.addWidget(label("For how long (Up and Down change it)", "caption"))
        self.fields.addWidget(minutes)
        return minutes

    def look(self) -> None:
        """Say what is missing; only a whole answer can be yes."""
        reason = "" if self._reason.text().strip() else "Give a reason."
        second = second_problem(self._about.by, self.second) if self._second else ""
        missing = self._more() or reason or second
        self._missing.setText(missing)
        self.yes.setEnabled(not missing)

    @property
    def second(self) -> str:
        """Give the second name; empty where none is asked for."""
        return self._second.text().strip() if self._second else ""

    def agreed(self) -> Agreed | None:
        """Wait for the answer; None for no."""
        self.fields.addWidget(self._missing)
        self.look()
        self._first.setFocus()
        self._first.selectAll()
        is_yes = self.is_yes()
        self.deleteLater()
        return Agreed(self._reason.text().strip(), self.second) if is_yes else None


class AskShelf(AskReason):
    """Asks how long to shelve an alarm, and why."""

    @classmethod
    def ask(cls, parent: QWidget | None, about: About) -> Agreed | None:
        """Give time, reason and second name, or None."""
        sentence = (
            f"Shelve {about.title}? It stays quiet for this time and then comes back by "
            "itself. The register lists it, with what watches instead."
        )
        question = cls(parent, "Shelve an alarm", sentence, "Shelve  Enter", about)
        minutes = question.minutes_field()
        answer = question.agreed()
        if answer is None:
            return None
        return Agreed(answer.reason, answer.second, minutes.value())


class AskService(AskReason):
    """Asks why to take an alarm out of service."""

    @classmethod
    def ask(cls, parent: QWidget | None, about: About) -> Agreed | None:
        """Give reason and second name, or None."""
        sentence = f"Take {about.title} out of service until it is returned?"
        yes = "Take out of service  Enter"
        return cls(parent, "Out of service", sentence, yes, about).agreed()


class AskEdit(AskReason):
    """Asks what to change of a limit: what it is now beside what it is to be."""

    @classmethod
    def ask(cls, parent: QWidget | None, form: EditForm, by: str) -> Agreed | None:
        """Give the changes with reason and second name, or None."""
        about = About(form.title, by, form.needs_second)
        sentence = (
            f"Change {form.title} for the rest of this run? The journal keeps old, new, "
            "reason and name; the stand file stays as it is."
        )
        question = cls(parent, "Edit a limit", sentence, "Change  Enter", about)
        verdicts = question.entries(form)
        answer = question.agreed()
        if answer is None:
            return None
        return Agreed(answer.reason, answer.second, 0, verdicts())

    def entries(self, form: EditForm) -> Callable[[], Verdict]:
        """Lay out the figures and what changes; give what reads them."""
        lines = self._figures(form)
        told = label("", "fact", "question_told")
        told.setWordWrap(True)
        self.fields.insertWidget(1, told)

        def verdict() -> Verdict:
            """Judge what is entered now."""
            return judge_edit(form, {key: line.text() for key, line in lines.items()})

        def look_at() -> str:
            """Tell what would change; give what is wrong with it."""
            judged = verdict()
            told.setText(_capital("; ".join(judged.told)))
            return judged.problem

        self._more = look_at
        self._first = next(iter(lines.values()), self._reason)
        return verdict

    def _figures(self, form: EditForm) -> dict[str, QLineEdit]:
        """Lay out what each figure is, beside a line for what it is to be."""
        grid = QGridLayout()
        grid.setHorizontalSpacing(14)
        for column, caption in enumerate(("", "Now", "New", "")):
            grid.addWidget(label(caption, "caption"), 0, column)
        lines: dict[str, QLineEdit] = {}
        for row, field in enumerate(form.fields, start=1):
            line = QLineEdit(field.entry)
            line.setObjectName(f"edit_{field.key}")
            line.textChanged.connect(self.look)
            lines[field.key] = line
            grid.addWidget(label(_capital(field.title), "fact"), row, 0)
            grid.addWidget(label(field.now_text, "quiet"), row, 1)
            grid.addWidget(line, row, 2)
            grid.addWidget(label(field.unit, "quiet"), row, 3)
        self.fields.insertLayout(0, grid)
        return lines


def _capital(text: str) -> str:
    """Begin a text with a capital, and leave the rest as it is."""
    return text[:1].upper() + text[1:]


class AskLimit(Question):
    """Asks which limit of a channel is meant."""

    @classmethod
    def ask(cls, parent: QWidget | None, verb: str, choices: Sequence[Choice]) -> str | None:
        """Give the id of a limit, or None."""
        question = cls(parent, "Which limit", f"{verb} which limit?", f"{verb}  Enter")
        chosen = QListWidget()
        chosen.setObjectName("question_limits")
        for choice in choices:
            chosen.addItem(choice.text)
        chosen.setCurrentRow(0)
        question.fields.addWidget(chosen)
        chosen.setFocus()
        is_yes = question.is_yes() and chosen.currentRow() >= 0
        question.deleteLater()
        return choices[chosen.currentRow()].limit if is_yes else None
