"""Tests for monitor.alarms.book.

Source: Hand-worked here.
"""

from __future__ import annotations

from monitor.alarms.book import Book
from monitor.alarms.plan import AlarmsPlan
from monitor.events import Action, Event
from tests.monitor.alarms.made import BY, HIGH, alarm


def book() -> Book:
    """Make a book of nine alarms."""
    return Book(AlarmsPlan(tuple(alarm(f"P{i}.high") for i in range(9)), ("ground",)))


def test_events_and_changes_are_taken_once() -> None:
    one = book()
    one.say(5, "alarm.raised", "P1.high", {"a": 1})
    one.touch(1)

    assert one.take() == ((Event(5, "alarm.raised", "P1.high", {"a": 1}),), (1,))
    assert one.take() == ((), ())


def test_changed_alarms_come_in_the_order_of_the_plan() -> None:
    one = book()
    for i in (8, 1, 8):
        one.touch(i)

    assert one.take()[1] == (1, 8)


def test_what_was_taken_is_still_touched_until_somebody_has_looked() -> None:
    one = book()
    one.touch(3)

    one.take()

    assert one.touched == {3}


def test_a_refusal_tells_what_was_wanted_by_whom_and_why_not() -> None:
    one = book()

    one.refuse(5, Action("reset", HIGH, BY), "nothing is latched")

    fields = {"verb": "reset", "by": BY, "why": "nothing is latched"}
    assert one.take()[0] == (Event(5, "action.refused", HIGH, fields),)


def test_a_refusal_of_all_names_the_one_that_it_is_about() -> None:
    one = book()

    one.refuse(5, Action("reset", "*", BY), "the value is bad", subject=HIGH)

    assert one.take()[0][0].subject == HIGH


def test_each_alarm_is_found_by_its_id() -> None:
    assert book().position["P7.high"] == 7
