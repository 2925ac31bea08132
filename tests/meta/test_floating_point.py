"""Tests for the arithmetic on the path to events.

Source: DEVELOPERS.md, 'Decisions', floating point: array + - * / sqrt, polynomials and table
interpolation gave equal bits for every block cut and processor tried; exp, log, powers, BLAS
and sums along an axis did not.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

#: Results of these depend on the processor's features or on how the work was cut.
NEVER = {
    *("exp", "exp2", "expm1", "log", "log2", "log10", "log1p"),
    *("pow", "power", "float_power", "cbrt", "hypot"),
    *("sin", "cos", "tan", "asin", "acos", "atan", "atan2", "sinh", "cosh", "tanh"),
    *("arcsin", "arccos", "arctan", "arctan2"),
    *("dot", "vdot", "matmul", "einsum", "tensordot", "inner", "convolve"),
    *("polyfit", "lstsq", "solve"),
}

#: Fine over a whole array of whole numbers; along an axis the order of the sum may change.
NEVER_ALONG_AN_AXIS = {"sum", "nansum", "mean", "nanmean", "average", "std", "var", "prod"}

MODULES_OF_NUMBERS = {"np", "numpy", "math"}


def event_path() -> list[Path]:
    """Give the files of the event path, and of the physics that they import."""
    files = [ROOT / "monitor" / "pipeline.py"]
    for package in ("channels", "limits", "alarms"):
        files += sorted((ROOT / "monitor" / package).rglob("*.py"))
    for path in files:
        files += [found for found in physics_imported_by(path) if found not in files]
    return files


def physics_imported_by(path: Path) -> Iterator[Path]:
    """Give the files of monitor.physics that *path* imports."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith(
            "monitor.physics"
        ):
            names = [f"{node.module}.{alias.name}" for alias in node.names] + [str(node.module)]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names if "monitor.physics" in alias.name]
        else:
            names = []
        for name in names:
            file = (ROOT / Path(*name.split("."))).with_suffix(".py")
            if file.is_file():
                yield file


def forbidden_in(text: str) -> list[str]:
    """Give line and reason for each operation that may give other bits elsewhere."""
    found = []
    for node in ast.walk(ast.parse(text)):
        reason = ""
        if isinstance(node, ast.Call):
            reason = wrong_call(node)
        elif isinstance(node, ast.BinOp | ast.AugAssign):
            reason = wrong_operator(node)
        elif isinstance(node, ast.ImportFrom) and node.module in ("math", "numpy"):
            reason = ", ".join(row.name for row in node.names if row.name in NEVER)
        if reason:
            found.append(f"line {node.lineno}: {reason}")
    return found


def wrong_call(node: ast.Call) -> str:
    """Say what is wrong with a call; empty when nothing is."""
    if not isinstance(node.func, ast.Attribute):
        return ""
    name = node.func.attr
    owner = node.func.value
    is_library = isinstance(owner, ast.Name) and owner.id in MODULES_OF_NUMBERS
    if (is_library and name in NEVER) or name in ("dot", "matmul", "einsum"):
        return f"{name}()"
    is_linear_algebra = isinstance(owner, ast.Attribute) and owner.attr == "linalg"
    if is_linear_algebra:
        return f"linalg.{name}()"
    has_axis = any(row.arg == "axis" for row in node.keywords)
    has_axis = has_axis or len(node.args) > (1 if is_library else 0)
    is_reduce = name == "reduce" and isinstance(owner, ast.Attribute) and owner.attr == "add"
    if (name in NEVER_ALONG_AN_AXIS and has_axis) or is_reduce:
        return f"{name}() along an axis"
    return ""


def wrong_operator(node: ast.BinOp | ast.AugAssign) -> str:
    """Say what is wrong with an operator; empty when nothing is."""
    if isinstance(node.op, ast.MatMult):
        return "@"
    is_whole_base = (
        isinstance(node, ast.BinOp)
        and isinstance(node.left, ast.Constant)
        and isinstance(node.left.value, int)
    )
    return "**" if isinstance(node.op, ast.Pow) and not is_whole_base else ""


@pytest.mark.parametrize(
    "path", event_path(), ids=lambda path: path.relative_to(ROOT).as_posix()
)
def test_the_event_path_keeps_to_exact_arithmetic(path: Path) -> None:
    assert forbidden_in(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    "line",
    [
        "np.exp(x)",
        "math.log(x)",
        "from math import exp",
        "x ** 2.0",
        "x **= 2",
        "a @ b",
        "a.dot(b)",
        "np.linalg.norm(x)",
        "np.sum(x, axis=0)",
        "np.sum(x, 0)",
        "x.mean(axis=1)",
        "x.sum(0)",
        "np.add.reduce(x)",
    ],
)
def test_the_checker_finds_what_is_forbidden(line: str) -> None:
    assert len(forbidden_in(line)) == 1


@pytest.mark.parametrize(
    "line",
    [
        "np.sqrt(x)",
        "x * x + 1",
        "np.interp(x, a, b)",
        "10**9",
        "flags.sum()",
        "np.max(x, axis=0)",
    ],
)
def test_the_checker_lets_pass_what_is_exact(line: str) -> None:
    assert forbidden_in(line) == []
