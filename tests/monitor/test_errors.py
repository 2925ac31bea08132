"""Tests for monitor.errors.

Source: hand-worked here.
"""

from __future__ import annotations

import pytest

from monitor.errors import (
    FormulaError,
    MonitorError,
    Problem,
    RecordError,
    StandError,
    UnitError,
    did_you_mean,
    nearest,
)


def test_a_problem_is_one_line_with_place_grade_and_text() -> None:
    error = Problem("a.toml", 3, "channels.PT-1.unit", "unknown 'kpa'")
    warning = Problem("a.toml", 0, "file", "odd", is_warning=True)

    assert str(error) == "a.toml:3: error: channels.PT-1.unit: unknown 'kpa'"
    assert str(warning) == "a.toml:0: warning: file: odd"


def test_a_stand_error_holds_all_problems_one_a_line() -> None:
    problems = [Problem("a", 1, "x", "one"), Problem("a", 2, "y", "two")]

    error = StandError(problems)

    assert error.problems == tuple(problems)
    assert str(error) == "a:1: error: x: one\na:2: error: y: two"


def test_errors_name_the_place_first() -> None:
    assert str(FormulaError("a +", 3, "cut off")) == "column 3 of 'a +': cut off"
    assert str(UnitError("kpa", "unknown")) == "unit 'kpa': unknown"
    assert str(RecordError("/run", "full")) == "/run: full"


def test_all_errors_have_one_root() -> None:
    for kind in (StandError, FormulaError, UnitError, RecordError):
        assert issubclass(kind, MonitorError)


@pytest.mark.parametrize(
    ("word", "known", "name"),
    [
        ("kpa", ["Pa", "kPa", "bar"], "kPa"),
        ("KPA", ["Pa", "kPa"], "kPa"),
        ("setpiont", ["setpoint", "deadband"], "setpoint"),
        ("zzz", ["setpoint", "deadband"], ""),
        ("x", [], ""),
    ],
)
def test_the_nearest_name_is_found_whatever_its_capitals(
    word: str, known: list[str], name: str
) -> None:
    assert nearest(word, known) == name


def test_a_hint_is_given_only_where_there_is_a_name_near() -> None:
    assert did_you_mean("hihg", ["high", "low"]) == "; did you mean 'high'?"
    assert did_you_mean("zzz", ["high", "low"]) == ""
