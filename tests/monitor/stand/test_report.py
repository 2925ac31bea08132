"""Tests for monitor.stand.report.

Source: hand-worked here.
"""

from __future__ import annotations

import pytest

from monitor.errors import Problem
from monitor.stand.locate import KeyPath, locate
from monitor.stand.report import Report, key_text

TEXT = "[a]\nb = 1\n[c]\nd = 2\n"


def report() -> Report:
    return Report("stand.toml", locate(TEXT))


def test_problems_come_in_the_order_of_the_file() -> None:
    found = report()

    found.error(("c", "d"), "third")
    found.warning(("a", "b"), "first")
    found.error(("a", "b"), "second")

    assert [str(problem) for problem in found.problems] == [
        "stand.toml:2: warning: a.b: first",
        "stand.toml:2: error: a.b: second",
        "stand.toml:4: error: c.d: third",
    ]


def test_a_mistake_noted_twice_is_one() -> None:
    found = report()

    found.error(("a",), "wrong")
    found.error(("a",), "wrong")

    assert len(found.problems) == 1


def test_a_missing_key_has_the_line_of_its_table() -> None:
    found = report()

    found.error(("c", "x"), "missing")

    assert found.problems[0].line == 3


def test_warnings_are_no_errors() -> None:
    found = report()

    found.warning(("a", "b"), "odd")
    assert found.errors == 0
    assert not found.has_error_at(("a",))

    found.error(("a", "b"), "wrong")
    assert found.errors == 1


def test_a_mistake_is_known_at_its_place_and_above_only() -> None:
    found = report()

    found.error(("a", "b", 0, "c"), "wrong")

    assert found.has_error_at(("a",))
    assert found.has_error_at(("a", "b"))
    assert found.has_error_at(("a", "b", 0, "c"))
    assert not found.has_error_at(("a", "b", 0, "c", "d"))
    assert not found.has_error_at(("a", "bb"))
    assert not found.has_error_at(("c",))


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ((), ""),
        (("channels", "PT-101", "limits"), "channels.PT-101.limits"),
        (("phases", 0, "name"), "phases[1].name"),
        (("channels", "PT 1", "unit"), 'channels."PT 1".unit'),
        (("a", 'x"y'), 'a."x\\"y"'),
        (("a", "µ"), 'a."µ"'),
    ],
)
def test_a_key_is_written_as_in_the_file(path: KeyPath, text: str) -> None:
    assert key_text(path) == text


def test_an_unknown_key_is_told_with_the_nearest_or_with_all() -> None:
    found = report()

    found.unknown_key(("a", "setpiont"), ["setpoint", "deadband"])
    found.unknown_key(("c", "zzz"), ["setpoint", "deadband"])

    assert [(problem.key, problem.text) for problem in found.problems] == [
        ("a.setpiont", "unknown key; did you mean 'setpoint'?"),
        ("c.zzz", "unknown key; known are setpoint, deadband"),
    ]


def test_a_key_that_is_not_there_is_missing_with_a_cure() -> None:
    found = report()

    found.missing(("a", "setpoint"), "write one")

    assert [(problem.line, problem.key, problem.text) for problem in found.problems] == [
        (1, "a.setpoint", "missing; write one")
    ]


def test_a_key_that_is_misspelt_is_not_missing_besides() -> None:
    found = report()

    found.unknown_key(("a", "setpiont"), ["setpoint"])
    found.missing(("a", "setpoint"), "write one")
    found.missing(("c", "setpoint"), "write one")

    assert [problem.key for problem in found.problems] == ["a.setpiont", "c.setpoint"]


def test_a_key_that_is_wrong_is_not_missing_besides() -> None:
    found = report()

    found.error(("a", "b"), "no number")
    found.missing(("a", "b"), "write one")

    assert [problem.text for problem in found.problems] == ["no number"]


def test_a_problem_with_a_line_of_its_own_keeps_it() -> None:
    found = report()

    found.add(Problem("stand.toml", 9, "x", "stands twice"))
    found.error(("a", "b"), "first")

    assert [problem.line for problem in found.problems] == [2, 9]
