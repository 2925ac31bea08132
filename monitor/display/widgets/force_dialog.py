"""The question to which value a channel is to be forced."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtWidgets import QLineEdit, QWidget

from monitor.display.state.edit import ForceForm, number_of, number_problem
from monitor.display.widgets.labels import label
from monitor.display.widgets.limit_dialogs import About, AskReason


@dataclass(frozen=True, slots=True)
class Force:
    """To which value, for how long, why, and who agrees."""

    value: float
    minutes: int
    reason: str
    second: str


class AskForce(AskReason):
    """Asks for value, time, reason and, where a top priority alarm looks at it, who agrees."""

    @classmethod
    def ask(cls, parent: QWidget | None, form: ForceForm, by: str) -> Force | None:
        """Give the answer, or None."""
        about = About(form.title, by, form.needs_second)
        sentence = (
            f"Force {form.title} to a value? It counts as uncertain, has no vote, and is let "
            "go by itself. Its limits judge that value, not the sensor's."
        )
        question = cls(parent, "Force a value", sentence, "Force  Enter", about)
        value = question.value_field(form.unit)
        minutes = question.minutes_field()
        answer = question.agreed()
        number = number_of(value.text().strip())
        if answer is None or number is None:
            return None
        return Force(number, minutes.value(), answer.reason, answer.second)

    def value_field(self, unit: str) -> QLineEdit:
        """Add the value, before everything else."""
        line = QLineEdit()
        line.setObjectName("question_value")
        line.textChanged.connect(self.look)
        self.fields.insertWidget(0, label(f"Value, {unit}" if unit else "Value", "caption"))
        self.fields.insertWidget(1, line)
        self._more = lambda: number_problem(line.text())
        self._first = line
        return line
