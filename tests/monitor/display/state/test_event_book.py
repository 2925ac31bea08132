"""Tests for monitor.display.state.event_book.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.display.state.event_book import EventBook
from monitor.display.state.model import KEPT_EVENTS
from monitor.events import Event
from monitor.link.messages import Change
from tests.monitor.display.made import NOON, NS, model

NOTE = Event(NOON + 11 * NS, "action.note", "", {"text": "x", "by": "y"})


def test_lines_are_given_once_and_again_only_when_there_is_news() -> None:
    book, run = EventBook(), model()
    first = book.lines(run)
    assert first is not None

    assert [line.text for line in first[1]] == ["Run started"]
    assert book.lines(run) is None


def test_new_events_follow_the_old_ones_with_their_numbers() -> None:
    book, run = EventBook(), model()
    book.lines(run)

    run.apply(Change(2, NOON, [], [], [NOTE]), 0)

    news = book.lines(run)
    assert news is not None
    assert news[0] == 0
    assert [line.text for line in news[1]] == ["Run started", "Note: x, by y"]


def test_what_fell_out_of_the_list_is_counted_in_the_numbers() -> None:
    book, run = EventBook(), model()
    book.lines(run)

    run.apply(Change(2, NOON, [], [], [NOTE] * (KEPT_EVENTS + 10)), 0)

    news = book.lines(run)
    assert news is not None
    assert (news[0], len(news[1])) == (11, KEPT_EVENTS)


def test_a_fresh_snapshot_begins_anew() -> None:
    book = EventBook()
    book.lines(model())

    news = book.lines(model(events=[NOTE]))

    assert news is not None
    assert [line.text for line in news[1]] == ["Note: x, by y"]


def test_a_run_without_events_has_an_empty_list() -> None:
    assert EventBook().lines(model(events=[])) == (0, ())
