"""Keys as actions and buttons: each button says its key, each tooltip what it does."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QPushButton, QWidget

from monitor.display.state.keys import KEYS, Key

Actions = Mapping[str, QAction]


def make_actions(window: QWidget) -> dict[str, QAction]:
    """Make one action for each key, with its shortcut, and hand them to *window*."""
    return {key.name: _action(window, key) for key in KEYS}


def _action(window: QWidget, key: Key) -> QAction:
    """Make one action."""
    action = QAction(key.label, window)
    action.setObjectName(f"action_{key.name}")
    action.setShortcut(QKeySequence(key.keys))
    action.setShortcutContext(Qt.ShortcutContext.WindowShortcut)
    action.setToolTip(f"{key.does}  ({key.keys})")
    action.setProperty("label", key.with_key)
    window.addAction(action)
    return action


def key_button(actions: Actions, name: str) -> QPushButton:
    """Make the button of an action, labelled with its key."""
    action = actions[name]
    button = QPushButton(str(action.property("label")))
    button.setObjectName(f"button_{name}")
    button.setToolTip(action.toolTip())
    button.setAutoDefault(False)
    # A click leaves the keyboard where it is: what the button acts on is taken from there.
    button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    button.clicked.connect(action.trigger)
    return button
