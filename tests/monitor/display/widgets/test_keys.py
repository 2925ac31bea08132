"""Tests for monitor.display.widgets.keys.

Source: hand-worked here.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from monitor.display.state.keys import KEYS
from monitor.display.widgets.keys import key_button, make_actions


def test_each_key_has_an_action_with_its_shortcut_and_says_what_it_does(
    qtbot: QtBot,
) -> None:
    window = QWidget()
    qtbot.addWidget(window)

    actions = make_actions(window)

    assert {name: action.shortcut().toString() for name, action in actions.items()} == {
        key.name: key.keys for key in KEYS
    }
    assert all(key.does in actions[key.name].toolTip() for key in KEYS)
    assert set(window.actions()) == set(actions.values())


def test_a_key_and_its_button_do_the_same(qtbot: QtBot, window: QWidget) -> None:
    actions = make_actions(window)
    done: list[str] = []
    actions["silence"].triggered.connect(lambda: done.append("silence"))
    button = key_button(actions, "silence")
    qtbot.addWidget(button)

    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    qtbot.keyClick(window, Qt.Key.Key_F9)

    assert done == ["silence", "silence"]
    assert button.text() == "Silence  F9"


def test_a_click_on_a_button_leaves_the_keyboard_where_it_was(
    qtbot: QtBot, window: QWidget
) -> None:
    line = QLineEdit(window)
    button = key_button(make_actions(window), "edit")
    button.setParent(window)
    for part in (line, button):
        part.show()
    line.setFocus()

    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)

    assert window.focusWidget() is line
