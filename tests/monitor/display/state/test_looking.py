"""Tests for monitor.display.state.looking.

Source: hand-worked here.
"""

from __future__ import annotations

import pytest

from monitor.display.state.looking import WHOLE_RUN, Looking, grid_columns, span_labels
from tests.monitor.display.made import NOON, NS

EDGE = NOON + 5400 * NS


def test_live_charts_end_at_the_present() -> None:
    window = Looking().window(EDGE, NOON, 300)

    assert (window.until_ns, window.span_ns, window.columns) == (EDGE, 60 * NS, 300)


def test_the_whole_run_has_the_next_round_length() -> None:
    assert Looking(WHOLE_RUN).window(EDGE, NOON, 300).span_ns == 5400 * NS


@pytest.mark.parametrize(("wanted", "got"), [(-3, 0), (2, 2), (99, WHOLE_RUN)])
def test_a_span_stays_within_the_choices(wanted: int, got: int) -> None:
    assert Looking().with_span(wanted).span == got


def test_each_span_has_a_label() -> None:
    assert span_labels() == ("1 min", "5 min", "20 min", "1 h", "4 h", "Run")


def test_looking_back_goes_by_half_a_span_and_holds() -> None:
    back = Looking().moved(-1, EDGE, NOON)

    assert back.held_ns == EDGE - 30 * NS
    assert back.moved(-1, EDGE + 10 * NS, NOON).held_ns == EDGE - 60 * NS


def test_looking_forward_to_the_present_is_live_again() -> None:
    held = Looking(held_ns=EDGE - 30 * NS)

    assert held.moved(1, EDGE, NOON).held_ns is None
    assert held.moved(1, EDGE + 10 * NS, NOON).held_ns == EDGE


def test_one_cannot_look_further_back_than_the_start_of_the_run() -> None:
    held = Looking(held_ns=NOON + 40 * NS)

    assert held.moved(-1, EDGE, NOON).held_ns == NOON + 30 * NS


def test_half_of_the_whole_run_is_measured_by_its_round_length() -> None:
    back = Looking(WHOLE_RUN).moved(-1, EDGE, NOON)

    assert back.held_ns == EDGE - 2700 * NS


def test_a_run_shorter_than_half_a_span_cannot_be_left() -> None:
    assert Looking(3).moved(-1, NOON + 5 * NS, NOON).held_ns == NOON + 5 * NS


def test_pause_holds_the_present_edge_and_again_goes_on() -> None:
    held = Looking().toggled_pause(EDGE)

    assert held.held_ns == EDGE
    assert held.toggled_pause(EDGE + NS).held_ns is None


def test_close_up_is_turned_on_and_off() -> None:
    assert Looking().toggled_close().is_close
    assert not Looking().toggled_close().toggled_close().is_close


def test_what_is_shown_is_said_in_words() -> None:
    live = Looking().text(EDGE, NOON, is_frozen=False)
    stopped = Looking().text(EDGE, NOON, is_frozen=True)
    held = Looking(held_ns=EDGE - 90 * NS).text(EDGE, NOON, is_frozen=False)

    assert live == "Live, 13:29:00 to 13:30:00 UTC"
    assert stopped.startswith("STOPPED, ")
    assert held == "HELD 1 min behind, 13:27:30 to 13:28:30 UTC"


@pytest.mark.parametrize(
    ("charts", "width", "height", "columns"),
    [
        (1, 700, 350, 1),
        (6, 700, 350, 2),
        (6, 250, 350, 1),
        (16, 1920, 1000, 2),
        (60, 1920, 900, 3),
        (3, 2000, 400, 1),
    ],
)
def test_charts_stand_in_as_few_columns_as_let_all_be_seen(
    charts: int, width: int, height: int, columns: int
) -> None:
    assert grid_columns(charts, width, height) == columns
