"""Tests for monitor.alarms.by_hand.

Source: Hand-worked here, from the project's own limit rule 17 (DEVELOPERS.md): who acknowledges
high-high has acknowledged high; and that one, a page or all can be acknowledged.
"""

from __future__ import annotations

import pytest

from monitor.alarms.core import Core
from monitor.alarms.stage import Alarms
from tests.monitor.alarms.made import (
    BY,
    HIGH,
    act,
    alarm,
    cleared,
    raised,
    run,
    stage_of,
    told,
)


def three() -> Alarms:
    """Make a stage of three alarms that stand."""
    stage = stage_of(alarm("A.high"), alarm("B.high"), alarm("C.high"))
    run(stage, [raised(1, 0), raised(1, 1), raised(1, 2)], 2)
    return stage


@pytest.mark.parametrize(
    ("subject", "acknowledged"),
    [
        ("B.high", ["B.high"]),
        ("C.high A.high", ["C.high", "A.high"]),
        ("*", ["A.high", "B.high", "C.high"]),
        ("B.high B.high", ["B.high"]),
    ],
)
def test_one_a_page_or_all_are_acknowledged(subject: str, acknowledged: list[str]) -> None:
    events = run(three(), [act(3, "acknowledge", subject)], 4)

    assert told(events) == [("acknowledged", name) for name in acknowledged]


def test_a_page_with_an_unknown_id_is_refused_as_a_whole() -> None:
    stage = three()

    (event,) = run(stage, [act(3, "acknowledge", "A.high D.high")], 4)

    assert event.fields["why"] == "no alarm 'D.high' on this stand"
    assert not stage.status[0].is_acknowledged


def test_of_a_page_what_somebody_else_has_acknowledged_is_passed_over() -> None:
    stage = three()
    run(stage, [act(3, "acknowledge", "A.high")], 4)

    events = run(stage, [act(5, "acknowledge", "A.high B.high")], 6)

    assert told(events) == [("acknowledged", "B.high")]


def test_acknowledging_all_leaves_what_is_not_shown() -> None:
    stage = three()
    run(stage, [act(3, "shelve", "B.high", reason="noisy", seconds=60.0)], 4)

    run(stage, [act(5, "acknowledge", "*")], 6)

    assert [status.is_acknowledged for status in stage.status] == [True, False, True]


# The milder one.


def steps() -> Alarms:
    """Make a stage of high-high, high and a warning before both."""
    return stage_of(
        alarm("PT-1.high_high", milder=HIGH),
        alarm(HIGH, milder="PT-1.rate_of_rise"),
        alarm("PT-1.rate_of_rise"),
    )


def test_acknowledging_high_high_acknowledges_high_with_it_on_record() -> None:
    stage = steps()
    run(stage, [raised(1, 1), raised(2, 0)], 3)

    events = run(stage, [act(4, "acknowledge", "PT-1.high_high")], 5)

    assert told(events) == [("acknowledged", "PT-1.high_high"), ("acknowledged", HIGH)]
    assert events[0].fields == {"by": BY, "state": "acknowledged"}
    assert events[1].fields == {"by": BY, "state": "acknowledged", "with": "PT-1.high_high"}


def test_acknowledging_high_leaves_high_high() -> None:
    stage = steps()
    run(stage, [raised(1, 1), raised(2, 0)], 3)

    run(stage, [act(4, "acknowledge", HIGH)], 5)

    assert [status.is_acknowledged for status in stage.status] == [False, True, True]


def test_acknowledging_goes_down_more_than_one_step() -> None:
    stage = steps()
    run(stage, [raised(1, 2), raised(2, 0)], 3)

    events = run(stage, [act(4, "acknowledge", "PT-1.high_high")], 5)

    assert told(events)[1:] == [("acknowledged", "PT-1.rate_of_rise")]


def test_high_high_annunciates_anew_though_high_is_acknowledged() -> None:
    stage = steps()
    run(stage, [raised(1, 1), act(2, "acknowledge", HIGH)], 3)

    (event,) = run(stage, [raised(4, 0)], 5)

    assert event.fields["is_annunciated"]
    assert not stage.status[0].is_acknowledged


def test_falling_back_from_high_high_does_not_annunciate_high_anew() -> None:
    stage = steps()
    items = [raised(1, 1), raised(2, 0), act(3, "acknowledge", "PT-1.high_high")]
    run(stage, items, 3)

    events = run(stage, [cleared(4, 0)], 5)

    assert told(events) == [("cleared", "PT-1.high_high")]
    assert stage.status[1].core is Core.ACKNOWLEDGED


def test_all_at_once_acknowledges_each_once() -> None:
    stage = steps()
    run(stage, [raised(1, 1), raised(2, 0)], 3)

    assert len(run(stage, [act(4, "acknowledge", "*")], 5)) == 2


@pytest.mark.timeout(10)
def test_alarms_that_are_milder_than_each_other_do_not_hang() -> None:
    stage = stage_of(alarm("A.high", milder="B.high"), alarm("B.high", milder="A.high"))
    run(stage, [raised(1, 0), raised(1, 1)], 2)

    assert len(run(stage, [act(3, "acknowledge", "A.high")], 4)) == 2
