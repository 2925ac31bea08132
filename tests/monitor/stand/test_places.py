"""Tests for monitor.stand.places.

Source: hand-worked here; a limit is watched where its list names the phase or the mode, and
suppressed likewise.
"""

from __future__ import annotations

import pytest

from monitor.limits.plan import Place
from monitor.stand.places import heard_at, listed, places_of, told, watched_at
from monitor.stand.schema import AlarmTable
from tests.monitor.stand.places_stand import draft_of

PHASES = (Place("climb", "normal"), Place("climb", "loop"), Place("hold", "normal"))


def test_every_phase_stands_with_every_mode() -> None:
    text = "".join(f'[[phases]]\nname = "{name}"\n' for name in ("a", "b"))
    text += "".join(f'[[modes]]\nname = "{name}"\n' for name in ("m", "n"))

    assert places_of(draft_of(text)) == [
        Place("a", "m"),
        Place("a", "n"),
        Place("b", "m"),
        Place("b", "n"),
    ]


def test_without_modes_a_phase_stands_alone() -> None:
    assert places_of(draft_of('[[phases]]\nname = "a"\n')) == [Place("a")]


@pytest.mark.parametrize(
    ("watched_in", "places"),
    [
        ([], PHASES),
        (["climb"], PHASES[:2]),
        (["loop"], PHASES[1:2]),
        (["loop", "hold"], PHASES[1:]),
        (["descent"], ()),
    ],
)
def test_it_is_watched_where_phase_or_mode_is_named(
    watched_in: list[str], places: tuple[Place, ...]
) -> None:
    assert watched_at(AlarmTable(watched_in=watched_in), PHASES) == list(places)


def test_it_is_heard_where_it_is_watched_and_not_suppressed() -> None:
    table = AlarmTable(watched_in=["climb"], suppressed_in=["loop"])

    assert heard_at(table, PHASES) == [Place("climb", "normal")]


def test_it_is_not_heard_in_a_quiet_phase() -> None:
    assert heard_at(AlarmTable(), PHASES, frozenset({"climb"})) == [Place("hold", "normal")]


def test_a_place_is_told_with_its_mode() -> None:
    assert (told(Place("hold")), told(Place("hold", "loop"))) == (
        "'hold'",
        "'hold' with 'loop'",
    )


def test_a_phase_with_all_its_modes_is_listed_alone() -> None:
    text = '[[phases]]\nname = "climb"\n[[modes]]\nname = "normal"\n[[modes]]\nname = "loop"\n'

    assert listed(draft_of(text), PHASES) == "'climb', 'hold' with 'normal'"


def test_without_modes_phases_are_listed() -> None:
    draft = draft_of('[[phases]]\nname = "a"\n')

    assert listed(draft, [Place("a"), Place("b")]) == "'a', 'b'"
