"""Tests for monitor.display.widgets.force_dialog.

Source: hand-worked here. The question is answered by keys alone.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog
from pytestqt.qtbot import QtBot

from monitor.display.state.edit import ForceForm
from monitor.display.widgets.force_dialog import AskForce, Force
from tests.monitor.display.widgets.answering import answer, line, text, typed, yes

FORM = ForceForm("PT-1", "PT-1 Supply", "bar", True)


def test_a_value_is_forced_with_time_reason_and_second_name(qtbot: QtBot) -> None:
    told: list[str] = []

    def step(dialog: QDialog) -> None:
        assert dialog.focusWidget() is line(dialog, "question_value")
        told.append(text(dialog, "question_missing"))
        qtbot.keyClicks(dialog.focusWidget(), "5,25")
        told.append(text(dialog, "question_missing"))
        line(dialog, "question_text").setText("loose")
        assert not yes(dialog).isEnabled()
        line(dialog, "question_second").setText("M. Ito")
        qtbot.keyClick(dialog.focusWidget(), Qt.Key.Key_Return)

    answer(step)

    assert AskForce.ask(None, FORM, "K. Vale") == Force(5.25, 30, "loose", "M. Ito")
    assert told == ["Give the value as a number.", "Give a reason."]


def test_escape_forces_nothing(qtbot: QtBot) -> None:
    answer(typed(qtbot, "5", Qt.Key.Key_Escape))

    assert AskForce.ask(None, FORM, "K. Vale") is None
