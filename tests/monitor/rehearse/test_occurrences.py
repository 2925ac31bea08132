"""Tests for monitor.rehearse.occurrences.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.events import Event
from monitor.rehearse.occurrences import Occurrence, Occurrences


def gathered(*events: Event, end_ns: int = 100) -> dict[str, tuple[Occurrence, ...]]:
    """Gather some events, one by one."""
    found = Occurrences()
    for event in events:
        found.add([event])
    return found.result(end_ns)


def raised(t_ns: int, subject: str = "PT-1.high", *, is_shown: bool = True) -> Event:
    """Make an event of an alarm that is raised."""
    return Event(t_ns, "alarm.raised", subject, {"is_annunciated": is_shown})


def test_an_alarm_that_came_and_went_is_one_occurrence() -> None:
    found = gathered(raised(10), Event(30, "alarm.cleared", "PT-1.high"))

    assert found == {"PT-1.high": (Occurrence(10, 30, True, 10),)}


def test_an_alarm_that_still_stands_ends_with_the_record() -> None:
    found = gathered(raised(10), end_ns=50)

    assert found == {"PT-1.high": (Occurrence(10, 50, False, 10),)}


def test_two_alarms_at_once_are_kept_apart() -> None:
    found = gathered(
        raised(10, "a.high"),
        raised(20, "b.low"),
        Event(30, "alarm.cleared", "a.high"),
        Event(40, "alarm.cleared", "b.low"),
        raised(50, "a.high"),
    )

    assert found == {
        "a.high": (Occurrence(10, 30, True, 10), Occurrence(50, 100, False, 50)),
        "b.low": (Occurrence(20, 40, True, 20),),
    }


def test_an_alarm_that_was_hidden_is_shown_when_it_is_annunciated() -> None:
    found = gathered(
        raised(10, is_shown=False),
        Event(25, "alarm.annunciated", "PT-1.high"),
        Event(30, "alarm.cleared", "PT-1.high"),
        raised(40, is_shown=False),
        Event(50, "alarm.cleared", "PT-1.high"),
    )

    assert found["PT-1.high"] == (Occurrence(10, 30, True, 25), Occurrence(40, 50, True, None))


def test_being_annunciated_again_does_not_make_it_shown_later() -> None:
    found = gathered(raised(10), Event(25, "alarm.annunciated", "PT-1.high"), end_ns=30)

    assert found["PT-1.high"][0].shown_ns == 10


def test_a_condition_for_the_journal_is_an_occurrence_that_nobody_is_shown() -> None:
    found = gathered(
        Event(10, "condition.on", "PT-1.high"), Event(30, "condition.off", "PT-1.high")
    )

    assert found == {"PT-1.high": (Occurrence(10, 30, True, None),)}


def test_what_is_no_alarm_makes_no_occurrence() -> None:
    found = gathered(
        Event(5, "alarm.cleared", "PT-1.high"),
        Event(6, "alarm.annunciated", "PT-1.high"),
        Event(7, "phase.entered", "climb"),
        Event(8, "alarm.pending_lost", "PT-1.high"),
    )

    assert found == {}
