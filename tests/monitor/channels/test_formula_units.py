"""Tests for monitor.channels.formula_units.

Source: hand-worked here; the arithmetic of units itself is pint's.
"""

from __future__ import annotations

import pytest

from monitor.channels.formula import Formula, parse_formula
from monitor.channels.formula_units import check_result, unit_of
from monitor.errors import FormulaError
from monitor.units import parse_unit

#: Names in the formulas below and their units.
UNITS = {
    name: parse_unit(unit)
    for name, unit in {
        "loop": "kPa",
        "cabin": "kPa",
        "bottle": "bar",
        "mbar": "mbar",
        "hpa": "hPa",
        "inlet": "degC",
        "outlet": "degC",
        "wall": "K",
        "hot": "degF",
        "o2": "%",
        "share": "1",
        "open": "1",
        "volume": "L",
        "flow": "g/h",
        "time": "h",
        "w": "1",
        "ambient": "degC",
    }.items()
}
CONSTANTS = {"w": 0.3, "ambient": 20.0}


def formula(text: str) -> Formula:
    return parse_formula(text, constants=CONSTANTS)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("loop - cabin", "kPa"),
        ("loop - 1", "kPa"),
        ("0.5 + loop", "kPa"),
        ("mbar - hpa", "mbar"),
        ("loop * volume", "kPa·L"),
        ("loop * volume / volume", "kPa"),
        ("flow * time", "g"),
        ("1 / loop + 2", "1/kPa"),
        ("2 * loop", "kPa"),
        ("sqrt(loop * cabin)", "kPa"),
        ("loop ** 2 / cabin", "kPa"),
        ("loop ** 0.5", "kPa^(1/2)"),
        ("loop ** 0", ""),
        ("loop / cabin", ""),
        ("o2 / 2", "%"),
        ("loop > cabin", ""),
        ("loop > 3", ""),
        ("1 < loop < 3", ""),
        ("(loop > 3) * loop", "kPa"),
        ("(loop > 3) + (cabin > 3)", ""),
        ("not open", ""),
        ("open and loop > 2", ""),
        ("loop if open else cabin", "kPa"),
        ("loop if loop > 3 else 0", "kPa"),
        ("max(loop, cabin, 0)", "kPa"),
        ("min(0, loop)", "kPa"),
        ("abs(loop - cabin)", "kPa"),
        ("-loop", "kPa"),
        ("inlet", "°C"),
        ("inlet - outlet", "K"),
        ("-(inlet - outlet)", "K"),
        ("abs(inlet - outlet)", "K"),
        ("(inlet - outlet) * volume", "K·L"),
        ("inlet - 5", "°C"),
        ("inlet - ambient", "K"),
        ("inlet + wall", "°C"),
        ("(inlet + outlet) / 2", "°C"),
        ("inlet / 2 + outlet / 2", "°C"),
        ("0.3 * inlet + 0.7 * outlet", "°C"),
        ("w * inlet + (1 - w) * outlet", "°C"),
        ("(0.2 + 0.3) * inlet + 0.5 * outlet", "°C"),
        ("(0.25 * 2) * inlet + (1 / 2) * outlet", "°C"),
        ("-(-1) * inlet", "°C"),
        ("inlet * -1 + 2 * outlet", "°C"),
        ("(inlet + outlet + ambient) / 3", "°C"),
        ("max(inlet, outlet, 20)", "°C"),
        ("inlet if open else outlet", "°C"),
        ("inlet > 37", ""),
        ("kelvin(inlet)", "K"),
        ("kelvin(inlet) * loop", "K·kPa"),
        ("kelvin((inlet + outlet) / 2)", "K"),
        ("kelvin(25) * loop", "K·kPa"),
        ("wall * loop", "K·kPa"),
    ],
)
def test_the_unit_of_a_result_follows_from_its_inputs(text: str, unit: str) -> None:
    got = unit_of(formula(text), UNITS)

    assert got is not None
    assert got.text == unit


@pytest.mark.parametrize("text", ["1 if loop > 3 else 0", "max(1, 2 if open else 3)"])
def test_a_bare_number_fits_any_unit(text: str) -> None:
    assert unit_of(formula(text), UNITS) is None

    check_result(formula(text), UNITS, parse_unit("%"))


