"""Deliberate faults in a module: where each one can be made, and the text with it made."""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

#: Each comparison and its neighbours.
_COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
_ARITHMETIC: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
_NAMES = {
    "min": "max",
    "max": "min",
    "minimum": "maximum",
    "maximum": "minimum",
    "fmin": "fmax",
    "fmax": "fmin",
    "any": "all",
    "all": "any",
    "argmin": "argmax",
    "argmax": "argmin",
    "logical_and": "logical_or",
    "logical_or": "logical_and",
}
_WORDS = {"left": "right", "right": "left"}
#: How a result is negated, by the annotation of what returns it.
_NEGATIONS = {"bool": "not ({})", "int": "-({})", "float": "-({})", "Flags": "~({})"}
_NEGATIONS |= {"Ints": "-({})", "Floats": "-({})", "Seens": "-({})"}


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault that can be made in a module.

    Attributes:
        function: Dotted name of the function or class that it is in; empty outside.
        line: Number of the line, from 1: for people only.
        before: The line, stripped.
        mutation: The part of it, and what stands there instead.
        nth: Which of those that agree in all of the above but the number.
        start: First byte of the part in the module's UTF-8 text.
        end: First byte behind it.
        put: What stands there instead.
    """

    function: str
    line: int
    before: str
    mutation: str
    nth: int
    start: int
    end: int
    put: str


class Text:
    """A module's text, addressed in bytes as :mod:`ast` does."""

    def __init__(self, text: str) -> None:
        """Note where lines begin."""
        self.bytes = text.encode()
        self._starts = [0]
        for line in self.bytes.splitlines(keepends=True):
            self._starts.append(self._starts[-1] + len(line))

    def span(self, node: ast.expr | ast.stmt) -> tuple[int, int]:
        """Give the first byte of *node* and the first one behind it."""
        end_line, end_column = node.end_lineno or node.lineno, node.end_col_offset or 0
        return (
            self._starts[node.lineno - 1] + node.col_offset,
            self._starts[end_line - 1] + end_column,
        )

    def part(self, start: int, end: int) -> str:
        """Give the text from byte *start* up to *end*."""
        return self.bytes[start:end].decode()

    def line(self, number: int) -> str:
        """Give a line, stripped."""
        return self.part(self._starts[number - 1], self._starts[number]).strip()


def faults_in(text: str) -> list[Fault]:
    """List every fault that can be made in a module, in the order of its text."""
    source, found = Text(text), []
    seen: Counter[tuple[str, str, str]] = Counter()
    for function, node, put in _walk(ast.parse(text), "", None):
        start, end = source.span(node)
        before, part = source.line(node.lineno), " ".join(source.part(start, end).split())
        name = (function, before, f"{part} -> {' '.join(put.split())}")
        found.append(Fault(function, node.lineno, before, name[2], seen[name], start, end, put))
        seen[name] += 1
    return sorted(found, key=lambda fault: (fault.start, fault.end, fault.put))


def with_fault(text: str, fault: Fault) -> str:
    """Give the module's text with *fault* made in it."""
    raw = text.encode()
    return (raw[: fault.start] + fault.put.encode() + raw[fault.end :]).decode()


_Where = tuple[str, ast.expr | ast.stmt, str]


def _walk(node: ast.AST, function: str, returns: ast.expr | None) -> Iterator[_Where]:
    """Go through what runs: no annotations, decorators, docstrings or formatted texts."""
    if isinstance(node, ast.JoinedStr):
        return
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        function = f"{function}.{node.name}".lstrip(".")
        returns = node.returns if isinstance(node, ast.FunctionDef) else None
    for put in _puts(node, returns):
        assert isinstance(node, ast.expr | ast.stmt)
        yield function, node, put
    is_enum = isinstance(node, ast.ClassDef) and any(
        "Enum" in ast.unparse(base) for base in node.bases
    )
    for name, child in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_comment"):
            continue
        for one in child if isinstance(child, list) else [child]:
            # Numbers of an enumeration are names: another number is no fault.
            if isinstance(one, ast.AST) and not (
                _is_text_alone(one) or (is_enum and isinstance(one, ast.Assign))
            ):
                yield from _walk(one, function, returns)


def _is_text_alone(node: ast.AST) -> bool:
    """Whether it is a docstring or a comment in the form of a text."""
    is_text = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    return is_text and isinstance(node.value.value, str)  # type: ignore[attr-defined]


def _puts(node: ast.AST, returns: ast.expr | None) -> Iterator[str]:
    """Give what can stand in the place of *node*."""
    match node:
        case ast.Compare():
            yield from _compared(node)
        case ast.BinOp() | ast.AugAssign() if type(node.op) in _ARITHMETIC:
            yield _with(node, op=_ARITHMETIC[type(node.op)]())
        case ast.BoolOp(op=op):
            other = ast.Or() if isinstance(op, ast.And) else ast.And()
            yield f"({_with(node, op=other)})"
        case ast.UnaryOp(operand=operand):
            yield f"({ast.unparse(operand)})"
        case ast.Constant(value=value):
            yield from _constants(value)
        case ast.Dict(keys=[_, _, *_]):
            yield from _shortened(node)
        case ast.Name(id=name) if name in _NAMES:
            yield _NAMES[name]
        case ast.Attribute(attr=name) if name in _NAMES:
            yield _with(node, attr=_NAMES[name])
        case ast.Return(value=ast.expr() as value) if (
            ast.unparse(returns or value) in _NEGATIONS
        ):
            negation = _NEGATIONS[ast.unparse(returns or value)]
            yield f"return {negation.format(ast.unparse(value))}"
        case ast.Continue():
            yield "pass"
    if isinstance(node, ast.stmt) and _is_dropped(node):
        yield "pass"


def _compared(node: ast.Compare) -> Iterator[str]:
    """Give a comparison with each of its operators exchanged."""
    for place, op in enumerate(node.ops):
        for other in _COMPARISONS[type(op)]:
            yield _with(node, ops=[*node.ops[:place], other(), *node.ops[place + 1 :]])


def _constants(value: object) -> Iterator[str]:
    """Give what a constant may be mistaken for."""
    if isinstance(value, bool):
        yield str(not value)
    elif isinstance(value, int):
        yield from (f"{value + 1}", f"({value - 1})")
    elif isinstance(value, float):
        yield f"{value + 1!r}"
    elif isinstance(value, str) and value in _WORDS:
        yield repr(_WORDS[value])


def _shortened(node: ast.Dict) -> Iterator[str]:
    """Give a table with one entry less."""
    for place in range(len(node.keys)):
        keys = [*node.keys[:place], *node.keys[place + 1 :]]
        values = [*node.values[:place], *node.values[place + 1 :]]
        yield ast.unparse(ast.Dict(keys, values))


def _is_dropped(node: ast.stmt) -> bool:
    """Whether it is worth leaving out: a call for its effect, or a change of what is kept."""
    match node:
        case ast.Expr(value=ast.Call()):
            return True
        case ast.Assign(targets=[ast.Subscript() | ast.Attribute()]):
            return True
        case ast.AugAssign(target=ast.Subscript() | ast.Attribute()):
            return True
        case _:
            return False


def _with(node: ast.AST, **changes: object) -> str:
    """Write *node* with fields changed."""
    fields = dict(ast.iter_fields(node)) | changes
    return ast.unparse(ast.fix_missing_locations(type(node)(**fields)))
