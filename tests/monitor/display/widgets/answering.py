"""Answers questions as a person does: by keys, in the dialog that is open."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QApplication, QDialog, QLabel, QLineEdit, QPushButton
from pytestqt.qtbot import QtBot

Step = Callable[[QDialog], None]


def answer(*steps: Step) -> None:
    """Do one step in each dialog that opens, in turn."""
    waiting = list(steps)

    def look() -> None:
        dialog = QApplication.activeModalWidget()
        if isinstance(dialog, QDialog) and dialog.isVisible():
            waiting.pop(0)(dialog)
        if waiting:
            QTimer.singleShot(20, look)

    QTimer.singleShot(0, look)


def typed(qtbot: QtBot, text: str, key: Qt.Key = Qt.Key.Key_Return) -> Step:
    """Type a text where the cursor is, then press a key."""

    def step(dialog: QDialog) -> None:
        focus = dialog.focusWidget()
        assert focus is not None
        qtbot.keyClicks(focus, text)
        qtbot.keyClick(focus, key)

    return step


def line(dialog: QDialog, name: str) -> QLineEdit:
    """Give a line to write on."""
    found = dialog.findChild(QLineEdit, name)
    assert found is not None
    return found


def text(dialog: QDialog, name: str) -> str:
    """Read a label."""
    found = dialog.findChild(QLabel, name)
    assert found is not None
    return found.text()


def yes(dialog: QDialog) -> QPushButton:
    """Give the button that says yes."""
    found = dialog.findChild(QPushButton, "question_yes")
    assert found is not None
    return found
