"""Tests for tests.mutation.faults.

Source: Hand-worked here: each kind of fault on the shortest text that allows it.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.mutation.faults import faults_in, with_fault

LIMITS = sorted((Path(__file__).parents[2] / "monitor" / "limits").glob("*.py"))


@pytest.mark.parametrize(
    ("text", "mutations"),
    [
        ("a < b", {"a < b -> a <= b", "a < b -> a >= b"}),
        ("a <= b", {"a <= b -> a < b", "a <= b -> a > b"}),
        ("a > b", {"a > b -> a >= b", "a > b -> a <= b"}),
        ("a >= b", {"a >= b -> a > b", "a >= b -> a < b"}),
        ("a == b", {"a == b -> a != b"}),
        ("a != b", {"a != b -> a == b"}),
        ("a is b", {"a is b -> a is not b"}),
        ("a not in b", {"a not in b -> a in b"}),
        ("a + b", {"a + b -> a - b"}),
        ("a - b", {"a - b -> a + b"}),
        ("a * b", {"a * b -> a / b"}),
        ("a & b", {"a & b -> a | b"}),
        ("a += b", {"a += b -> a -= b"}),
        ("a and b", {"a and b -> (a or b)"}),
        ("a or b", {"a or b -> (a and b)"}),
        ("not a", {"not a -> (a)"}),
        ("-a", {"-a -> (a)"}),
        ("~a", {"~a -> (a)"}),
        ("a[1]", {"1 -> 2", "1 -> (0)"}),
        ("a = 0.5", {"0.5 -> 1.5"}),
        ("a = True", {"True -> False"}),
        ("a = 'word'", set()),
        ("a('left')", {"'left' -> 'right'", "a('left') -> pass"}),
        ("a = min(b)", {"min -> max"}),
        ("a = np.minimum(b, c)", {"np.minimum -> np.maximum"}),
        ("a = b.any()", {"b.any -> b.all"}),
        ("a._x(b)", {"a._x(b) -> pass"}),
        ("a[b] = c", {"a[b] = c -> pass"}),
        ("a.b = c", {"a.b = c -> pass"}),
        ("a.b += c", {"a.b += c -> a.b -= c", "a.b += c -> pass"}),
        ("a = b", set()),
        ("a = {b: c, d: e}", {"{b: c, d: e} -> {b: c}", "{b: c, d: e} -> {d: e}"}),
        ("def a() -> bool:\n    return b", {"return b -> return not (b)"}),
        ("def a() -> int:\n    return b", {"return b -> return -(b)"}),
        ("def a() -> Flags:\n    return b", {"return b -> return ~(b)"}),
        ("def a() -> str:\n    return b", set()),
        ("def a() -> None:\n    return", set()),
        ("for a in b:\n    continue", {"continue -> pass"}),
        ("a: Literal[1]", set()),
        ("@a(1)\ndef b(): ...", set()),
        ("class A(IntEnum):\n    B = 1", set()),
        ("class A:\n    B = True", {"True -> False"}),
        ("f'{a + b}'", set()),
        ('"""A docstring."""', set()),
    ],
)
def test_each_kind_of_fault_is_made(text: str, mutations: set[str]) -> None:
    assert {fault.mutation for fault in faults_in(text)} == mutations


def test_a_fault_changes_its_own_part_of_the_text_and_nothing_else() -> None:
    text = "x = 'ä'; y = (a  <  b) + (\n    c - d)  # why\n"
    (less,) = (one for one in faults_in(text) if one.put == "a <= b")

    assert with_fault(text, less) == text.replace("a  <  b", "a <= b")


def test_a_fault_says_where_it_is() -> None:
    text = "class A:\n    def b(self):\n        self.c = d\n        self.c = d\n"

    places = [(one.function, one.line, one.before, one.nth) for one in faults_in(text)]

    assert places == [("A.b", 3, "self.c = d", 0), ("A.b", 4, "self.c = d", 1)]


@pytest.mark.parametrize("path", LIMITS, ids=lambda path: path.stem)
def test_every_fault_of_a_real_module_is_another_program(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    plain = ast.dump(ast.parse(text))

    assert all(
        ast.dump(ast.parse(with_fault(text, fault))) != plain for fault in faults_in(text)
    )
