"""Tests for monitor.display.widgets.response_view.

Source: hand-worked here.
"""

from __future__ import annotations

from PySide6.QtWidgets import QApplication, QLabel, QPlainTextEdit, QWidget

from monitor.display.state.response import Response
from monitor.display.widgets.response_view import ResponseView


def view(window: QWidget) -> ResponseView:
    """Show an empty view."""
    made = ResponseView()
    made.setParent(window)
    made.show()
    return made


def text(made: ResponseView) -> str:
    """Read what to do."""
    found = made.findChild(QPlainTextEdit, "response_text")
    assert found is not None
    return found.toPlainText()


def label(made: ResponseView, name: str) -> QLabel:
    """Give one label."""
    found = made.findChild(QLabel, name)
    assert found is not None
    return found


def test_the_response_is_shown_and_taken_away(window: QWidget) -> None:
    made = view(window)

    made.show_response(Response("Loop high", "PT-1", "Vent."))
    assert (label(made, "response_title").text(), text(made)) == ("Loop high", "Vent.")

    made.show_response(None)
    assert (label(made, "response_title").text(), text(made)) == ("", "")
    assert "Select an alarm" in label(made, "response_facts").text()


def test_no_figure_is_cut_off_where_there_is_little_width(window: QWidget) -> None:
    made = view(window)
    made.resize(300, 200)

    made.show_response(
        Response("Low", "PT-1 low, priority high, " * 4 + "at 33.93 kPa", "Vent.")
    )
    QApplication.processEvents()

    facts = label(made, "response_facts")
    assert (
        facts.height() >= facts.heightForWidth(facts.width()) > 2 * facts.fontMetrics().height()
    )


def test_what_else_there_is_to_know_stands_below_what_to_do(window: QWidget) -> None:
    made = view(window)

    made.show_response(Response("Loop high", "PT-1", "Vent.", more="First-out of loss"))

    assert text(made) == "Vent.\nFirst-out of loss"


def test_the_safe_state_of_an_abort_criterion_stands_out(window: QWidget) -> None:
    made = view(window)
    safe = label(made, "response_safe_state")

    made.show_response(Response("Loop lost", "UA-9", "", "Vent and close"))
    assert safe.isVisible()
    assert safe.text() == "ABORT. Safe state: Vent and close"
    assert label(made, "response_title").property("severity") == "top"

    made.show_response(Response("Loop high", "PT-1", ""))
    assert not safe.isVisible()
    assert label(made, "response_title").property("severity") == "calm"
