"""The parts that a formula is made of, each able to compute itself on arrays.

Only ``+ - * /``, square roots and comparisons: they give the same bits on every processor.
NaN in any operand that a result depends on makes the result NaN.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Protocol

import numpy as np

from monitor.samples import Floats

#: What a part computes: an array, or a number where no input takes part.
Result = Any

ARITHMETIC = {"+": np.add, "-": np.subtract, "*": np.multiply, "/": np.divide}
COMPARISONS = {
    "<": np.less,
    "<=": np.less_equal,
    ">": np.greater,
    ">=": np.greater_equal,
    "==": np.equal,
    "!=": np.not_equal,
}
#: 0 degC in kelvin.
#:
#: Source: SI brochure, 9th edition, 2.3.1 (kelvin).
KELVIN_AT_0_DEGC = 273.15


class Node(Protocol):
    """A part of a formula."""

    @property
    def column(self) -> int:
        """Where the part stands in the text, in characters from 1."""

    def of(self, inputs: Mapping[str, Floats], /) -> Result:
        """Compute on arrays of one shape."""

    def parts(self) -> tuple[Node, ...]:
        """Give the parts that it is made of."""


@dataclass(frozen=True, slots=True)
class Number:
    """A number as written. *exact* is its decimal value."""

    column: int
    value: float
    exact: Fraction

    def of(self, _: Mapping[str, Floats], /) -> Result:
        """Give the number itself."""
        return self.value

    def parts(self) -> tuple[Node, ...]:
        """Give nothing."""
        return ()


@dataclass(frozen=True, slots=True)
class Constant:
    """A number with a name and a unit of its own."""

    column: int
    name: str
    value: float

    def of(self, _: Mapping[str, Floats], /) -> Result:
        """Give the number itself."""
        return self.value

    def parts(self) -> tuple[Node, ...]:
        """Give nothing."""
        return ()


@dataclass(frozen=True, slots=True)
class Input:
    """An input, in the unit that the stand file asks for: ``gain * value + offset``."""

    column: int
    name: str
    gain: float = 1.0
    offset: float = 0.0

    def of(self, inputs: Mapping[str, Floats], /) -> Result:
        """Look the input up and convert it."""
        value: Result = inputs[self.name]
        if self.gain != 1.0:
            value = np.multiply(value, self.gain)
        if self.offset != 0.0:
            value = np.add(value, self.offset)
        return value

    def parts(self) -> tuple[Node, ...]:
        """Give nothing."""
        return ()


@dataclass(frozen=True, slots=True)
class Binary:
    """``left + right`` and the like; *sign* is a key of :data:`ARITHMETIC`."""

    column: int
    sign: str
    left: Node
    right: Node

    def of(self, inputs: Mapping[str, Floats], /) -> Result:
        """Compute both sides and join them."""
        return ARITHMETIC[self.sign](self.left.of(inputs), self.right.of(inputs))

    def parts(self) -> tuple[Node, ...]:
        """Give both sides."""
        return (self.left, self.right)


@dataclass(frozen=True, slots=True)
class Power:
    """``base ** exponent`` with a whole or half exponent, by multiplication and square root.

    ``numpy.power`` is no way to do this: it may differ in the last bit between processors.
    """

    column: int
    base: Node
    exponent: Fraction

    def of(self, inputs: Mapping[str, Floats], /) -> Result:
        """Multiply from the left, so that the order of rounding is fixed."""
        base = self.base.of(inputs)
        if self.exponent == Fraction(1, 2):
            return np.sqrt(base)
        if self.exponent == 0:
            return np.where(np.isnan(base), np.nan, 1.0)
        value = base
        for _ in range(abs(self.exponent.numerator) - 1):
            value = np.multiply(value, base)
        return value if self.exponent > 0 else np.divide(1.0, value)

    def parts(self) -> tuple[Node, ...]:
        """Give the base."""
        return (self.base,)


@dataclass(frozen=True, slots=True)
class Negative:
    """``-operand``."""

    column: int
    operand: Node

    def of(self, inputs: Mapping[str, Floats], /) -> Result:
        """Turn the sign."""
        return np.negative(self.operand.of(inputs))

    def parts(self) -> tuple[Node, ...]:
        """Give the operand."""
        return (self.operand,)


@dataclass(frozen=True, slots=True)
class Compare:
    """``left < right`` and the like: 1 where true, 0 where false."""

    column: int
    sign: str
    left: Node
    right: Node

    def of(self, inputs: Mapping[str, Floats], /) -> Result:
        """Compare; numpy alone would call a comparison with NaN false."""
        left, right = self.left.of(inputs), self.right.of(inputs)
        unknown = np.isnan(left) | np.isnan(right)
        return np.where(unknown, np.nan, COMPARISONS[self.sign](left, right))

    def parts(self) -> tuple[Node, ...]:
        """Give both sides."""
        return (self.left, self.right)


@dataclass(frozen=True, slots=True)
class Logic:
    """``a and b and ...`` or ``a or b or ...``: 1 where true, 0 where false.

    Every operand counts for NaN, also one that could not change the answer.
    """

    column: int
    word: str
    operands: tuple[Node, ...]

    def of(self, inputs: Mapping[str, Floats], /) -> Result:
        """Join the operands from the left; any number but 0 is true."""
        join = np.logical_and if self.word == "and" else np.logical_or
        value = self.operands[0].of(inputs)
        true, unknown = np.not_equal(value, 0.0), np.isnan(value)
        for operand in self.operands[1:]:
            value = operand.of(inputs)
            true, unknown = join(true, np.not_equal(value, 0.0)), unknown | np.isnan(value)
        return np.where(unknown, np.nan, true)

    def parts(self) -> tuple[Node, ...]:
        """Give the operands."""
        return self.operands


@dataclass(frozen=True, slots=True)
class Not:
    """``not operand``: 1 where it is 0, 0 where it is anything else."""

    column: int
    operand: Node

    def of(self, inputs: Mapping[str, Floats], /) -> Result:
        """Turn true into false."""
        value = self.operand.of(inputs)
        return np.where(np.isnan(value), np.nan, np.equal(value, 0.0))

    def parts(self) -> tuple[Node, ...]:
        """Give the operand."""
        return (self.operand,)


@dataclass(frozen=True, slots=True)
class Choose:
    """``then if condition else other``, row by row; NaN where the condition is NaN.

    A row depends on the side that it takes: ``sqrt(x) if x > 0 else 0`` has no NaN.
    """

    column: int
    condition: Node
    then: Node
    other: Node

    def of(self, inputs: Mapping[str, Floats], /) -> Result:
        """Compute both sides and take one in each row."""
        condition = self.condition.of(inputs)
        then, other = self.then.of(inputs), self.other.of(inputs)
        chosen = np.where(np.equal(condition, 0.0), other, then)
        return np.where(np.isnan(condition), np.nan, chosen)

    def parts(self) -> tuple[Node, ...]:
        """Give condition and both sides."""
        return (self.condition, self.then, self.other)


@dataclass(frozen=True, slots=True)
class Call:
    """``name(operands)``; *name* is a key of :data:`monitor.channels.formula.FUNCTIONS`."""

    column: int
    name: str
    operands: tuple[Node, ...]

    def of(self, inputs: Mapping[str, Floats], /) -> Result:
        """Call; minimum and maximum join their operands from the left."""
        value = self.operands[0].of(inputs)
        if self.name in ("min", "max"):
            join = np.minimum if self.name == "min" else np.maximum
            for operand in self.operands[1:]:
                value = join(value, operand.of(inputs))
            return value
        if self.name == "kelvin":
            return np.add(value, KELVIN_AT_0_DEGC)
        return np.sqrt(value) if self.name == "sqrt" else np.abs(value)

    def parts(self) -> tuple[Node, ...]:
        """Give the operands."""
        return self.operands


def walk(node: Node) -> Iterator[Node]:
    """Give *node* and everything it is made of, from left to right."""
    yield node
    for part in node.parts():
        yield from walk(part)
