"""Which limits must stand together: an expression of names with and, or, not."""

from __future__ import annotations

import ast
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

_Holds = Callable[[Mapping[str, bool]], bool]
_COUNT = "at_least"


@dataclass(frozen=True, slots=True)
class Condition:
    """An expression over names of limits. Made by :func:`parse_condition`.

    Attributes:
        text: As it was written.
        names: Every name in it, in the order of appearance.
    """

    text: str
    names: tuple[str, ...]
    _holds: _Holds = field(repr=False, compare=False)

    def holds(self, stands: Mapping[str, bool]) -> bool:
        """Tell whether it is true, given which of its names stand."""
        return self._holds(stands)


def parse_condition(text: str) -> Condition:
    """Read ``a and (b or not c)``; ``at_least(2, a, b, c)`` is true when two of them stand.

    Raises:
        ValueError: The text is no such expression; says what is wrong.
    """
    try:
        tree = ast.parse(text.strip(), mode="eval").body
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        raise ValueError("is no expression of names with and, or, not") from error
    names: dict[str, None] = {}
    holds = _compiled(tree, names)
    if not names:
        raise ValueError("names no limit")
    return Condition(text.strip(), tuple(names), holds)


def _compiled(node: ast.expr, names: dict[str, None]) -> _Holds:
    """Compile one part; note the names in it."""
    match node:
        case ast.Name(id=name):
            names[name] = None
            return lambda stands: stands[name]
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            inner = _compiled(operand, names)
            return lambda stands: not inner(stands)
        case ast.BoolOp(op=op, values=values):
            parts = [_compiled(part, names) for part in values]
            join = all if isinstance(op, ast.And) else any
            return lambda stands: join(part(stands) for part in parts)
        case ast.Call(func=ast.Name(id=name), args=[first, *others], keywords=[]) if (
            name == _COUNT
        ):
            return _at_least(first, [_compiled(part, names) for part in others])
        case _:
            raise ValueError(
                f"{ast.unparse(node)!r} has no place here; join names with and, or, not"
            )


def _at_least(first: ast.expr, parts: list[_Holds]) -> _Holds:
    """Compile a count of parts that must be true."""
    needed = first.value if isinstance(first, ast.Constant) else None
    if type(needed) is not int or not 1 <= needed <= len(parts):
        raise ValueError(f"{_COUNT} takes how many, and then at least so many names")
    return lambda stands: sum(part(stands) for part in parts) >= needed
