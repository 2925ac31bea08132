"""Tests for monitor.stand.check_formulas.

Source: hand-worked here; the good file is that of conftest.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from monitor.errors import Problem
from monitor.stand.model import Stand

FORMULA = 'formula = "vessel - reference"\n'
INPUTS = 'inputs = { vessel = "PT-101", reference = "PT-102" }\n'
UNIT = 'unit = "kPa"\nformula'


def more(tag: str, formula: str, inputs: str, unit: str = "kPa") -> str:
    """Write another computed channel."""
    return (
        f'[channels.{tag}]\nunit = "{unit}"\nspan = [0, 1]\n'
        f'formula = "{formula}"\ninputs = {{ {inputs} }}\n'
    )


@pytest.mark.parametrize(
    ("old", "new", "at", "key", "text"),
    [
        (
            FORMULA,
            'formula = "vessel - refrence"\n',
            None,
            "formula",
            "column 10: unknown name 'refrence'; did you mean 'reference'?",
        ),
        (
            FORMULA,
            'formula = "vessel - x"\n',
            None,
            "formula",
            "column 10: unknown name 'x'; names are vessel, reference",
        ),
        (
            FORMULA,
            'formula = "vessel -"\n',
            None,
            "formula",
            "column 8: cannot be read: invalid",
        ),
        (
            FORMULA,
            'formula = "sqr(vessel)"\n',
            None,
            "formula",
            "unknown function 'sqr'; did you",
        ),
        (FORMULA, 'formula = ""\n', None, "formula", "empty"),
        (FORMULA, 'formula = "1 + 2"\n', None, "formula", "names no input; a computed channel"),
        (
            FORMULA,
            "formula = 3\n",
            None,
            "formula",
            "must be a text in quotes, is the number 3",
        ),
        (
            FORMULA,
            'formula = "2 * vessel"\n',
            "inputs = {",
            "inputs.reference",
            "is not used in the formula; take it out",
        ),
        (
            INPUTS,
            INPUTS.replace("PT-102", "TT-101"),
            "formula",
            "formula",
            "kPa and °C do not go together",
        ),
        (
            UNIT,
            UNIT.replace("kPa", "bar"),
            "formula",
            "formula",
            "gives kPa, but the channel is in bar (1 kPa is 0.01 bar)",
        ),
        (
            INPUTS,
            INPUTS.replace("PT-102", "PT-103"),
            "inputs = {",
            "inputs.reference",
            "unknown channel 'PT-103'; did you mean 'PT-102'?",
        ),
        (
            INPUTS,
            INPUTS.replace("PT-102", "Q"),
            "inputs = {",
            "inputs.reference",
            "unknown channel 'Q'; write one of the tags",
        ),
        (
            INPUTS,
            'inputs = { vessel = "PT-101", reference = { tag = "PT-102", unit = "kp" } }\n',
            "inputs = {",
            "inputs.reference.unit",
            "'kp' unknown 'kp'; did you mean",
        ),
        (
            INPUTS,
            'inputs = { vessel = "PT-101", reference = { tag = "PT-102", unit = "K" } }\n',
            "inputs = {",
            "inputs.reference.unit",
            "'kPa' measures something else than 'K'",
        ),
        (
            INPUTS,
            'inputs = { vessel = "PT-101", reference = { tag = "PT-102" } }\n',
            "inputs = {",
            "inputs.reference.unit",
            'missing; write unit = "..."',
        ),
        (
            INPUTS,
            'inputs = { vessel = "PT-101", reference = 3 }\n',
            "inputs = {",
            "inputs.reference",
            "must be a text in quotes or a table, is the number 3",
        ),
        (
            INPUTS,
            "inputs = {}\n",
            "inputs",
            "inputs",
            'missing; write inputs = { name = "TAG" }',
        ),
        (
            INPUTS,
            'inputs = { vessel = "PT-101", "PT-102" = "PT-102" }\n',
            "inputs",
            "inputs.PT-102",
            "a name in a formula is a letter, then letters, digits and _",
        ),
        (
            INPUTS,
            INPUTS.replace("vessel", "min"),
            "inputs",
            "inputs.min",
            "min is a function; choose another name",
        ),
        (
            INPUTS,
            INPUTS.replace("vessel", "if"),
            "inputs",
            "inputs.if",
            "a name in a formula is a letter, then",
        ),
        (
            INPUTS,
            INPUTS + 'clock = "PT-103"\n',
            "clock",
            "clock",
            "'PT-103' is no input; did you mean 'PT-10",
        ),
        (
            INPUTS,
            INPUTS + 'clock = "vessel"\n',
            "clock",
            "clock",
            "'vessel' is no input; did you mean 'PT-101'?",
        ),
        (
            INPUTS,
            INPUTS + 'clock = "TT"\n',
            "clock",
            "clock",
            "'TT' is no input; inputs are PT-101, PT-102",
        ),
        (
            INPUTS,
            INPUTS + "largest_skew_s = 0\n",
            "largest_skew_s",
            "largest_skew_s",
            "must be more than 0, is 0",
        ),
        (
            INPUTS,
            INPUTS + 'constants = { k = "many kPa" }\n',
            "constants",
            "constants.k",
            'write a number and its unit in quotes, as in "101.325 kPa"',
        ),
        (
            INPUTS,
            INPUTS + 'constants = { k = "1 kpa" }\n',
            "constants",
            "constants.k",
            "unknown 'kpa'; did you mean 'kPa'?",
        ),
        (
            INPUTS,
            INPUTS + "constants = { k = 1 }\n",
            "constants",
            "constants.k",
            "must be a text in quotes, is the number 1",
        ),
        (
            INPUTS,
            INPUTS + 'constants = { vessel = "1 kPa" }\n',
            "constants",
            "constants.vessel",
            "vessel is an input already",
        ),
    ],
)
def test_a_mistake_in_a_formula_is_told(
    old: str,
    new: str,
    at: str | None,
    key: str,
    text: str,
    good: str,
    problems: Callable[..., list[Problem]],
) -> None:
    assert good.count(old) == 1
    changed = good.replace(old, new)
    # From the computed channel on: other channels have units and formulas, too.
    start = changed.index("[channels.PDT-101]")
    line = changed[: changed.index(new.strip() if at is None else at, start)].count("\n") + 1

    said = problems(changed)

    assert said[0].text.startswith(text)
    assert (said[0].line, said[0].key) == (line, f"channels.PDT-101.{key}")
    assert {problem.key.partition(".limits")[0] for problem in said} <= {
        said[0].key,
        "channels.PDT-101.formula",
        "channels.PDT-101.source",
    }


def test_every_unknown_name_of_a_formula_is_told(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    said = problems(good.replace("vessel - reference", "vesel - refrence"))

    assert [problem.text.split(";")[0] for problem in said] == [
        "column 1: unknown name 'vesel'",
        "column 9: unknown name 'refrence'",
    ]


def test_channels_computed_from_each_other_are_told_once(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    text = (
        good
        + more("PY-1", "a", 'a = "PY-3"')
        + more("PY-2", "a", 'a = "PY-1"')
        + more("PY-3", "a + b", 'a = "PY-2", b = "PT-101"')
        + more("PY-4", "a", 'a = "PY-3"')
        + more("PY-5", "a", 'a = "PY-5"')
    )

    said = problems(text)

    assert [(problem.key, problem.text) for problem in said] == [
        ("channels.PY-1.inputs", "computed from itself: PY-1 -> PY-3 -> PY-2 -> PY-1"),
        ("channels.PY-5.inputs", "computed from itself: PY-5 -> PY-5"),
    ]


def test_computed_channels_come_after_their_inputs(
    good: str, load: Callable[..., Stand]
) -> None:
    text = (
        good
        + more("PY-1", "a", 'a = "PY-2"')
        + more("PY-2", "a", 'a = "PY-3"')
        + more("PY-3", "a", 'a = "PT-101"')
    )

    order = [row.tag for row in load(text).plan.channels.computed]

    assert order == ["PDT-101", "PY-3", "PY-2", "PY-1"]


def test_a_long_chain_in_the_wrong_order_is_no_trouble(
    good: str, load: Callable[..., Stand]
) -> None:
    chain = "".join(more(f"PY-{n}", "a", f'a = "PY-{n + 1}"') for n in range(1, 1200))

    order = load(good + chain + more("PY-1200", "a", 'a = "PT-101"')).plan.channels.computed

    assert [row.tag for row in order[-3:]] == ["PY-3", "PY-2", "PY-1"]


def test_an_input_in_another_unit_is_converted(good: str, load: Callable[..., Stand]) -> None:
    text = good + more(
        "PY-1", "warm / k * p", 'warm = { tag = "TT-101", unit = "K" }, p = "PT-101"'
    ).replace("inputs", 'constants = { k = "273.15 K" }\ninputs')

    formula = load(text).plan.channels.computed[-1].formula
    values = formula.evaluate({"warm": np.array([273.15]), "p": np.array([3.0])})

    assert formula.names == ("warm", "p")
    assert values.tolist() == [6.0]


def test_what_depends_on_a_broken_channel_is_not_called_wrong(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    said = problems(
        good.replace('unit = "kPa"\nsource = "panel.p2"', 'unit = "kPaa"\nsource = "panel.p2"')
    )

    assert [problem.key for problem in said] == ["channels.PT-102.unit"]
