"""Tests for drivers.instruments.checks.

Source: hand-worked here.
"""

from __future__ import annotations

import math

import pytest

from drivers.errors import SettingsError
from drivers.instruments.checks import check_fields, check_names, check_range, check_text


@pytest.mark.parametrize("value", [1, 5.5, 10])
def test_bounds_and_what_is_between_pass(value: float) -> None:
    check_range("key", value, (1, 10), "s")

    assert 1 <= value <= 10


@pytest.mark.parametrize("value", [0.999, 10.5, math.nan, math.inf])
def test_everything_else_is_out_of_range(value: float) -> None:
    with pytest.raises(SettingsError, match=r"key: .* is not from 1 to 10 s$"):
        check_range("key", value, (1, 10), "s")


def test_a_number_without_unit_leaves_no_space_at_the_end() -> None:
    with pytest.raises(SettingsError, match=r"is not from 1 to 10$"):
        check_range("key", 0, (1, 10), "")


@pytest.mark.parametrize("text", ["a\nb", "a\r", "\xe4"])
def test_text_that_cannot_stand_in_a_line_is_refused(text: str) -> None:
    with pytest.raises(SettingsError, match="key: "):
        check_text("key", text)


@pytest.mark.parametrize("names", [["a", "b", "a"], [""], ["a "], ["a\tb"]])
def test_names_that_are_not_unique_or_not_names_are_refused(names: list[str]) -> None:
    with pytest.raises(SettingsError, match="key: "):
        check_names(names, "key")


def test_good_names_pass() -> None:
    names = ["a", "b c", "n1/p"]

    check_names(names, "key")

    assert len(set(names)) == 3


def test_fields_may_be_skipped_but_not_all() -> None:
    check_fields(["", "a", ""], "key")

    with pytest.raises(SettingsError, match="names no signal"):
        check_fields([""], "key")
