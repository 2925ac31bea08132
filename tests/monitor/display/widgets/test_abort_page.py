"""Tests for monitor.display.widgets.abort_page.

Source: hand-worked here.
"""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtWidgets import QLabel, QWidget

from monitor.display.state.aborts import AbortInput, AbortRow
from monitor.display.state.severity import Severity
from monitor.display.widgets.abort_page import AbortPage


def row(limit: str, state: str = "not met", severity: Severity = Severity.CALM) -> AbortRow:
    """Make a criterion with one input."""
    inputs = (AbortInput(f"input of {limit}", "STANDS", "1 bar", "2 bar", True),)
    return AbortRow(limit, f"title {limit}", f"when {limit}", state, "Vent", inputs, severity)


def page(window: QWidget, *rows: AbortRow) -> AbortPage:
    """Show criteria."""
    made = AbortPage(window)
    made.resize(640, 300)
    made.show_aborts(rows)
    made.show()
    return made


def when(made: AbortPage) -> str:
    """Read what the selected criterion waits for."""
    found = made.findChild(QLabel, "abort_when")
    assert found is not None
    return found.text()


def test_each_criterion_says_how_it_stands_and_what_it_calls_for(window: QWidget) -> None:
    made = page(window, row("a"), row("b", "MET", Severity.TOP))

    assert [one.cells for one in made.table.rows.rows] == [
        ("title a", "not met", "1 of 1", "Vent"),
        ("title b", "MET", "1 of 1", "Vent"),
    ]
    assert made.table.rows.rows[1].severity is Severity.TOP


def test_the_first_is_selected_and_what_it_looks_at_is_listed(window: QWidget) -> None:
    made = page(window, row("a"), row("b"))

    assert when(made) == "Met when when a"
    assert [one.cells for one in made.inputs.rows.rows] == [
        ("input of a", "STANDS", "1 bar", "2 bar")
    ]


def test_the_safe_state_of_the_selected_one_is_never_cut_off(window: QWidget) -> None:
    state = (
        "Emergency flow on; chamber to ground pressure as fast as the equipment allows. " * 3
    )
    made = page(window, replace(row("a"), safe_state=state))

    safe = made.findChild(QLabel, "abort_safe_state")
    assert safe is not None
    assert safe.text() == f"Safe state: {state}"
    assert safe.height() >= safe.heightForWidth(safe.width()) > safe.fontMetrics().height()


def test_another_one_can_be_looked_into(window: QWidget) -> None:
    made = page(window, row("a"), row("b"))

    made.table.select_key("b")

    assert [one.cells[0] for one in made.inputs.rows.rows] == ["input of b"]


def test_what_is_listed_follows_the_news(window: QWidget) -> None:
    made = page(window, row("a"))

    made.show_aborts([AbortRow("a", "t", "else", "not met", "Vent", (), Severity.CALM)])

    assert when(made) == "Met when else"
    assert made.inputs.rows.rows == []


def test_without_criteria_nothing_is_listed(window: QWidget) -> None:
    assert when(page(window)) == ""
