"""Tests for monitor.limits.condition.

Source: Python's own evaluation of the same text, and hand-worked mistakes.
"""

from __future__ import annotations

import itertools

import pytest

from monitor.limits.condition import parse_condition


@pytest.mark.parametrize(
    "text",
    [
        "a",
        "not a",
        "a and b",
        "a or b and c",
        "(a or b) and c",
        "not (a or b)",
        "a and b and not c",
        "at_least(2, a, b, c)",
        "at_least(1, a, b) and not c",
        "at_least(2, a and b, b or c, not a)",
    ],
)
@pytest.mark.parametrize("flags", list(itertools.product([False, True], repeat=3)))
def test_it_means_what_python_means(text: str, flags: tuple[bool, ...]) -> None:
    stands = dict(zip("abc", flags, strict=True))
    python = eval(text, {"at_least": lambda n, *parts: sum(parts) >= n}, dict(stands))

    assert parse_condition(text).holds(stands) == python


def test_names_come_in_the_order_of_appearance_and_once() -> None:
    assert parse_condition("low and (high or low) and not gas").names == ("low", "high", "gas")


def test_the_text_is_kept_without_the_space_around_it() -> None:
    assert parse_condition("  a and\tb ").text == "a and\tb"


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "is no expression of names with and, or, not"),
        ("a and", "is no expression of names with and, or, not"),
        ("a\x00", "is no expression of names with and, or, not"),
        ("a > 3", "'a > 3' has no place here"),
        ("a & b", "'a & b' has no place here"),
        ("True", "'True' has no place here"),
        ("a.b", "'a.b' has no place here"),
        ("f(a)", r"'f\(a\)' has no place here"),
        ("-a", "'-a' has no place here"),
        ("at_least(3, a, b)", "at least so many names"),
        ("at_least(0, a, b)", "at least so many names"),
        ("at_least(True, a, b)", "at least so many names"),
        ("at_least(a, b)", "at least so many names"),
        ("at_least(1.0, b)", "at least so many names"),
    ],
)
def test_anything_else_is_refused_with_the_part_that_is_wrong(text: str, problem: str) -> None:
    with pytest.raises(ValueError, match=problem):
        parse_condition(text)


def test_a_text_of_ten_thousand_brackets_is_refused_and_does_no_harm() -> None:
    with pytest.raises(ValueError, match="is no expression"):
        parse_condition("(" * 10_000 + "a" + ")" * 10_000)
