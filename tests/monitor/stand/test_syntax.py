"""Tests for monitor.stand.syntax.

Source: lines counted by eye in the texts below; TOML v1.0.0 for what is allowed.
"""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.stand.syntax import parse


def found(text: str) -> list[tuple[int, str, str]]:
    """Give line, key and text of every problem."""
    _, problems = parse("stand.toml", text)
    return [(problem.line, problem.key, problem.text) for problem in problems]


def test_a_sound_file_is_parsed_without_problems() -> None:
    assert parse("f", "[a]\nb = 1\n") == ({"a": {"b": 1}}, [])


@pytest.mark.parametrize(
    ("text", "line", "key", "problem"),
    [
        (
            "[stand]\nname = gondola\n",
            2,
            "stand.name",
            "Invalid value; a text stands in quotes",
        ),
        ("[stand]\nlag_s = 0,5\n", 2, "stand.lag_s", "Expected newline or end of document"),
        (
            '[stand]\nname = "a\n\nx = 1',
            2,
            "stand.name",
            "Illegal character '\\n'; a text ends",
        ),
        ("[stand]\nname\n", 2, "stand", "Expected '=' after a key"),
        ("[a]\nb = [\n1\n\n[c]\nd = 1\n", 2, "a.b", "begins here and does not end; a list"),
        ("[a]\nx = 1\nb = [\n1,\n", 3, "a.b", "begins here and does not end"),
        ("[a]\nb = { c = 1\nd = 2\n", 2, "a.b", "Unclosed inline table; it ends with }"),
        ('[a]\nb = """x\ny\n', 2, "a.b", "begins here and does not end"),
        (
            "[channels.PT-1\nb = 1\n",
            1,
            "file",
            "Expected ']' at the end of a table declaration",
        ),
        ('[a]\nb = "\\q"\n', 2, "a.b", "Unescaped '\\' in a string; write \\\\ for one"),
        ("x = 1\n[a]\nµ = 1\n", 3, 'a."µ"', "Invalid statement; write key = value"),
        ("name = x", 1, "name", "Invalid value"),
    ],
)
def test_a_mistake_is_named_with_line_key_and_cure(
    text: str, line: int, key: str, problem: str
) -> None:
    (got,) = found(text)

    assert got[:2] == (line, key)
    assert got[2].startswith(problem)


def test_one_broken_table_does_not_hide_the_next() -> None:
    text = "[a]\nb = x\n\n[c]\nd = 1\n[e]\nf = 'y\n[[g]]\nh = 1, 2\n"

    assert [(line, key) for line, key, _ in found(text)] == [(2, "a.b"), (7, "e.f"), (9, "g.h")]
    assert parse("f", text)[0] is None


def test_several_mistakes_of_one_table_are_named() -> None:
    text = "[a]\nb = x\nc = 1\nd = y\ne = 1,5\n"

    assert [line for line, _, _ in found(text)] == [2, 4, 5]


def test_what_follows_a_broken_list_is_not_called_wrong() -> None:
    text = '[a]\nb = [x,\n "y",\n "z"]\n'

    assert [line for line, _, _ in found(text)] == [2]


def test_a_table_that_stands_twice_is_named_and_the_first_counts() -> None:
    text = (
        "[channels.PT-1]\na = 1\n[channels.PT-2]\nb = 1\n"
        "[channels.PT-1]\na = 2\n[channels.PT-1.limits]\nc = 3\n[channels.PT-3]\n"
    )

    tables, problems = parse("f", text)

    assert tables == {"channels": {"PT-1": {"a": 1}, "PT-2": {"b": 1}, "PT-3": {}}}
    assert [(p.line, p.key, p.text) for p in problems] == [
        (5, "channels.PT-1", "stands twice; the first one is in line 1")
    ]


def test_a_key_that_stands_twice_is_named_and_the_first_counts() -> None:
    tables, problems = parse("f", "[a]\nb = 1\nc = 2\nb = 3\nd = 4\n")

    assert tables == {"a": {"b": 1, "c": 2, "d": 4}}
    assert [(p.line, p.key, p.text) for p in problems] == [
        (4, "a.b", "stands twice; the first one is in line 2")
    ]


def test_a_value_of_several_lines_that_stands_twice_takes_its_table_along() -> None:
    tables, problems = parse("f", "[a]\nb = [\n1]\nb = [\n2]\n[c]\nd = 1\n")

    assert tables == {"c": {"d": 1}}
    assert [p.line for p in problems] == [5]


def test_single_and_double_brackets_for_one_name_are_told() -> None:
    assert found("[[phases]]\nname = 'a'\n[phases]\nname = 'b'\n") == [
        (3, "phases", "stands twice; the first one is in line 1")
    ]


def test_a_broken_table_and_one_that_stands_twice_are_both_named() -> None:
    text = "[a]\nb = x\n[c]\nd = 1\n[c]\nd = 2\n"

    assert [(line, key) for line, key, _ in found(text)] == [(2, "a.b"), (5, "c")]


def test_no_more_than_twenty_problems_are_named() -> None:
    text = "".join(f"[t{number}]\na = x\nb = y\n" for number in range(100))

    assert len(found(text)) == 20
    assert len(found("[a]\n" * 100)) == 20


def test_lists_too_deep_to_read_are_refused() -> None:
    tables, problems = parse("f", "a = " + "[" * 100_000)

    assert tables is None
    assert "deeper than can be read" in problems[0].text


def test_lists_too_deep_to_read_beside_another_mistake_are_refused() -> None:
    text = "[a]\nb = x\n[c]\nd = " + "[" * 100_000 + "\n"

    assert [line for line, _, _ in found(text)] == [2, 4]


def test_a_large_broken_file_is_answered_soon() -> None:
    text = "".join(f"[channels.PT-{n}]\na = 1\nb = 2\n\n" for n in range(2000)) + "[x]\ny = z\n"
    started = time.perf_counter()

    assert [line for line, _, _ in found(text)] == [8002]
    assert time.perf_counter() - started < 10


@given(st.text(st.sampled_from("[]{}=\"'\n#.,ab1 -\\"), max_size=60))
def test_any_text_is_either_parsed_or_has_a_problem(text: str) -> None:
    tables, problems = parse("f", text)

    assert (tables is not None) or problems
    assert all(1 <= problem.line <= text.count("\n") + 1 for problem in problems)
