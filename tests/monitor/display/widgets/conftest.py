"""A window that lives as long as its test."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from monitor.display.theme.palette import PALETTE
from monitor.display.theme.sheet import style_sheet


@pytest.fixture
def window(qtbot: QtBot) -> QWidget:
    """Give an active window with the display's style."""
    made = QWidget()
    qtbot.addWidget(made)
    made.setStyleSheet(style_sheet(PALETTE))
    made.resize(700, 300)
    made.show()
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow)
    return made
