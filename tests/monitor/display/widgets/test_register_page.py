"""Tests for monitor.display.widgets.register_page.

Source: hand-worked here.
"""

from __future__ import annotations

from PySide6.QtWidgets import QLabel, QWidget

from monitor.display.state.register import RegisterRow, Section
from monitor.display.state.severity import Severity
from monitor.display.widgets.keys import make_actions
from monitor.display.widgets.register_page import RegisterPage
from monitor.display.widgets.tables import LINE_PX, ROW_PX


def row(limit: str, section: Section = Section.SHELVED) -> RegisterRow:
    """Make a line of the register."""
    return RegisterRow(
        f"{section}: {limit}", section, limit, "", f"what {limit}", "K: wet", "12:00:00",
        "12:30:00", "high 8 bar", Severity.CALM,
    )  # fmt: skip


def page(window: QWidget, *rows: RegisterRow) -> RegisterPage:
    """Show a register."""
    made = RegisterPage(make_actions(window), window)
    made.resize(640, 300)
    made.show_register(rows)
    made.show()
    return made


def label(made: RegisterPage, name: str) -> QLabel:
    """Give one label."""
    found = made.findChild(QLabel, name)
    assert found is not None
    return found


def test_lines_stand_under_the_heading_of_their_section(window: QWidget) -> None:
    made = page(window, row("a", Section.BY_DESIGN), row("b"), row("c"))

    assert [one.cells[0] for one in made.table.rows.rows] == [
        "Shelved, by a person for a time (2)",
        "what b",
        "what c",
        "Suppressed in this phase or mode (1)",
        "what a",
    ]
    assert [made.table.rowHeight(n) for n in (0, 1, 3)] == [ROW_PX, ROW_PX + LINE_PX, ROW_PX]


def test_what_the_phase_never_watches_is_not_counted(window: QWidget) -> None:
    made = page(window, row("a"), row("b", Section.UNWATCHED))

    assert label(made, "register_count").text() == "1 to hand over at a change of shift"


def test_an_empty_register_counts_nothing(window: QWidget) -> None:
    assert label(page(window), "register_count").text() == ""


def test_the_selected_line_is_told_in_full_and_names_its_limit(window: QWidget) -> None:
    made = page(window, row("a"))
    assert made.selected_row() is None

    made.table.select_first()

    assert made.selected_row() == row("a")
    whole = label(made, "register_text")
    assert whole.isVisible()
    assert whole.text() == (
        "what a. K: wet. since 12:00:00. until: 12:30:00. watched instead by: high 8 bar"
    )
