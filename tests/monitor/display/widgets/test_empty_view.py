"""Tests for monitor.display.widgets.empty_view.

Source: hand-worked here.
"""

from __future__ import annotations

from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from monitor.display.state.connection import Connection, Stage
from monitor.display.state.empty import empty_page
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.sheet import style_sheet
from monitor.display.widgets.empty_view import EmptyView


def texts(view: EmptyView) -> list[str]:
    """Read every label that can be seen."""
    return [label.text() for label in view.findChildren(QLabel) if label.isVisible()]


def test_the_page_says_what_to_type_and_no_command_is_cut(qtbot: QtBot) -> None:
    view = EmptyView()
    qtbot.addWidget(view)
    view.setStyleSheet(style_sheet(PALETTE))
    view.resize(1280, 800)
    view.show()

    view.show_page(empty_page(Connection(Stage.SEARCHING, 0, 0, "host:1", "no", 2)))

    qtbot.waitUntil(lambda: "standwatch watch STANDFILE" in texts(view))
    for label in view.findChildren(QLabel):
        if label.property("role") == "command":
            qtbot.waitUntil(lambda label=label: label.height() >= label.sizeHint().height())


def test_steps_give_way_when_the_engine_is_there(qtbot: QtBot) -> None:
    view = EmptyView()
    qtbot.addWidget(view)
    view.show()
    view.show_page(empty_page(Connection()))

    view.show_page(empty_page(Connection(Stage.CONNECTED)))

    qtbot.waitUntil(lambda: "standwatch demo" not in texts(view))
    headline = view.findChild(QLabel, "empty_headline")
    assert headline is not None
    assert headline.text() == "Connected"


def test_only_what_changed_is_written_anew(qtbot: QtBot) -> None:
    view = EmptyView()
    qtbot.addWidget(view)
    view.show_page(empty_page(Connection(attempts=1)))
    before = view.findChildren(QLabel)

    view.show_page(empty_page(Connection(attempts=2)))

    assert view.findChildren(QLabel) == before
