"""Which unit a formula's result has, so that kPa are never subtracted from bar.

What is written is what is computed: nothing is converted behind the writer's back.

* Both sides of ``+ - < min max if`` must have the very same unit; a bare number takes the unit
  of the other side.
* ``* /`` and ``**`` multiply and divide units; the result must be the channel's unit exactly,
  not 0.01 of it. So a ``%`` that was meant as a fraction, or minutes that were meant as
  seconds, are found.
* A temperature in °C or °F counts from a zero of its own: a difference is in K, a mean is a
  temperature again, a product needs ``kelvin()``.
* True and false are plain numbers; a condition needs one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Final

from monitor.channels.formula import Formula
from monitor.channels.nodes import (
    Binary,
    Call,
    Choose,
    Compare,
    Constant,
    Input,
    Logic,
    Negative,
    Node,
    Not,
    Number,
    Power,
)
from monitor.errors import FormulaError
from monitor.units import Unit, convert, is_same, parse_unit, power, product, quotient


@dataclass(frozen=True, slots=True)
class _Kind:
    """What is known of a part of a formula.

    Attributes:
        unit: Its unit; the number 1 for a bare number.
        weight: How often the zero of the °C scale is in it: 1 in a temperature, 2 in the sum of
            two on its way to a mean. 0 with every other unit.
        exact: Its value where that is known beforehand.
        is_bare: Made of numbers without unit alone: takes the unit of what it is added to.
    """

    unit: Unit
    weight: Fraction = Fraction(0)
    exact: Fraction | None = None
    is_bare: bool = False


def unit_of(formula: Formula, units: Mapping[str, Unit]) -> Unit | None:
    """Give the unit of the result.

    Args:
        formula: What is computed.
        units: Unit of each input and each constant, as the formula takes it.

    Returns:
        The unit; None when the result is a bare number, which fits any unit.

    Raises:
        FormulaError: Units that do not go together; says where, and what to do.
    """
    checker = _Checker(formula.text, units)
    kind = checker.whole(formula.root)
    return None if kind.is_bare else kind.unit


def check_result(formula: Formula, units: Mapping[str, Unit], declared: Unit) -> None:
    """Refuse a formula whose result is not in the channel's unit.

    Raises:
        FormulaError: Units do not go together, in the formula or with *declared*.
    """
    unit = unit_of(formula, units)
    if unit is None or is_same(unit, declared):
        return
    raise FormulaError(formula.text, 1, f"gives {_name(unit)}, {_difference(unit, declared)}")


def _difference(unit: Unit, declared: Unit) -> str:
    """Say how two units differ and how to go from one to the other."""
    other = f"but the channel is in {_name(declared)}"
    if unit.pint.dimensionality != declared.pint.dimensionality:
        return f"{other}, which measures something else"
    if declared.is_point:
        return f"{other}; a difference of temperatures has the unit K"
    if unit.is_point:
        return f"{other}; write kelvin(...)"
    factor = float(convert(unit, declared)[0])
    return (
        f"{other} (1 {_name(unit)} is {factor:.6g} {_name(declared)}); write no factor for it: "
        f"{_CONVERTED}"
    )


#: How to make a formula take an input in another unit.
_CONVERTED: Final = (
    "let the formula take an input in another unit, with "
    '{ tag = "...", unit = "..." } in inputs'
)


def _name(unit: Unit) -> str:
    """Name a unit in a sentence."""
    return unit.text or "a plain number"


class _Checker:
    """Goes through a formula from the leaves up."""

    def __init__(self, text: str, units: Mapping[str, Unit]) -> None:
        self._text = text
        self._units = units
        self._one = parse_unit("1")
        self._kelvin = parse_unit("K")
        self._celsius = parse_unit("degC")

    def whole(self, node: Node) -> _Kind:
        """Find out what is known of *node*, which must be complete: no sum of temperatures."""
        kind = self.kind(node)
        if kind.weight not in (0, 1):
            raise self._refused(
                node,
                f"{float(kind.weight):.6g} times a temperature in {kind.unit.text} means "
                "nothing; weigh temperatures so that the weights add up to 1, or use kelvin()",
            )
        return kind

    def kind(self, node: Node) -> _Kind:
        """Find out what is known of *node*."""
        return _KINDS[type(node)](self, node)

    def _refused(self, node: Node, problem: str) -> FormulaError:
        return FormulaError(self._text, node.column, problem)

    def number(self, node: Number) -> _Kind:
        """A number takes the unit of what it meets."""
        return _Kind(self._one, exact=node.exact, is_bare=True)

    def constant(self, node: Constant) -> _Kind:
        """A constant has the unit that it was given."""
        unit = self._units[node.name]
        return _Kind(unit, Fraction(unit.is_point), Fraction(repr(node.value)))

    def input(self, node: Input) -> _Kind:
        """An input has the unit in which the formula takes it."""
        unit = self._units[node.name]
        if unit.text == "°F":
            raise self._refused(node, f"{node.name} is in °F; {_CONVERTED}: degC or K")
        return _Kind(unit, Fraction(unit.is_point))

    def binary(self, node: Binary) -> _Kind:
        """Add, subtract, multiply or divide."""
        left, right = self.kind(node.left), self.kind(node.right)
        kind = self._sum if node.sign in "+-" else self._product
        exact = _exact(node.sign, left.exact, right.exact)
        is_bare = left.is_bare and right.is_bare
        return replace(kind(node, left, right), exact=exact, is_bare=is_bare)

    def _sum(self, node: Binary, left: _Kind, right: _Kind) -> _Kind:
        weight = left.weight + (right.weight if node.sign == "+" else -right.weight)
        has_zero = left.unit.is_point or right.unit.is_point
        if has_zero and self._is_temperature(left) and self._is_temperature(right):
            return _Kind(self._celsius, weight) if weight else _Kind(self._kelvin)
        return _Kind(self._common(node, left, right))

    def _is_temperature(self, kind: _Kind) -> bool:
        """Tell whether a part may be added to °C: a number, °C itself, K."""
        return kind.is_bare or kind.unit.is_point or is_same(kind.unit, self._kelvin)

    def _common(self, node: Node, left: _Kind, right: _Kind) -> Unit:
        """Give the unit of two parts that stand side by side."""
        if left.is_bare or right.is_bare:
            unit = right.unit if left.is_bare else left.unit
            if unit.mixes_scales:
                raise self._refused(
                    node, f"a number beside {unit.text} could mean two things; {_CONVERTED}"
                )
            return unit
        if not is_same(left.unit, right.unit):
            is_near = left.unit.pint.dimensionality == right.unit.pint.dimensionality
            way = f"; {_CONVERTED}" if is_near else ""
            problem = f"{_name(left.unit)} and {_name(right.unit)} do not go together{way}"
            raise self._refused(node, problem)
        return left.unit

    def _product(self, node: Binary, left: _Kind, right: _Kind) -> _Kind:
        if left.weight or right.weight:
            return self._weighed(node, left, right)
        join = product if node.sign == "*" else quotient
        return _Kind(join(left.unit, right.unit))

    def _weighed(self, node: Binary, left: _Kind, right: _Kind) -> _Kind:
        """Multiply or divide a temperature in °C: only by a known plain number."""
        kind, factor = (left, right) if left.weight else (right, left)
        is_plain = not factor.weight and is_same(factor.unit, self._one) and factor.exact
        if not is_plain or (node.sign == "/" and right.weight):
            raise self._refused(node, "a temperature in °C cannot be multiplied; use kelvin()")
        by = factor.exact or Fraction(1)
        return _Kind(kind.unit, kind.weight * by if node.sign == "*" else kind.weight / by)

    def power(self, node: Power) -> _Kind:
        """Raise to a power."""
        base = self._no_point(node, self.kind(node.base))
        return _Kind(power(base.unit, node.exponent), is_bare=base.is_bare)

    def negative(self, node: Negative) -> _Kind:
        """Turn the sign."""
        kind = self.kind(node.operand)
        exact = None if kind.exact is None else -kind.exact
        return replace(kind, weight=-kind.weight, exact=exact)

    def _no_point(self, node: Node, kind: _Kind) -> _Kind:
        if kind.weight:
            raise self._refused(node, "a temperature in °C has no place here; use kelvin()")
        return kind

    def _side_by_side(self, node: Node, operands: tuple[Node, ...]) -> _Kind:
        """Bring operands to one unit, as for a comparison."""
        kind = self.whole(operands[0])
        for operand in operands[1:]:
            other = self.whole(operand)
            unit = self._common(node, kind, other)
            kind = _Kind(unit, Fraction(unit.is_point), is_bare=kind.is_bare and other.is_bare)
        return replace(kind, exact=None)

    def compare(self, node: Compare) -> _Kind:
        """Both sides in one unit; the answer is a plain number."""
        self._side_by_side(node, (node.left, node.right))
        return _Kind(self._one)

    def _truth(self, node: Node) -> None:
        """Refuse to call a pressure true."""
        kind = self.kind(node)
        if kind.weight or not is_same(kind.unit, self._one):
            raise self._refused(
                node, f"{_name(kind.unit)} is neither true nor false; compare it, as in x > 0"
            )

    def logic(self, node: Logic | Not) -> _Kind:
        """Every operand must be true or false."""
        for operand in node.parts():
            self._truth(operand)
        return _Kind(self._one)

    def choose(self, node: Choose) -> _Kind:
        """Both sides in one unit; the condition must be true or false."""
        self._truth(node.condition)
        return self._side_by_side(node, (node.then, node.other))

    def call(self, node: Call) -> _Kind:
        """Functions: each with its own rule."""
        if node.name in ("min", "max"):
            return self._side_by_side(node, node.operands)
        kind = self.whole(node.operands[0])
        if node.name == "kelvin":
            if not (kind.weight or kind.is_bare):
                raise self._refused(node, f"kelvin() takes °C, not {_name(kind.unit)}")
            return _Kind(self._kelvin)
        self._no_point(node, kind)
        if node.name == "sqrt":
            return _Kind(power(kind.unit, Fraction(1, 2)), is_bare=kind.is_bare)
        return replace(kind, exact=None)


def _exact(sign: str, left: Fraction | None, right: Fraction | None) -> Fraction | None:
    """Compute with values that are known beforehand."""
    if left is None or right is None or (sign == "/" and right == 0):
        return None
    if sign in "+-":
        return left + right if sign == "+" else left - right
    return left * right if sign == "*" else left / right


_KINDS: Final[Mapping[type, Callable[[_Checker, Any], _Kind]]] = {
    Number: _Checker.number,
    Constant: _Checker.constant,
    Input: _Checker.input,
    Binary: _Checker.binary,
    Power: _Checker.power,
    Negative: _Checker.negative,
    Compare: _Checker.compare,
    Logic: _Checker.logic,
    Not: _Checker.logic,
    Choose: _Checker.choose,
    Call: _Checker.call,
}
