"""Tests for monitor.unit_table.

Source: none; these are properties of the table. Sizes are checked in test_units.
"""

from __future__ import annotations

from monitor.unit_table import HABITS, rows, spellings


def test_no_spelling_stands_for_two_units() -> None:
    names = [name for shown, _, others in rows() for name in (shown, *others)]

    assert len(names) == len(set(names))


def test_every_spelling_leads_to_a_unit_of_the_table() -> None:
    shown = {row[0] for row in rows()}

    assert spellings()["degC"] == "°C"
    assert set(spellings().values()) == shown


def test_a_habit_is_never_the_name_of_a_unit() -> None:
    assert not set(HABITS) & set(spellings())
