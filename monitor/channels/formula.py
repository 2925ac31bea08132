"""Formulas of computed channels: plain expressions, parsed once, evaluated on arrays.

A formula is one Python expression: names, numbers, ``+ - * /``, ``**`` with a small whole
exponent or 0.5, comparisons (``a < b <= c``), ``and``, ``or``, ``not``, ``a if c else b`` and
the functions of :data:`FUNCTIONS`. It is read with :mod:`ast` and never executed by Python.
True is 1 and false is 0.
"""

from __future__ import annotations

import ast
import sys
import warnings
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Final

import numpy as np

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
    walk,
)
from monitor.errors import FormulaError, did_you_mean
from monitor.samples import Floats

#: Functions with the least and the largest number of operands; None: no bound.
FUNCTIONS: Final[Mapping[str, tuple[int, int | None]]] = {
    "abs": (1, 1),
    "sqrt": (1, 1),
    "min": (2, None),
    "max": (2, None),
    "kelvin": (1, 1),
}
#: Bounds that no sensible formula reaches: characters, parts, and parts within parts.
LONGEST: Final = 1000
MOST_PARTS: Final = 200
DEEPEST: Final = 60
LARGEST_EXPONENT: Final = 8

_SIGNS: Final = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/"}
_COMPARISONS: Final = {
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
    ast.Eq: "==",
    ast.NotEq: "!=",
}
_ALLOWED: Final = (
    "allowed are names, numbers, + - * / **, comparisons, and, or, not, if else, "
    + (", ".join(f"{name}()" for name in FUNCTIONS))
)


@dataclass(frozen=True)
class Formula:
    """A checked expression over named inputs. Made by :func:`parse_formula`.

    Attributes:
        text: As it was written.
        names: Inputs in the order in which they first occur.
        root: The whole expression; follows from *text* and what was given to parse it.
    """

    text: str
    names: tuple[str, ...]
    root: Node = field(repr=False)

    def evaluate(self, inputs: Mapping[str, Floats]) -> Floats:
        """Evaluate on arrays of one shape; NaN or infinite where there is no result."""
        with np.errstate(all="ignore"):
            value: Floats = self.root.of(inputs)
        return value.copy() if isinstance(self.root, Input) else value

    def column_of(self, name: str) -> int:
        """Tell where *name* first occurs, in characters from 1."""
        return next(
            node.column
            for node in walk(self.root)
            if isinstance(node, Input | Constant) and node.name == name
        )


def parse_formula(
    text: str,
    *,
    constants: Mapping[str, float] | None = None,
    scales: Mapping[str, tuple[float, float]] | None = None,
) -> Formula:
    """Read a formula. Every name that is no constant is an input.

    Args:
        text: The expression, on one or several lines.
        constants: Numbers with a name.
        scales: (gain, offset) that bring an input to the unit in which the formula takes it.

    Raises:
        FormulaError: Not an expression of the allowed kind; says where, and what to do.
    """
    root = _Reader(text, constants or {}, scales or {}).whole()
    names = [node.name for node in walk(root) if isinstance(node, Input)]
    if not names:
        raise FormulaError(text, 1, "names no input; a computed channel needs at least one")
    return Formula(text, tuple(dict.fromkeys(names)), root)


