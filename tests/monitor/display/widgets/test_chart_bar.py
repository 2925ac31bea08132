"""Tests for monitor.display.widgets.chart_bar.

Source: hand-worked here.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton, QWidget
from pytestqt.qtbot import QtBot

from monitor.display.state.looking import Looking
from monitor.display.widgets.chart_bar import ChartBar
from monitor.display.widgets.keys import make_actions


def bar(window: QWidget) -> ChartBar:
    """Make a bar in a window."""
    made = ChartBar(make_actions(window), window)
    made.text.setParent(made)
    return made


def button(made: ChartBar, name: str) -> QPushButton:
    """Find a button."""
    found = made.findChild(QPushButton, name)
    assert found is not None
    return found


def test_a_span_is_chosen_by_its_button(qtbot: QtBot, window: QWidget) -> None:
    made = bar(window)
    chosen: list[int] = []
    made.span_chosen.connect(chosen.append)

    qtbot.mouseClick(button(made, "span_3"), Qt.MouseButton.LeftButton)

    assert chosen == [3]


def test_the_bar_shows_what_is_looked_at(window: QWidget) -> None:
    made = bar(window)

    made.show_looking(Looking(2, 5, True), "12:00 to 12:20, HELD")

    checked = {one.objectName() for one in made.findChildren(QPushButton) if one.isChecked()}
    assert checked == {"span_2", "button_pause", "button_close_up"}
    assert made.text.text() == "12:00 to 12:20, HELD"
    assert made.text.property("severity") == "doubt"


def test_live_charts_are_calm(window: QWidget) -> None:
    made = bar(window)

    made.show_looking(Looking(), "live")

    assert made.text.property("severity") == "calm"
