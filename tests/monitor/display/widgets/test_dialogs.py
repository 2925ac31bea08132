"""Tests for monitor.display.widgets.dialogs.

Source: hand-worked here. Each question is answered by keys alone.
"""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QPushButton
from pytestqt.qtbot import QtBot

from monitor.display.state.keys import KEYS
from monitor.display.widgets.dialogs import AskSure, AskText, KeyList
from monitor.display.widgets.tables import RowsTable
from tests.monitor.display.widgets.answering import answer, typed


def test_a_text_is_asked_for_and_given_without_spaces_around_it(qtbot: QtBot) -> None:
    answer(typed(qtbot, "  K. Vale "))

    assert AskText.ask(None, "Name", "Who is acting?") == "K. Vale"


def test_escape_gives_nothing(qtbot: QtBot) -> None:
    answer(typed(qtbot, "K. Vale", Qt.Key.Key_Escape))

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

    answer(step)

    assert AskText.ask(None, "Name", "Who is acting?") is None
    assert seen == [False, True]


def test_what_was_there_before_is_written_over(qtbot: QtBot) -> None:
    answer(typed(qtbot, "B"))

    assert AskText.ask(None, "Name", "Who?", "A") == "B"


@pytest.mark.parametrize(
    ("key", "is_sure"), [(Qt.Key.Key_Return, True), (Qt.Key.Key_Escape, False)]
)
def test_being_sure_takes_enter_and_escape_is_no(
    qtbot: QtBot, key: Qt.Key, is_sure: bool
) -> None:
    answer(lambda dialog: qtbot.keyClick(dialog, key))

    assert AskSure.ask(None, "Sure?", "Enter phase Soak now?", "Yes") is is_sure


def test_the_list_of_keys_has_every_key(qtbot: QtBot) -> None:
    listed: list[str] = []

    def step(dialog: QDialog) -> None:
        table = dialog.findChild(RowsTable, "key_table")
        assert table is not None
        listed.extend(row.cells[0] for row in table.rows.rows if not row.is_heading)
        qtbot.keyClick(dialog, Qt.Key.Key_Escape)

    answer(step)
    KeyList.ask(None)

    assert listed == [key.keys for key in KEYS]
