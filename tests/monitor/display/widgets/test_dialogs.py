"""Tests for monitor.display.widgets.dialogs.

Source: hand-worked here. Each question is answered by keys alone.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QApplication, QDialog, QLabel, QPushButton, QSpinBox
from pytestqt.qtbot import QtBot

from monitor.display.state.keys import KEYS
from monitor.display.widgets.dialogs import AskPhase, AskShelf, AskText, KeyList, Shelf
from monitor.display.widgets.tables import RowsTable

PHASES = [
    ("fill", "Fill", "Pressure rises."),
    ("soak", "Soak", "Steady."),
    ("vent", "Vent", ""),
]


def answer(qtbot: QtBot, *steps: Callable[[QDialog], None]) -> None:
    """Do one step in each dialog that opens, in turn."""
    waiting = list(steps)

    def look() -> None:
        dialog = QApplication.activeModalWidget()
        if isinstance(dialog, QDialog) and dialog.isVisible():
            waiting.pop(0)(dialog)
        if waiting:
            QTimer.singleShot(20, look)

    QTimer.singleShot(0, look)


def typed(
    qtbot: QtBot, text: str, key: Qt.Key = Qt.Key.Key_Return
) -> Callable[[QDialog], None]:
    """Type a text where the cursor is, then press a key."""

    def step(dialog: QDialog) -> None:
        focus = dialog.focusWidget()
        assert focus is not None
        qtbot.keyClicks(focus, text)
        qtbot.keyClick(focus, key)

    return step


def test_a_text_is_asked_for_and_given_without_spaces_around_it(qtbot: QtBot) -> None:
    answer(qtbot, typed(qtbot, "  K. Vale "))

    assert AskText.ask(None, "Name", "Who is acting?") == "K. Vale"


def test_escape_gives_nothing(qtbot: QtBot) -> None:
    answer(qtbot, typed(qtbot, "K. Vale", Qt.Key.Key_Escape))

    assert AskText.ask(None, "Name", "Who is acting?") is None


def test_without_a_text_the_answer_cannot_be_yes(qtbot: QtBot) -> None:
    seen: list[bool] = []

    def step(dialog: QDialog) -> None:
        yes = dialog.findChild(QPushButton, "question_yes")
        assert yes is not None
        seen.append(yes.isEnabled())
        qtbot.keyClicks(dialog.focusWidget(), "  x")
        seen.append(yes.isEnabled())
        dialog.reject()

    answer(qtbot, step)

    assert AskText.ask(None, "Name", "Who is acting?") is None
    assert seen == [False, True]


def test_what_was_there_before_is_written_over(qtbot: QtBot) -> None:
    answer(qtbot, typed(qtbot, "B"))

    assert AskText.ask(None, "Name", "Who?", "A") == "B"


def test_a_shelf_needs_a_reason_and_has_a_time(qtbot: QtBot) -> None:
    def step(dialog: QDialog) -> None:
        minutes = dialog.findChild(QSpinBox, "question_minutes")
        assert minutes is not None
        assert minutes.value() == 30
        minutes.setValue(45)
        typed(qtbot, "sensor in repair")(dialog)

    answer(qtbot, step)

    assert AskShelf.ask(None, "PT-1: high") == Shelf(45, "sensor in repair")


def test_a_shelf_is_no_longer_than_the_engine_allows(qtbot: QtBot) -> None:
    def step(dialog: QDialog) -> None:
        minutes = dialog.findChild(QSpinBox, "question_minutes")
        assert minutes is not None
        assert (minutes.minimum(), minutes.maximum()) == (1, 12 * 60)
        dialog.reject()

    answer(qtbot, step)

    assert AskShelf.ask(None, "PT-1: high") is None


def test_the_next_phase_is_offered_with_its_note_and_must_be_confirmed(qtbot: QtBot) -> None:
    notes: list[str] = []

    def choose(dialog: QDialog) -> None:
        note = dialog.findChild(QLabel, "question_note")
        assert note is not None
        notes.append(note.text())
        qtbot.keyClick(dialog.focusWidget(), Qt.Key.Key_Return)

    def confirm(dialog: QDialog) -> None:
        sentence = dialog.findChild(QLabel, "question_sentence")
        assert sentence is not None
        notes.append(sentence.text())
        qtbot.keyClick(dialog, Qt.Key.Key_Return)

    answer(qtbot, choose, confirm)

    assert AskPhase.ask(None, PHASES, "fill") == "soak"
    assert notes == ["Steady.", "Enter phase Soak now?"]


def test_a_phase_that_is_not_confirmed_is_not_entered(qtbot: QtBot) -> None:
    answer(
        qtbot,
        lambda dialog: qtbot.keyClick(dialog.focusWidget(), Qt.Key.Key_Return),
        lambda dialog: qtbot.keyClick(dialog, Qt.Key.Key_Escape),
    )

    assert AskPhase.ask(None, PHASES, "fill") is None


@pytest.mark.parametrize(("now", "offered"), [("vent", 2), ("unknown", 0)])
def test_another_phase_can_be_chosen_and_none_is_refused_a_start(
    qtbot: QtBot, now: str, offered: int
) -> None:
    rows: list[int] = []

    def step(dialog: QDialog) -> None:
        focus = dialog.focusWidget()
        rows.append(getattr(focus, "currentRow")())  # noqa: B009 - any widget may have focus
        dialog.reject()

    answer(qtbot, step)

    assert AskPhase.ask(None, PHASES, now) is None
    assert rows == [offered]


def test_the_list_of_keys_has_every_key(qtbot: QtBot) -> None:
    listed: list[str] = []

    def step(dialog: QDialog) -> None:
        table = dialog.findChild(RowsTable, "key_table")
        assert table is not None
        listed.extend(row.cells[0] for row in table.rows.rows if not row.is_heading)
        qtbot.keyClick(dialog, Qt.Key.Key_Escape)

    answer(qtbot, step)
    KeyList.ask(None)

    assert listed == [key.keys for key in KEYS]
