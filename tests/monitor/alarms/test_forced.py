"""Tests for monitor.alarms.forced.

Source: Hand-worked here.
"""

from __future__ import annotations

from monitor.alarms.book import Book
from monitor.alarms.forced import NEVER, Forced, ForcedValue
from monitor.alarms.plan import AlarmsPlan
from monitor.events import Action, Event

S = 1_000_000_000


def made() -> tuple[Book, Forced]:
    """Make the values of a stand without alarms."""
    book = Book(AlarmsPlan((), ("ground",), forcible={"A": (0.0, 100.0), "B": (0.0, 100.0)}))
    return book, Forced(book)


def force(tag: str, seconds: float) -> Action:
    """Force a channel to 40."""
    return Action("force", tag, "K. Vale", "stuck", seconds, "M. Orlo", {"value": 40.0})


def events(book: Book) -> list[Event]:
    """Take what was told."""
    return list(book.take()[0])


def test_it_is_told_with_who_why_what_and_until_when() -> None:
    book, forced = made()

    forced.force(2 * S, force("A", 60))

    assert events(book) == [
        Event(
            2 * S,
            "value.forced",
            "A",
            {
                "by": "K. Vale",
                "second": "M. Orlo",
                "reason": "stuck",
                "value": 40.0,
                "until_ns": 62 * S,
            },
        )
    ]
    assert forced.values["A"] == ForcedValue(
        "A", 40.0, 2 * S, 62 * S, "K. Vale", "M. Orlo", "stuck"
    )


def test_what_is_due_first_is_let_go_first_and_together_by_tag() -> None:
    book, forced = made()
    for tag, seconds in (("B", 10), ("A", 10)):
        forced.force(0, force(tag, seconds))
    events(book)

    assert forced.due_ns == 10 * S
    forced.release_due()

    told = [(event.t_ns, event.kind, event.subject) for event in events(book)]
    assert told == [(10 * S, "value.released", "A"), (10 * S, "value.released", "B")]
    assert forced.due_ns == NEVER


def test_what_is_due_later_stays() -> None:
    book, forced = made()
    forced.force(0, force("A", 10))
    forced.force(0, force("B", 20))
    forced.release_due()

    assert list(forced.values) == ["B"]
    assert [event.subject for event in events(book)][2:] == ["A"]


def test_a_hand_lets_it_go_by_name() -> None:
    book, forced = made()
    forced.force(0, force("A", 10))
    events(book)

    forced.release(3 * S, Action("unforce", "A", "M. Orlo"))

    assert events(book) == [Event(3 * S, "value.released", "A", {"by": "M. Orlo"})]
    assert forced.values == {}


def test_to_let_go_what_is_not_forced_is_refused() -> None:
    book, forced = made()

    forced.release(3 * S, Action("unforce", "A", "M. Orlo"))

    (event,) = events(book)
    assert (event.kind, event.fields["why"]) == ("action.refused", "it is not forced")
