"""Tests for monitor.display.widgets.event_page.

Source: Qt's own checker of models; the rest hand-worked here.
"""

from __future__ import annotations

from PySide6.QtWidgets import QLabel
from pytestqt.modeltest import ModelTester
from pytestqt.qtbot import QtBot

from monitor.display.state.sentences import EventLine
from monitor.display.state.severity import Severity
from monitor.display.widgets.event_page import EventPage


def lines(*texts: str) -> list[EventLine]:
    """Give lines, oldest first."""
    return [EventLine("12:00:00", text, Severity.CALM) for text in texts]


def shown(page: EventPage) -> list[str]:
    """Read the list from top to bottom."""
    return [row.cells[1] for row in page.table.rows.rows]


def test_qts_checker_has_nothing_to_say(qtbot: QtBot, qtmodeltester: ModelTester) -> None:
    page = EventPage()
    qtbot.addWidget(page)
    page.show_events(0, lines("a", "b"))

    qtmodeltester.check(page.table.rows)


def test_the_newest_stands_on_top_and_old_ones_go_at_the_bottom(qtbot: QtBot) -> None:
    page = EventPage()
    qtbot.addWidget(page)
    page.show_events(0, lines("a", "b"))
    page.table.select_key("1")

    page.show_events(1, lines("b", "c"))

    assert shown(page) == ["c", "b"]
    assert [row.cells[1] for row in page.table.selected_rows()] == ["b"]


def test_the_whole_text_of_the_selected_line_is_shown_below(qtbot: QtBot) -> None:
    page = EventPage()
    qtbot.addWidget(page)
    page.show()
    page.show_events(0, lines("a long sentence"))
    text = page.findChild(QLabel, "event_text")
    assert text is not None
    assert not text.isVisible()

    page.table.select_key("0")

    assert text.isVisible()
    assert text.text() == "12:00:00 a long sentence"
