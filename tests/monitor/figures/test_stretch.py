"""Tests for monitor.figures.stretch.

Source: hand-worked here. Times in whole ns, small enough to read.
"""

from __future__ import annotations

import pytest

from monitor.events import Event
from monitor.figures.stretch import (
    Activation,
    Answer,
    Held,
    Mark,
    Stretch,
    Visit,
    part_of,
    phase_visits,
)

FIRST = Visit("climb", 0, 50, is_last=False)
LAST = Visit("hold", 50, 100, is_last=True)


def entered(t_ns: int, phase: str) -> Event:
    """A phase is entered."""
    return Event(t_ns, "phase.entered", phase)


def test_a_phase_lasts_to_the_next_and_the_last_to_the_end() -> None:
    visits = phase_visits([entered(0, "climb"), entered(50, "hold")], 0, 100)

    assert visits == [FIRST, LAST]


def test_a_run_begins_in_its_first_phase() -> None:
    assert phase_visits([entered(3, "climb")], 0, 100) == [Visit("climb", 0, 100, is_last=True)]


def test_a_run_without_phases_is_one_without_a_name() -> None:
    assert phase_visits([Event(4, "link.up", "panel")], 0, 100) == [
        Visit("", 0, 100, is_last=True)
    ]


def test_a_phase_left_at_once_is_none_and_of_one_instant_the_last_counts() -> None:
    visits = phase_visits(
        [entered(0, "climb"), entered(50, "abort"), entered(50, "hold")], 0, 100
    )

    assert visits == [FIRST, LAST]


def test_a_phase_entered_at_the_very_end_is_there() -> None:
    visits = phase_visits([entered(0, "climb"), entered(100, "hold")], 0, 100)

    assert visits[-1] == Visit("hold", 100, 100, is_last=True)


@pytest.mark.parametrize(
    ("t_ns", "parts"), [(0, (1, 0)), (49, (1, 0)), (50, (0, 1)), (100, (0, 1))]
)
def test_the_instant_of_a_change_belongs_to_the_next_phase(
    t_ns: int, parts: tuple[int, int]
) -> None:
    whole = Stretch(
        "run",
        0,
        100,
        activations=(Activation(t_ns, "a", "low"),),
        answers=(Answer(t_ns, "a", 5),),
        marks=(Mark(t_ns, "hidden"),),
    )
    first, last = part_of(whole, FIRST), part_of(whole, LAST)

    assert (len(first.activations), len(last.activations)) == parts
    assert (len(first.answers), len(last.answers)) == parts
    assert (len(first.marks), len(last.marks)) == parts


@pytest.mark.parametrize(
    ("held", "first", "last"),
    [
        ((10, 20, True), (10, 20, True), None),
        ((10, 50, True), (10, 50, False), None),
        ((10, 60, True), (10, 50, False), (50, 60, True)),
        ((10, 100, False), (10, 50, False), (50, 100, False)),
        ((10, 100, True), (10, 50, False), (50, 100, True)),
        ((50, 60, True), None, (50, 60, True)),
        ((100, 100, False), None, (100, 100, False)),
        ((20, 20, True), (20, 20, True), None),
        ((50, 50, True), None, (50, 50, True)),
    ],
)
@pytest.mark.parametrize("what", ["shown", "standing", "waiting"])
def test_what_lasts_is_cut_off_at_the_ends_of_a_phase(
    held: tuple[int, int, bool],
    first: tuple[int, int, bool] | None,
    last: tuple[int, int, bool] | None,
    what: str,
) -> None:
    row = (Held("a", "low", *held),)
    whole = {
        "shown": Stretch("run", 0, 100, shown=row),
        "standing": Stretch("run", 0, 100, standing=row),
        "waiting": Stretch("run", 0, 100, waiting=row),
    }[what]

    for visit, part in ((FIRST, first), (LAST, last)):
        expected = () if part is None else (Held("a", "low", *part),)

        assert getattr(part_of(whole, visit), what) == expected


def test_a_part_lasts_as_long_as_its_phase() -> None:
    part = part_of(Stretch("run", 0, 100), LAST)

    assert (part.run, part.start_ns, part.end_ns, part.lasted_ns) == ("run", 50, 100, 50)


def test_what_is_held_lasts_from_begin_to_end() -> None:
    assert Held("a", "low", 10, 25, is_over=True).lasted_ns == 15
