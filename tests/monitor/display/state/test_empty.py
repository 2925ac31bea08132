"""Tests for monitor.display.state.empty.

Source: hand-worked here; the commands are those of the issue.
"""

from __future__ import annotations

from monitor.display.state.connection import Connection, Stage
from monitor.display.state.empty import empty_page


def test_without_an_engine_the_page_says_what_to_type_and_that_it_waits() -> None:
    page = empty_page(Connection(Stage.SEARCHING, 0, 0, "127.0.0.1:9", "nothing listens", 4))

    assert page.headline == "No run to show"
    assert ("Watch a stand that a file describes", "standwatch watch STANDFILE") in page.steps
    assert page.status == ("Looking for a watch at 127.0.0.1:9, attempt 4. Nothing listens.")


def test_before_the_first_try_there_is_no_address_to_name() -> None:
    assert empty_page(Connection()).status == "Looking for a watch, attempt 0."


def test_a_refusal_gives_the_engines_reason() -> None:
    page = empty_page(Connection(Stage.REFUSED, 0, 0, "127.0.0.1:9", "wrong token", 2))

    assert page.headline == "The watch does not accept this display"
    assert page.says == "Wrong token."
    assert page.status == "Trying again at 127.0.0.1:9, attempt 2."


def test_a_connection_without_a_run_yet_says_that_it_waits() -> None:
    page = empty_page(Connection(Stage.CONNECTED, 0, 0, "127.0.0.1:9"))

    assert (page.headline, page.steps) == ("Connected", ())
