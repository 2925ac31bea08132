"""Tests for monitor.figures.one_alarm.

Source: hand-worked here, after the states of ANSI/ISA-18.2-2016: an alarm is annunciated while
its state is not normal and nothing inhibits it.
"""

from __future__ import annotations

import pytest

from monitor.events import Event, EventKind
from monitor.figures.one_alarm import OneAlarm
from monitor.figures.stretch import Held
from tests.monitor.figures.made import S, acknowledged, at, cleared, raised

Pairs = list[tuple[float, float]]


def followed(*events: Event, end_s: float = 100) -> OneAlarm:
    """Give an alarm after some events."""
    alarm = OneAlarm("a")
    for event in events:
        alarm.take(event)
    alarm.end(round(end_s * S))
    return alarm


def pairs(rows: list[Held]) -> Pairs:
    """Give begins and ends in s."""
    return [(row.since_ns / S, row.until_ns / S) for row in rows]


def did(t_s: float, kind: EventKind) -> Event:
    """Something befalls the alarm."""
    return at(t_s, kind, "a")


HIDDEN = raised(10, is_annunciated=False)
SHOWN = at(20, "alarm.annunciated", "a", priority="high")
HIDDEN_REALARM = at(15, "alarm.realarmed", "a", is_annunciated=False)
REALARM = at(40, "alarm.realarmed", "a", is_annunciated=True)


@pytest.mark.parametrize(
    ("events", "times_s"),
    [
        ([raised(10)], [10]),
        ([HIDDEN], []),
        ([HIDDEN, SHOWN], [20]),
        ([raised(10), cleared(11), raised(12)], [10, 12]),
        ([raised(10), REALARM], [10]),
        ([raised(10), acknowledged(12), did(20, "alarm.shelved")], [10]),
        # Due to be shown anew while it was inhibited: shown anew later, still no new one.
        ([raised(1), acknowledged(2), did(3, "alarm.shelved"), HIDDEN_REALARM, SHOWN], [1]),
    ],
)
def test_an_activation_is_when_it_is_shown(events: list[Event], times_s: list[float]) -> None:
    assert [row.t_ns / S for row in followed(*events).activations] == times_s


def test_an_activation_has_the_priority_that_its_event_tells() -> None:
    rows = followed(HIDDEN, SHOWN).activations

    assert [(row.subject, row.priority) for row in rows] == [("a", "high")]


@pytest.mark.parametrize(
    ("events", "marks"),
    [
        ([raised(10), REALARM], ["realarm"]),
        ([HIDDEN], ["hidden"]),
        ([raised(1), did(3, "alarm.suppressed"), HIDDEN_REALARM], ["suppressed"]),
        (
            [raised(1), did(3, "alarm.suppressed"), HIDDEN_REALARM, SHOWN],
            ["suppressed", "realarm"],
        ),
        ([raised(1), did(2, "alarm.shelved"), did(3, "alarm.unshelved")], ["shelved"]),
        ([raised(1), did(2, "alarm.out_of_service")], ["out of service"]),
        ([raised(1), did(2, "alarm.suppressed")], ["suppressed"]),
        ([raised(1), did(2, "alarm.first_out")], []),
    ],
)
def test_what_is_only_counted(events: list[Event], marks: list[str]) -> None:
    assert [mark.what for mark in followed(*events).marks] == marks


