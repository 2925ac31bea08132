"""Tests for monitor.channels.formula.

Source: Python's own evaluation of the same expressions, row by row, for everything that Python
computes alike; the rest hand-worked here.
"""

from __future__ import annotations

import ast
import math
import warnings
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.channels.formula import (
    DEEPEST,
    FUNCTIONS,
    LONGEST,
    MOST_PARTS,
    Formula,
    parse_formula,
)
from monitor.errors import FormulaError


def python(text: str, names: dict[str, float]) -> float:
    """Let Python itself evaluate, as the independent truth."""
    functions: dict[str, Any] = {"abs": abs, "sqrt": math.sqrt, "min": min, "max": max}
    return float(eval(text, {"__builtins__": {}}, functions | names))


@pytest.mark.parametrize(
    "text",
    [
        "a - b",
        "a + 2 * b",
        "(a + b) * (a - b) / 4",
        "-a ** 2",
        "(-a) ** 2",
        "a ** -1 + b ** 3",
        "a < b",
        "1 < a <= b < 9",
        "a == b or a > 2 and not b",
        "a > 1 and b > 5",
        "a > 7 or b > 5",
        "a if a > b else b - 1",
        "min(a, b, 2.5) - max(a, b)",
        "abs(a - b)",
        "sqrt(a) ** 0.5",
        "+a - -b",
        "1e-3 * a + .5",
        "1_000 * a",
        "(a > 1) + (b > 1) + (a > 4)",
    ],
)
def test_agrees_with_python_on_numbers(text: str) -> None:
    rows = [(1.0, 2.0), (3.0, 3.0), (7.5, 0.0625), (2.0, 9.0)]
    columns = {
        "a": np.array([row[0] for row in rows]),
        "b": np.array([row[1] for row in rows]),
    }

    got = parse_formula(text).evaluate(columns)

    expected = [python(text, {"a": a, "b": b}) for a, b in rows]
    if "**" in text or "sqrt" in text:
        # Python raises with the C library's pow, which may differ in the last bit.
        assert got.tolist() == pytest.approx(expected, rel=1e-15)
    else:
        assert got.tolist() == expected


_LEAVES = st.sampled_from(["a", "b", "1.5", "2", "0.25"])
_EXPRESSIONS = st.recursive(
    _LEAVES,
    lambda inner: st.one_of(
        st.builds("({} {} {})".format, inner, st.sampled_from("+-*"), inner),
        st.builds("({} {} {})".format, inner, st.sampled_from(["<", ">=", "==", "!="]), inner),
        st.builds("({} if {} else {})".format, inner, inner, inner),
        st.builds("min({}, {})".format, inner, inner),
        st.builds("(-{})".format, inner),
        st.builds("(not {})".format, inner),
    ),
    max_leaves=12,
)


@given(_EXPRESSIONS, st.floats(-1e3, 1e3), st.floats(-1e3, 1e3))
def test_any_expression_agrees_with_python(text: str, a: float, b: float) -> None:
    text = f"{text} + 0 * a"

    got = parse_formula(text).evaluate({"a": np.array([a]), "b": np.array([b])})

    assert got[0] == python(text, {"a": a, "b": b})


def test_bad_values_become_nan_without_a_warning() -> None:
    formula = parse_formula("sqrt(a) / b + (a > b)")
    columns = {"a": np.array([-1.0, 1.0, np.nan]), "b": np.array([1.0, 0.0, 1.0])}

    with warnings.catch_warnings():
        warnings.simplefilter("error")
        got = formula.evaluate(columns)

    assert np.isnan(got[[0, 2]]).all()
    assert got[1] == math.inf


def test_the_result_is_an_array_of_its_own() -> None:
    column = np.array([1.0, 2.0])

    result = parse_formula("a").evaluate({"a": column})
    result[0] = 9.0

    assert column.tolist() == [1.0, 2.0]


def test_any_shape_is_kept() -> None:
    block = np.arange(6.0).reshape(2, 3)

    assert parse_formula("1 if a > 2 else 0").evaluate({"a": block}).shape == (2, 3)


def test_names_come_in_the_order_of_their_first_use() -> None:
    assert parse_formula("loop - cabin + loop / ambient").names == ("loop", "cabin", "ambient")


def test_constants_are_no_inputs() -> None:
    formula = parse_formula("volume * a", constants={"volume": 1.6})

    assert formula.names == ("a",)
    assert formula.evaluate({"a": np.array([2.0])}).tolist() == [3.2]


def test_an_input_can_be_scaled() -> None:
    formula = parse_formula("a - b", scales={"b": (100.0, 1.0)})

    assert formula.evaluate({"a": np.array([500.0]), "b": np.array([2.0])}).tolist() == [299.0]


def test_a_scaled_input_alone_is_scaled() -> None:
    formula = parse_formula("a", scales={"a": (2.0, 0.0)})

    assert formula.evaluate({"a": np.array([3.0])}).tolist() == [6.0]


def test_a_formula_may_span_lines() -> None:
    formula = parse_formula("\n  a\n\t- b\r\n")

    assert formula.evaluate({"a": np.array([3.0]), "b": np.array([1.0])}).tolist() == [2.0]


def test_the_place_of_a_name_is_told_in_characters() -> None:
    formula = parse_formula(" ä +\n loop * k", constants={"k": 2.0})

    assert [formula.column_of(name) for name in ("ä", "loop", "k")] == [2, 7, 14]


def test_formulas_of_one_text_are_equal() -> None:
    assert parse_formula("a - b") == parse_formula("a - b")
    assert isinstance(parse_formula("a"), Formula)