@pytest.mark.parametrize(
    ("text", "column", "problem"),
    [
        (
            "loop - bottle",
            1,
            "kPa and bar do not go together; let the formula take an input in",
        ),
        ("loop - inlet", 1, "kPa and °C do not go together"),
        ("loop - o2", 1, "kPa and % do not go together"),
        ("o2 + open", 1, "% and a plain number do not go together; let the formula take"),
        ("loop > bottle", 1, "kPa and bar do not go together"),
        ("max(loop, bottle)", 1, "kPa and bar do not go together"),
        ("0 + max(loop, 2, time)", 5, "kPa and h do not go together"),
        ("loop if open else bottle", 1, "kPa and bar do not go together"),
        ("loop / bottle > 1", 1, "a number beside kPa/bar could mean two things"),
        ("loop * volume / bottle + 1", 1, "a number beside kPa·L/bar could mean two"),
        ("inlet + outlet", 1, "2 times a temperature in °C means nothing"),
        ("2 * inlet", 1, "2 times a temperature in °C means nothing"),
        ("-inlet", 1, "-1 times a temperature in °C means nothing"),
        ("wall - inlet", 1, "-1 times a temperature in °C means nothing"),
        ("0.333 * inlet + 0.666 * outlet", 1, "0.999 times a temperature"),
        ("inlet + outlet > 40", 1, "2 times a temperature"),
        ("kelvin(inlet + outlet)", 8, "2 times a temperature"),
        ("loop * inlet", 1, "a temperature in °C cannot be multiplied; use kelvin()"),
        ("loop / inlet", 1, "a temperature in °C cannot be multiplied"),
        ("2 / inlet", 1, "a temperature in °C cannot be multiplied"),
        ("inlet / outlet", 1, "a temperature in °C cannot be multiplied"),
        ("inlet * share", 1, "a temperature in °C cannot be multiplied"),
        ("inlet * 0 + outlet", 1, "a temperature in °C cannot be multiplied"),
        ("inlet * (2 / 0)", 1, "a temperature in °C cannot be multiplied"),
        ("inlet * (0 / 2) + outlet", 1, "a temperature in °C cannot be multiplied"),
        ("inlet * sqrt(1)", 1, "a temperature in °C cannot be multiplied"),
        ("inlet * max(1, 1)", 1, "a temperature in °C cannot be multiplied"),
        ("inlet * abs(1)", 1, "a temperature in °C cannot be multiplied"),
        ("inlet / (1 - 1)", 1, "a temperature in °C cannot be multiplied"),
        ("inlet ** 2", 1, "a temperature in °C has no place here; use kelvin()"),
        ("sqrt(inlet)", 1, "a temperature in °C has no place here"),
        ("abs(inlet)", 1, "a temperature in °C has no place here"),
        ("max(inlet, wall)", 1, "°C and K do not go together"),
        ("kelvin(loop)", 1, "kelvin() takes °C, not kPa"),
        ("kelvin(wall)", 1, "kelvin() takes °C, not K"),
        ("hot - inlet", 1, "hot is in °F; let the formula take an input in another unit"),
        ("not loop", 5, "kPa is neither true nor false; compare it, as in x > 0"),
        ("1 if loop else open", 6, "kPa is neither true nor false"),
        ("open and inlet", 10, "°C is neither true nor false"),
        ("o2 or open", 1, "% is neither true nor false"),
    ],
)
def test_units_that_do_not_go_together_are_refused(
    text: str, column: int, problem: str
) -> None:
    with pytest.raises(FormulaError) as caught:
        unit_of(formula(text), UNITS)

    assert (caught.value.column, caught.value.problem[: len(problem)]) == (column, problem)


@pytest.mark.parametrize(
    ("text", "declared"),
    [
        ("loop - cabin", "kPa"),
        ("loop * volume", "J"),
        ("mbar", "hPa"),
        ("flow * time", "g"),
        ("inlet - outlet", "K"),
        ("inlet", "degC"),
        ("loop > 3", "1"),
    ],
)
def test_a_result_in_the_channels_unit_is_accepted(text: str, declared: str) -> None:
    check_result(formula(text), UNITS, parse_unit(declared))

    assert unit_of(formula(text), UNITS) is not None


@pytest.mark.parametrize(
    ("text", "declared", "problem"),
    [
        (
            "loop - cabin",
            "bar",
            "gives kPa, but the channel is in bar (1 kPa is 0.01 bar); write no factor for it: "
            'let the formula take an input in another unit, with { tag = "...", unit = "..." }',
        ),
        (
            "o2 / 100 * loop",
            "kPa",
            "gives %·kPa, but the channel is in kPa (1 %·kPa is 0.01 kPa)",
        ),
        ("loop", "degC", "gives kPa, but the channel is in °C, which measures something else"),
        ("inlet - outlet", "degC", "gives K, but the channel is in °C; a difference of temper"),
        ("inlet", "K", "gives °C, but the channel is in K; write kelvin(...)"),
        ("loop > 3", "kPa", "gives a plain number, but the channel is in kPa, which measures"),
    ],
)
def test_a_result_in_another_unit_is_refused_with_the_way(
    text: str, declared: str, problem: str
) -> None:
    with pytest.raises(FormulaError) as caught:
        check_result(formula(text), UNITS, parse_unit(declared))

    assert caught.value.problem.startswith(problem)