@pytest.mark.parametrize(
    ("events", "shown", "standing", "waiting"),
    [
        # Stands to the end, nobody does anything.
        ([raised(10)], [(10, 100)], [(10, 100)], [(10, 100)]),
        # Acknowledged, then gone: normal.
        (
            [raised(10), acknowledged(15), cleared(30, state="normal")],
            [(10, 30)],
            [(10, 30)],
            [(10, 15)],
        ),
        # Gone, then acknowledged: shown until then, standing no more.
        (
            [raised(10), cleared(30), acknowledged(45, state="normal")],
            [(10, 45)],
            [(10, 30)],
            [(10, 45)],
        ),
        # Back before anybody acknowledged: shown all the while.
        (
            [raised(10), cleared(30), raised(40)],
            [(10, 100)],
            [(10, 30), (40, 100)],
            [(10, 100)],
        ),
        # A latch holds it until the reset.
        (
            [
                raised(10),
                cleared(20, state="latched, unacknowledged"),
                acknowledged(30, state="latched, acknowledged"),
                did(50, "alarm.reset"),
            ],
            [(10, 50)],
            [(10, 20)],
            [(10, 30)],
        ),
        # Annunciated anew: it waits again.
        (
            [raised(10), acknowledged(20), REALARM],
            [(10, 100)],
            [(10, 100)],
            [(10, 20), (40, 100)],
        ),
        # Hidden from its begin: nothing is shown, whatever it does.
        ([HIDDEN, cleared(50, state="normal")], [], [], []),
        # Hidden, then shown.
        ([HIDDEN, SHOWN], [(20, 100)], [(20, 100)], [(20, 100)]),
        # Clears by itself without an acknowledgement.
        ([raised(10), cleared(30, state="normal")], [(10, 30)], [(10, 30)], [(10, 30)]),
        # Two flags: it is shown again when both are clear.
        (
            [
                raised(10),
                did(20, "alarm.shelved"),
                did(30, "alarm.out_of_service"),
                did(40, "alarm.unshelved"),
                did(50, "alarm.returned_to_service"),
            ],
            [(10, 20), (50, 100)],
            [(10, 20), (50, 100)],
            [(10, 20), (50, 100)],
        ),
        # Suppressed by design and back.
        (
            [raised(10), did(20, "alarm.suppressed"), did(30, "alarm.unsuppressed")],
            [(10, 20), (30, 100)],
            [(10, 20), (30, 100)],
            [(10, 20), (30, 100)],
        ),
        # A new occurrence behind a suppression is not shown when another flag goes.
        (
            [
                raised(10),
                cleared(15),
                did(20, "alarm.suppressed"),
                raised(30, is_annunciated=False),
            ],
            [(10, 20)],
            [(10, 15)],
            [(10, 20)],
        ),
        # Suppression of an alarm that was normal is not in the journal: its end shows nothing.
        (
            [did(5, "alarm.shelved"), HIDDEN, did(30, "alarm.unshelved")],
            [],
            [],
            [],
        ),
        # A flag that ended while the alarm was normal left no word: the next activation tells.
        (
            [raised(10), did(15, "alarm.suppressed"), cleared(16, state="normal"), raised(40)],
            [(10, 15), (40, 100)],
            [(10, 15), (40, 100)],
            [(10, 15), (40, 100)],
        ),
        (
            [
                raised(10),
                did(15, "alarm.suppressed"),
                cleared(16, state="normal"),
                raised(18, is_annunciated=False),
                SHOWN,
            ],
            [(10, 15), (20, 100)],
            [(10, 15), (20, 100)],
            [(10, 15), (20, 100)],
        ),
    ],
)
def test_when_it_is_shown_stands_and_waits(
    events: list[Event], shown: Pairs, standing: Pairs, waiting: Pairs
) -> None:
    alarm = followed(*events)

    assert pairs(alarm.shown.done) == shown
    assert pairs(alarm.standing.done) == standing
    assert pairs(alarm.waiting.done) == waiting


@pytest.mark.parametrize(("last", "is_over"), [([], False), ([cleared(30)], True)])
def test_it_is_known_whether_it_ended_or_the_data_did(last: list[Event], is_over: bool) -> None:
    assert [row.is_over for row in followed(raised(10), *last).standing.done] == [is_over]


@pytest.mark.parametrize(
    ("events", "waited_s"),
    [
        ([raised(10), acknowledged(15)], [5]),
        ([raised(10), cleared(30), raised(40), acknowledged(45)], [35]),
        ([raised(10), acknowledged(15), REALARM, acknowledged(47)], [5, 7]),
        # Set aside is an answer: what was hidden does not wait.
        (
            [
                raised(10),
                did(20, "alarm.shelved"),
                did(80, "alarm.unshelved"),
                acknowledged(83),
            ],
            [3],
        ),
        ([raised(10), did(20, "alarm.shelved"), acknowledged(30)], []),
        ([raised(10), cleared(12, state="normal")], []),
    ],
)
def test_it_waits_from_its_showing_to_its_acknowledgement(
    events: list[Event], waited_s: list[float]
) -> None:
    assert [row.waited_ns / S for row in followed(*events).answers] == waited_s


@pytest.mark.parametrize(
    ("events", "fled_s"),
    [
        ([raised(10), cleared(13)], [3]),
        ([raised(10)], [None]),
        ([raised(10), acknowledged(12), cleared(13)], [None]),
        ([raised(10), did(12, "alarm.shelved"), cleared(13)], [None]),
        ([raised(10), did(12, "alarm.suppressed"), cleared(13)], [None]),
        ([raised(10), did(12, "alarm.first_out"), cleared(13)], [3]),
        ([HIDDEN, cleared(13)], []),
        ([HIDDEN, SHOWN, cleared(22)], [2]),
        ([raised(1), cleared(3), raised(5, is_annunciated=False), cleared(8)], [2]),
        ([raised(1), cleared(3), raised(5), cleared(9)], [2, 4]),
    ],
)
def test_it_flees_when_it_goes_before_anybody_answers(
    events: list[Event], fled_s: list[float | None]
) -> None:
    rows = followed(*events).activations

    assert [None if row.fled_ns is None else row.fled_ns / S for row in rows] == fled_s
