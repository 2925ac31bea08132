"""Tests for monitor.display.state.asks.

Source: hand-worked here.
"""

from __future__ import annotations

from itertools import pairwise

from monitor.display.state.asks import Asks
from monitor.link.messages import Ask
from tests.monitor.display.made import NOON, NS

HOUR = 3600 * NS


def all_of(asks: Asks) -> list[Ask]:
    """Answer every question at once."""
    given = []
    while (ask := asks.next()) is not None:
        given.append(ask)
        asks.done(ask.id)
    return given


def test_the_run_is_asked_for_from_the_newest_minute_back_to_its_start_without_a_hole() -> None:
    given = all_of(Asks(2, NOON, NOON + 10 * HOUR))

    assert given[0].until_ns == NOON + 10 * HOUR
    assert given[0].until_ns - given[0].from_ns == 60 * NS
    assert given[-1].from_ns == NOON
    assert all(a.from_ns == b.until_ns for a, b in pairwise(given))
    assert given[0].channels == [0, 1]


def test_a_short_run_takes_fewer_questions() -> None:
    given = all_of(Asks(1, NOON, NOON + 90 * NS))

    assert [(a.from_ns - NOON) // NS for a in given] == [30, 0]


def test_one_question_is_open_at_a_time() -> None:
    asks = Asks(1, NOON, NOON + HOUR)
    first = asks.next()
    assert first is not None

    assert asks.next() is None
    asks.done(first.id + 99)
    assert asks.next() is None
    asks.done(first.id)
    assert asks.next() is not None


def test_it_is_finished_when_the_last_one_is_answered() -> None:
    asks = Asks(1, NOON, NOON + 30 * NS)
    ask = asks.next()
    assert ask is not None

    assert not asks.is_finished()
    asks.done(ask.id)
    assert asks.is_finished()


def test_a_run_that_has_only_begun_and_a_stand_without_channels_ask_nothing() -> None:
    assert Asks(3, NOON, NOON).next() is None
    assert Asks(0, NOON, NOON + HOUR).is_finished()
