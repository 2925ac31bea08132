"""Which names of a condition make it true by standing, and which by not standing."""

from __future__ import annotations

import ast


def signed_names(text: str) -> frozenset[tuple[str, bool]]:
    """Give each name of a sound condition with whether it counts negated.

    A name may count both ways. What counts negated makes the condition false when it is true:
    bad data that raised it would blind the condition instead of raising it.
    """
    return frozenset(_signed(ast.parse(text.strip(), mode="eval").body, is_negated=False))


def _signed(node: ast.expr, *, is_negated: bool) -> set[tuple[str, bool]]:
    """Collect the names below one part."""
    match node:
        case ast.Name(id=name):
            return {(name, is_negated)}
        case ast.UnaryOp(operand=operand):
            return _signed(operand, is_negated=not is_negated)
        case ast.BoolOp(values=parts) | ast.Call(args=[_, *parts]):
            return set().union(*(_signed(one, is_negated=is_negated) for one in parts))
    return set()
