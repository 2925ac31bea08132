"""Which names of a condition make it true by standing, and which by not standing."""

from __future__ import annotations

import ast
from collections.abc import Iterator


def signed_names(text: str) -> tuple[tuple[str, bool], ...]:
    """Give each name of a sound condition with whether it counts negated, in their order.

    A name may count both ways. What counts negated makes the condition false when it is true:
    bad data that raised it would blind the condition instead of raising it.
    """
    tree = ast.parse(text.strip(), mode="eval").body
    return tuple(dict.fromkeys(_signed(tree, is_negated=False)))


def _signed(node: ast.expr, *, is_negated: bool) -> Iterator[tuple[str, bool]]:
    """Give the names below one part."""
    match node:
        case ast.Name(id=name):
            yield name, is_negated
        case ast.UnaryOp(operand=operand):
            yield from _signed(operand, is_negated=not is_negated)
        case ast.BoolOp(values=parts) | ast.Call(args=[_, *parts]):
            for part in parts:
                yield from _signed(part, is_negated=is_negated)
