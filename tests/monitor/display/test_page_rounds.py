"""Tests for monitor.display.page_rounds.

Source: hand-worked here, on a real window.
"""

from __future__ import annotations

import pytest
from pytestqt.qtbot import QtBot

from monitor.display.page_rounds import PageRounds
from monitor.display.screen import Screen
from monitor.display.state.connection import Connection, Stage
from monitor.display.state.desk import Desk, Mail
from monitor.display.widgets.tables import RowsTable
from tests.monitor.display.rich import at_rest, rich


class Pages:
    """A window with a run, and what brings its pages up to date."""

    def __init__(self, qtbot: QtBot) -> None:
        self.screen, self.desk = Screen(), Desk("d")
        qtbot.addWidget(self.screen)
        quiet = at_rest("PT-1.low", is_out_of_service=True)
        self.desk.take([Mail(rich(quiet), 1)], Connection(Stage.CONNECTED, 0, 1), 1)
        self.screen.show_run(True)
        self.rounds = PageRounds(self.screen, self.desk, lambda: (("faults", 3),))

    def show(self, name: str) -> None:
        """Bring one page up to date."""
        getattr(self.rounds, f"show_{name}")(2)

    def table(self, name: str) -> RowsTable:
        """Give the table of a page."""
        return {
            "events": self.screen.events.table,
            "register": self.screen.register.table,
            "aborts": self.screen.aborts.table,
            "health": self.screen.health.counters,
        }[name]


@pytest.mark.parametrize("name", ["events", "register", "aborts", "health"])
def test_a_page_is_brought_up_to_date_only_while_it_can_be_seen(
    qtbot: QtBot, name: str
) -> None:
    pages = Pages(qtbot)
    pages.show(name)
    assert not pages.table(name).rows.rows

    pages.screen.show_page(name)
    pages.show(name)

    assert pages.table(name).rows.rows


def test_the_displays_own_counters_are_among_the_others(qtbot: QtBot) -> None:
    pages = Pages(qtbot)
    pages.screen.show_page("health")

    pages.show("health")

    cells = [row.cells[:3] for row in pages.table("health").rows.rows]
    assert ("this display", "faults", "3") in cells


@pytest.mark.parametrize("name", ["events", "register", "aborts", "health"])
def test_without_a_run_nothing_is_made_up(qtbot: QtBot, name: str) -> None:
    pages = Pages(qtbot)
    pages.screen.show_page(name)
    pages.desk.model = None

    with pytest.raises(LookupError):
        pages.show(name)