@pytest.mark.parametrize(
    ("text", "column", "problem"),
    [
        ("", 1, "empty"),
        ("   ", 1, "empty"),
        ("1 + 2", 1, "names no input"),
        ("a +", 3, "cannot be read: invalid syntax"),
        ("a - (b", 5, "cannot be read: '(' was never closed"),
        ("a = b", 3, "cannot be read"),
        ("  a $ b", 5, "cannot be read"),
        ("a if b", 1, "cannot be read: expected 'else'"),
        ("a\x00", 2, "a null character has no place"),
        ("a # the loop", 3, "a comment has no place in a formula"),
        ("a - (b ^ 2)", 6, "this operation is not allowed; a power is written **"),
        ("a // b", 1, "this operation is not allowed; allowed are names, numbers"),
        ("a % b", 1, "this operation is not allowed"),
        ("~a", 1, "~ is not allowed"),
        ("a ** b", 6, "an exponent is a whole number from -8 to 8, or 0.5"),
        ("a ** 9", 6, "an exponent is"),
        ("a ** -9", 6, "an exponent is"),
        ("a ** 1.5", 6, "an exponent is"),
        ("a ** -0.5", 6, "an exponent is"),
        ("a ** 2 ** 2", 6, "an exponent is"),
        ("a ** True", 6, "an exponent is"),
        ("b + 'x'", 5, "'x' is no number"),
        ("a * True", 5, "True is no number; write 1 for true, 0 for false"),
        ("a + 2j", 5, "2j is no number"),
        ("a + 1e999", 5, "larger than a number can be"),
        ("a + 1" + "0" * 400, 5, "larger than a number can be"),
        ("a in b", 1, "compare with < <= > >= == !="),
        ("a is b", 1, "compare with"),
        ("1,5 * a", 1, "not allowed here; a decimal point is written '.'"),
        ("[a]", 1, "not allowed here; allowed are"),
        ("b - a.real", 5, "not allowed here"),
        ("a[0]", 1, "not allowed here"),
        ("lambda: a", 1, "not allowed here"),
        ("(b := a)", 2, "not allowed here"),
        ("f'{a}'", 1, "not allowed here"),
        ("max(*a, b)", 5, "not allowed here"),
        ("sqrt", 1, "sqrt is a function; write sqrt(...)"),
        (
            "a + mni(a, b)",
            5,
            "unknown function 'mni'; did you mean 'min'?; there are abs, sqrt",
        ),
        ("__import__('os')", 1, "unknown function '__import__'"),
        ("a.f(b)", 1, "unknown function 'a.f'"),
        ("sqrt(a, b)", 1, "sqrt() takes 1 value, separated"),
        ("sqrt()", 1, "sqrt() takes 1 value"),
        ("kelvin(a, b)", 1, "kelvin() takes 1 value"),
        ("max(a)", 1, "max() takes at least 2 values"),
        ("abs(x=a)", 1, "abs() takes 1 value"),
        ("ö - €", 5, "cannot be read"),
    ],
)
def test_everything_else_is_refused_with_its_place(
    text: str, column: int, problem: str
) -> None:
    with pytest.raises(FormulaError) as caught:
        parse_formula(text)

    assert (caught.value.column, caught.value.problem[: len(problem)]) == (column, problem)


@pytest.mark.parametrize(
    "text",
    [
        "-" * (DEEPEST + 1) + "a",
        "a" + " + a" * (DEEPEST + 1),
        "max(" + "a, " * MOST_PARTS + "a)",
        "(" * 400 + "a" + ")" * 400,
        "(" * (LONGEST - 1),
        "a" * (LONGEST + 1),
        "a ** 2" + " + 1" * 10_000,
    ],
)
def test_a_formula_has_bounds(text: str) -> None:
    with pytest.raises(FormulaError, match=r"too long|longer than|brackets|nested|closed"):
        parse_formula(text)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("a" + " + a" * (DEEPEST - 1), float(DEEPEST)),
        ("max(" + "a, " * (MOST_PARTS - 2) + "a)", 1.0),
        (" " * (LONGEST - 1) + "a", 1.0),
    ],
)
def test_a_formula_at_its_bounds_is_read(text: str, value: float) -> None:
    assert parse_formula(text).evaluate({"a": np.array([1.0])}).tolist() == [value]


@pytest.mark.parametrize(
    "text",
    [
        "a" + " + a" * DEEPEST,
        "max(" + "a, " * (MOST_PARTS - 1) + "a)",
        " " * LONGEST + "a",
    ],
)
def test_a_formula_just_past_its_bounds_is_refused(text: str) -> None:
    with pytest.raises(FormulaError, match=r"too long|longer than"):
        parse_formula(text)


def test_temperatures_can_be_brought_to_kelvin() -> None:
    formula = parse_formula("kelvin(a)")

    assert formula.evaluate({"a": np.array([0.0, -273.15])}).tolist() == [273.15, 0.0]


def test_an_odd_spelling_gives_no_warning_of_pythons() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        formula = parse_formula("1if a else 0")

    assert formula.names == ("a",)


def test_the_list_of_functions_is_what_the_error_shows() -> None:
    with pytest.raises(FormulaError) as caught:
        parse_formula("exp(a)")

    assert caught.value.problem.endswith("there are " + ", ".join(FUNCTIONS))


def test_an_error_shows_the_formula_and_the_column() -> None:
    with pytest.raises(FormulaError, match=r"^column 5 of 'a \+ mni\(a\)': unknown"):
        parse_formula("a + mni(a)")


def test_nothing_is_executed() -> None:
    tree = ast.parse(Path(parse_formula.__code__.co_filename).read_text())

    called = {
        node.func.id
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }

    assert "Formula" in called
    assert not called & {"eval", "exec", "compile"}
