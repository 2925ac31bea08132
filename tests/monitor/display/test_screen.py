"""Tests for monitor.display.screen.

Source: hand-worked here.
"""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton, QSplitter, QWidget
from pytestqt.qtbot import QtBot

from monitor.display.screen import Screen
from monitor.display.state.acts import Outcome


@pytest.fixture
def screen(qtbot: QtBot) -> Screen:
    """Show a window with a run."""
    made = Screen()
    qtbot.addWidget(made)
    made.resize(1280, 800)
    made.show_run(True)
    made.show()
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow)
    return made


def test_without_a_run_the_empty_page_stands_alone(screen: Screen) -> None:
    screen.show_run(False)

    assert screen.is_empty()
    assert screen.empty.isVisible()
    assert not screen.strip.isVisible()
    assert not screen.is_page("charts")


def test_with_a_run_every_part_is_there(screen: Screen) -> None:
    assert not screen.is_empty()
    for part in (screen.strip, screen.channels, screen.charts, screen.alarms):
        assert part.isVisible()
    assert not screen.lost.isVisible()


@pytest.mark.parametrize("size", [(1280, 800), (1920, 1080)])
def test_no_part_runs_out_of_the_window_and_no_button_is_cut(
    qtbot: QtBot, screen: Screen, size: tuple[int, int]
) -> None:
    screen.resize(*size)
    qtbot.waitUntil(lambda: (screen.width(), screen.height()) == size)
    qtbot.wait(20)

    for button in screen.findChildren(QPushButton):
        if button.isVisible():
            corner = button.mapTo(screen, button.rect().bottomRight())
            assert button.width() >= button.sizeHint().width(), button.text()
            assert screen.rect().contains(corner), button.text()


@pytest.mark.parametrize(("width", "table"), [(1280, 640), (1920, 691), (2600, 760)])
def test_the_channel_table_gets_what_it_needs_and_the_charts_the_rest(
    qtbot: QtBot, screen: Screen, width: int, table: int
) -> None:
    screen.resize(width, 900)

    qtbot.waitUntil(lambda: abs(screen.channels.width() - table) < 25)


def test_an_edge_that_somebody_moved_is_left_alone(qtbot: QtBot, screen: Screen) -> None:
    splitter = screen.findChildren(QSplitter)[0]
    splitter.setSizes([800, 480])
    splitter.splitterMoved.emit(800, 1)
    before = screen.channels.width()

    screen.resize(1300, 800)

    qtbot.waitUntil(lambda: screen.width() == 1300)
    assert abs(screen.channels.width() - before) < 30


@pytest.mark.parametrize("name", ["charts", "events", "health"])
def test_a_page_that_is_turned_to_has_the_keyboard(screen: Screen, name: str) -> None:
    screen.show_page(name)

    focus: QWidget | None = screen.focusWidget()
    assert screen.is_page(name)
    assert focus is not None
    assert focus.isVisible()
    button = screen.findChild(QPushButton, f"button_{name}")
    assert button is not None
    assert button.isChecked()


def test_tab_goes_round_without_getting_stuck_in_a_table(qtbot: QtBot, screen: Screen) -> None:
    screen.channels.setFocus()
    seen = []
    for _ in range(60):
        focus = screen.focusWidget()
        assert focus is not None
        seen.append(focus)
        qtbot.keyClick(focus, Qt.Key.Key_Tab)

    assert screen.channels in seen[1:]
    assert screen.alarms.table in seen
    assert len(set(seen)) > 10


def test_what_became_of_an_act_is_told_at_the_foot(screen: Screen) -> None:
    screen.show_outcome(Outcome("Reset: refused.", True))
    foot = screen.findChild(QWidget, "outcome")
    assert foot is not None
    assert (foot.property("text"), foot.property("severity")) == ("Reset: refused.", "doubt")

    screen.show_outcome(Outcome())

    assert foot.property("text") == "F1 lists the keys."
