"""Tests for monitor.display.widgets.health_page.

Source: Qt's own checker of models; the rest hand-worked here.
"""

from __future__ import annotations

from pytestqt.modeltest import ModelTester
from pytestqt.qtbot import QtBot

from monitor.display.state.connection import Connection, Freshness
from monitor.display.state.counters import counter_rows, link_rows
from monitor.display.widgets.health_page import HealthPage
from tests.monitor.display.made import NOON, NS, link_state, model


def page(qtbot: QtBot) -> HealthPage:
    """Show the page of a run with a dead link and three lines dropped."""
    run = model(links=[link_state(is_up=False, counts={"lines": 3}, examples={"lines": "P=?"})])
    made = HealthPage()
    qtbot.addWidget(made)
    made.show_links(link_rows(run, NOON + 65 * NS, Freshness()))
    made.show_counters(counter_rows(run, Connection(), ()))
    return made


def test_qts_checker_has_nothing_to_say(qtbot: QtBot, qtmodeltester: ModelTester) -> None:
    made = page(qtbot)

    qtmodeltester.check(made.links.rows)
    qtmodeltester.check(made.counters.rows)


def test_a_dead_link_says_why_and_what_to_do(qtbot: QtBot) -> None:
    (row,) = page(qtbot).links.rows.rows

    assert row.cells[:4] == ("panel", "DOWN", "1 min 05 s", "unplugged. Plug it in")


def test_what_was_dropped_is_seen_with_its_number_and_an_example(qtbot: QtBot) -> None:
    cells = [row.cells for row in page(qtbot).counters.rows.rows]

    assert ("panel", "lines", "3", "P=?") in cells