class _Reader:
    """Turns Python's tree into our own parts, refusing everything that is not on the list."""

    def __init__(
        self,
        text: str,
        constants: Mapping[str, float],
        scales: Mapping[str, tuple[float, float]],
    ) -> None:
        self._text = text
        self._line = _one_line(text)
        self._constants = constants
        self._scales = scales
        self._count = 0

    def whole(self) -> Node:
        """Read everything."""
        return self._node(_python_tree(self._text), 1)

    def _refused(self, tree: ast.expr, problem: str) -> FormulaError:
        return FormulaError(self._text, self._column(tree), problem)

    def _column(self, tree: ast.expr) -> int:
        """Count characters; Python counts bytes of UTF-8, from the first that is no blank."""
        blank = len(self._line) - len(self._line.lstrip())
        before = self._line.lstrip().encode()[: tree.col_offset]
        return blank + len(before.decode()) + 1

    def _node(self, tree: ast.expr, depth: int) -> Node:
        self._count += 1
        if depth > DEEPEST or self._count > MOST_PARTS:
            raise self._refused(
                tree, f"too long: at most {MOST_PARTS} parts, {DEEPEST} within each other"
            )
        read = _READERS.get(type(tree))
        if read is None:
            comma = "a decimal point is written '.'; " if isinstance(tree, ast.Tuple) else ""
            raise self._refused(tree, f"not allowed here; {comma}{_ALLOWED}")
        return read(self, tree, depth + 1)

    def number(self, tree: ast.Constant, _: int) -> Node:
        """Read a number."""
        value = tree.value
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self._refused(tree, f"{value!r} is no number; write 1 for true, 0 for false")
        if not abs(value) <= sys.float_info.max:
            raise self._refused(tree, "larger than a number can be")
        return Number(self._column(tree), float(value), Fraction(str(value)))

    def name(self, tree: ast.Name, _: int) -> Node:
        """Read the name of an input or of a constant."""
        column = self._column(tree)
        if tree.id in FUNCTIONS:
            raise self._refused(tree, f"{tree.id} is a function; write {tree.id}(...)")
        if tree.id in self._constants:
            return Constant(column, tree.id, self._constants[tree.id])
        return Input(column, tree.id, *self._scales.get(tree.id, (1.0, 0.0)))

    def binary(self, tree: ast.BinOp, depth: int) -> Node:
        """Read an operation with two sides."""
        if isinstance(tree.op, ast.Pow):
            return self._power(tree, depth)
        sign = _SIGNS.get(type(tree.op))
        if sign is None:
            cure = "; a power is written **" if isinstance(tree.op, ast.BitXor) else ""
            raise self._refused(tree, f"this operation is not allowed{cure}; {_ALLOWED}")
        left = self._node(tree.left, depth)
        return Binary(self._column(tree), sign, left, self._node(tree.right, depth))

    def _power(self, tree: ast.BinOp, depth: int) -> Node:
        exponent = tree.right
        sign = 1
        if isinstance(exponent, ast.UnaryOp) and isinstance(exponent.op, ast.USub):
            sign, exponent = -1, exponent.operand
        value = exponent.value if isinstance(exponent, ast.Constant) else None
        is_whole = type(value) is int and value <= LARGEST_EXPONENT
        if not is_whole and not (value == 0.5 and sign == 1):
            raise self._refused(
                tree.right,
                f"an exponent is a whole number from -{LARGEST_EXPONENT} to "
                f"{LARGEST_EXPONENT}, or 0.5, and written as a number",
            )
        base = self._node(tree.left, depth)
        return Power(self._column(tree), base, sign * Fraction(str(value)))

    def unary(self, tree: ast.UnaryOp, depth: int) -> Node:
        """Read a sign or ``not``."""
        operand = self._node(tree.operand, depth)
        if isinstance(tree.op, ast.USub):
            return Negative(self._column(tree), operand)
        if isinstance(tree.op, ast.Not):
            return Not(self._column(tree), operand)
        if isinstance(tree.op, ast.UAdd):
            return operand
        raise self._refused(tree, f"~ is not allowed; {_ALLOWED}")

    def compare(self, tree: ast.Compare, depth: int) -> Node:
        """Read a comparison; a chain becomes its pairs joined by ``and``."""
        sides = [self._node(side, depth) for side in (tree.left, *tree.comparators)]
        column = self._column(tree)
        pairs = []
        for operator, left, right in zip(tree.ops, sides, sides[1:], strict=False):
            sign = _COMPARISONS.get(type(operator))
            if sign is None:
                raise self._refused(tree, f"compare with {' '.join(_COMPARISONS.values())}")
            pairs.append(Compare(column, sign, left, right))
        return pairs[0] if len(pairs) == 1 else Logic(column, "and", tuple(pairs))

    def logic(self, tree: ast.BoolOp, depth: int) -> Node:
        """Read ``and`` or ``or``."""
        word = "and" if isinstance(tree.op, ast.And) else "or"
        operands = tuple(self._node(operand, depth) for operand in tree.values)
        return Logic(self._column(tree), word, operands)

    def choose(self, tree: ast.IfExp, depth: int) -> Node:
        """Read ``then if condition else other``."""
        condition = self._node(tree.test, depth)
        then = self._node(tree.body, depth)
        return Choose(self._column(tree), condition, then, self._node(tree.orelse, depth))

    def call(self, tree: ast.Call, depth: int) -> Node:
        """Read a function with its operands."""
        name = tree.func.id if isinstance(tree.func, ast.Name) else ast.unparse(tree.func)
        if name not in FUNCTIONS:
            near = did_you_mean(name, FUNCTIONS)
            raise self._refused(
                tree, f"unknown function {name!r}{near}; there are {', '.join(FUNCTIONS)}"
            )
        least, most = FUNCTIONS[name]
        count = len(tree.args)
        if tree.keywords or count < least or (most is not None and count > most):
            wanted = f"{least} value" if most == least else f"at least {least} values"
            raise self._refused(tree, f"{name}() takes {wanted}, separated by commas")
        operands = tuple(self._node(operand, depth) for operand in tree.args)
        return Call(self._column(tree), name, operands)


#: How each kind of Python's tree is read; what is not here is refused.
_READERS: Final[Mapping[type[ast.expr], Callable[[_Reader, Any, int], Node]]] = {
    ast.Constant: _Reader.number,
    ast.Name: _Reader.name,
    ast.BinOp: _Reader.binary,
    ast.UnaryOp: _Reader.unary,
    ast.Compare: _Reader.compare,
    ast.BoolOp: _Reader.logic,
    ast.IfExp: _Reader.choose,
    ast.Call: _Reader.call,
}


def _one_line(text: str) -> str:
    """Turn line ends and tabs into blanks, one for one, so that columns stay."""
    return text.translate({ord(sign): " " for sign in "\n\r\t\f"})


def _python_tree(text: str) -> ast.expr:
    """Let Python read the expression, within bounds that keep its parser quick."""
    if len(text) > LONGEST:
        raise FormulaError(text[:20] + "...", LONGEST, f"longer than {LONGEST} characters")
    if not text.strip():
        raise FormulaError(text, 1, "empty")
    for sign, what in (("#", "a comment"), ("\0", "a null character")):
        if sign in text:
            raise FormulaError(text, text.index(sign) + 1, f"{what} has no place in a formula")
    line = _one_line(text)
    start = len(line) - len(line.lstrip())
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return ast.parse(line[start:], mode="eval").body
    except SyntaxError as error:
        column = start + error.offset if error.offset else len(line)
        raise FormulaError(text, column, f"cannot be read: {error.msg}") from error
    except (RecursionError, MemoryError, ValueError) as error:
        raise FormulaError(text, 1, "cannot be read; are there too many brackets?") from error
