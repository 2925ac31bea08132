"""Tests for monitor.channels.nodes.

Source: Python's own float arithmetic, row by row (IEEE 754); NaN rules hand-worked here.
"""

from __future__ import annotations

import math
import pickle
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.channels.nodes import (
    ARITHMETIC,
    COMPARISONS,
    Binary,
    Call,
    Choose,
    Compare,
    Input,
    Logic,
    Negative,
    Node,
    Not,
    Number,
    Power,
    walk,
)
from monitor.samples import Floats

NAN = math.nan
A, B = Input(1, "a"), Input(1, "b")
ONE = Number(1, 1.0, Fraction(1))
ZERO = Number(1, 0.0, Fraction(0))


def of(node: Node, a: list[float], b: list[float] | None = None) -> list[float]:
    """Evaluate on short columns."""
    inputs = {"a": np.array(a), "b": np.array(b if b is not None else a)}
    with np.errstate(all="ignore"):
        result: Floats = node.of(inputs)
    return [float(value) for value in result]


def same(got: list[float], expected: list[float]) -> bool:
    """Compare with NaN equal to NaN."""
    return bool(np.array_equal(np.array(got), np.array(expected), equal_nan=True))


@pytest.mark.parametrize("sign", ARITHMETIC)
def test_arithmetic_with_nan_is_nan(sign: str) -> None:
    node = Binary(1, sign, A, B)

    assert same(of(node, [NAN, 1.0, NAN], [1.0, NAN, NAN]), [NAN, NAN, NAN])


def test_arithmetic_is_that_of_the_sign() -> None:
    results = [of(Binary(1, sign, A, B), [6.0], [4.0])[0] for sign in "+-*/"]

    assert results == [10.0, 2.0, 24.0, 1.5]


@pytest.mark.parametrize(
    ("sign", "expected"),
    [
        ("<", [1, 0, 0]),
        ("<=", [1, 1, 0]),
        (">", [0, 0, 1]),
        (">=", [0, 1, 1]),
        ("==", [0, 1, 0]),
        ("!=", [1, 0, 1]),
    ],
)
def test_comparisons_give_one_and_zero_and_nan(sign: str, expected: list[float]) -> None:
    node = Compare(1, sign, A, B)

    got = of(node, [1.0, 2.0, 3.0, NAN, 1.0], [2.0, 2.0, 2.0, 1.0, NAN])

    assert sign in COMPARISONS
    assert same(got, [*expected, NAN, NAN])


def test_infinities_can_be_compared() -> None:
    assert of(Compare(1, ">", A, B), [math.inf], [-math.inf]) == [1.0]


@pytest.mark.parametrize(
    ("word", "expected"), [("and", [0, 0, 0, 1, NAN, NAN]), ("or", [0, 1, 1, 1, NAN, NAN])]
)
def test_logic_counts_every_operand_for_nan(word: str, expected: list[float]) -> None:
    node = Logic(1, word, (A, B))

    got = of(node, [0.0, 0.0, 2.0, 2.0, NAN, 1.0], [0.0, 3.0, 0.0, 3.0, 0.0, NAN])

    assert same(got, expected)


def test_logic_takes_more_than_two() -> None:
    node = Logic(1, "and", (A, B, ONE, ZERO))

    assert of(node, [1.0]) == [0.0]


def test_not_turns_any_number_but_zero_into_zero() -> None:
    assert same(of(Not(1, A), [0.0, 1.0, -2.0, NAN]), [1.0, 0.0, 0.0, NAN])


def test_a_choice_has_the_nan_of_the_side_it_takes() -> None:
    root = Call(1, "sqrt", (A,))
    node = Choose(1, Compare(1, ">", A, ZERO), root, ZERO)

    assert same(of(node, [4.0, -4.0, NAN]), [2.0, 0.0, NAN])


@pytest.mark.parametrize(("name", "expected"), [("min", [1, NAN, NAN]), ("max", [2, NAN, NAN])])
def test_minimum_and_maximum_with_nan_are_nan(name: str, expected: list[float]) -> None:
    node = Call(1, name, (A, B, ONE))

    assert same(of(node, [2.0, NAN, 1.0], [1.0, 1.0, NAN]), expected)


def test_functions_of_one_operand() -> None:
    got = [of(Call(1, name, (A,)), [2.25])[0] for name in ("abs", "sqrt", "kelvin")]

    assert got == [2.25, 1.5, 275.4]
    assert of(Call(1, "abs", (A,)), [-2.0]) == [2.0]


def test_a_negative_number_has_no_root() -> None:
    assert same(of(Call(1, "sqrt", (A,)), [-1.0]), [NAN])


@pytest.mark.parametrize("exponent", range(-8, 9))
@given(base=st.floats(-1e30, 1e30))
def test_a_power_is_repeated_multiplication(exponent: int, base: float) -> None:
    expected = 1.0
    for _ in range(abs(exponent)):
        expected = expected * base
    if exponent < 0:
        expected = 1.0 / expected if expected else math.copysign(math.inf, expected)

    assert of(Power(1, A, Fraction(exponent)), [base]) == [expected]


def test_powers_of_nan_are_nan_even_the_zeroth() -> None:
    got = [of(Power(1, A, Fraction(exponent)), [NAN])[0] for exponent in (-1, 0, 1, 2)]

    assert all(math.isnan(value) for value in got)


def test_the_half_power_is_the_square_root() -> None:
    assert of(Power(1, A, Fraction(1, 2)), [2.0]) == [math.sqrt(2.0)]


def test_an_input_is_brought_to_the_unit_the_formula_takes() -> None:
    fahrenheit = Input(1, "a", gain=5 / 9, offset=-160 / 9)

    assert of(fahrenheit, [212.0]) == [pytest.approx(100.0, abs=1e-13)]


def test_a_sign_turns() -> None:
    assert of(Negative(1, A), [2.0, -3.0]) == [-2.0, 3.0]


def test_walking_meets_every_part_from_left_to_right() -> None:
    tree = Choose(1, Not(2, A), Negative(3, Power(4, B, Fraction(2))), Call(5, "abs", (ONE,)))

    kinds = [type(node).__name__ for node in walk(tree)]

    assert kinds == ["Choose", "Not", "Input", "Negative", "Power", "Input", "Call", "Number"]


def test_a_tree_can_be_sent_to_another_process() -> None:
    tree = Logic(1, "or", (Compare(1, "<", A, B), Binary(1, "+", A, ONE)))

    assert pickle.loads(pickle.dumps(tree)) == tree
