"""Tests for the repository as a whole.

Source: the rules in DEVELOPERS.md.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

ROOT = Path(__file__).parents[2]
SOURCES = sorted([*(ROOT / "monitor").rglob("*.py"), *(ROOT / "drivers").rglob("*.py")])

#: Places where everything is caught: once at the top of a task, where it becomes a fault that
#: the operator sees while the other tasks go on.
CATCHES_ALL: dict[str, int] = {
    # One part of the window.
    "monitor/display/rounds.py": 1,
    # The recorder's thread.
    "monitor/engine/recorder.py": 1,
    # One instrument.
    "monitor/engine/supervise.py": 1,
}

#: The only place that may load a module by name.
LOADS_BY_NAME = {"drivers/registry.py"}

FOLDERS_OF_TOOLS = {"__pycache__", "build", "dist", "runs"}


def relative(path: Path) -> str:
    """Give *path* as it is written in the documents."""
    return path.relative_to(ROOT).as_posix()


def texts() -> Iterator[tuple[str, str]]:
    """Give path and content of every text file of the project."""
    suffixes = {".py", ".md", ".toml", ".csv", ".txt", ".cfg", ".yml", ".svg", ".html", ""}
    for top in sorted(ROOT.iterdir()):
        if top.is_dir() and top.name in ("monitor", "drivers", "configs", "tests", ".ci"):
            found = sorted(path for path in top.rglob("*") if path.is_file())
        else:
            found = [top] if top.is_file() else []
        for path in found:
            if path.suffix in suffixes and not FOLDERS_OF_TOOLS & set(path.parts):
                yield relative(path), path.read_text(encoding="utf-8", errors="replace")


def catches_all(text: str) -> int:
    """Count the handlers that catch everything; one that tidies up and raises on is none."""
    count = 0
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.ExceptHandler) and not raises_on(node):
            kinds = node.type.elts if isinstance(node.type, ast.Tuple) else [node.type]
            names = [kind.id if isinstance(kind, ast.Name) else kind for kind in kinds]
            count += any(name in (None, "Exception", "BaseException") for name in names)
    return count


def raises_on(handler: ast.ExceptHandler) -> bool:
    """Whether a handler ends by raising what it caught."""
    last = handler.body[-1]
    return isinstance(last, ast.Raise) and last.exc is None


def loads_by_name(text: str) -> bool:
    """Whether a module is imported by a name that is only known at run time."""
    called = [node.func for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Call)]
    names = {func.attr if isinstance(func, ast.Attribute) else "" for func in called}
    names |= {func.id if isinstance(func, ast.Name) else "" for func in called}
    return bool(names & {"import_module", "__import__", "entry_points"})


def test_the_folder_table_matches_the_tree() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    listed = set(re.findall(r"^\| `([^`]+)/` \|", text, flags=re.MULTILINE))
    packages = {relative(path.parent) for path in SOURCES}
    tops = {row.name for row in ROOT.iterdir() if row.is_dir() and not row.name.startswith(".")}
    tops -= FOLDERS_OF_TOOLS | {row.name for row in ROOT.glob("*.egg-info")}
    of_tests = {relative(row) for row in (ROOT / "tests").iterdir() if row.is_dir()}
    of_tests -= {f"tests/{row}" for row in (*tops, *FOLDERS_OF_TOOLS)}

    assert listed == packages | tops | of_tests | {".ci"}


def test_colours_are_written_in_the_theme_only() -> None:
    colour = re.compile(r"""["'\s]#(?:[0-9a-fA-F]{3}|[0-9a-fA-F]{6}|[0-9a-fA-F]{8})\b""")
    wrong = [
        f"{relative(path)}: {found.group().strip()}"
        for path in SOURCES
        if "monitor/display/theme/" not in relative(path)
        for found in colour.finditer(path.read_text(encoding="utf-8"))
    ]

    assert wrong == []


def test_everything_is_caught_only_where_it_is_listed() -> None:
    counts = {relative(path): catches_all(path.read_text(encoding="utf-8")) for path in SOURCES}

    assert {path: count for path, count in counts.items() if count} == CATCHES_ALL


@pytest.mark.parametrize(
    "clause", ["except:", "except Exception:", "except (ValueError, BaseException):"]
)
def test_a_broad_except_is_seen(clause: str) -> None:
    assert catches_all(f"try:\n    x()\n{clause}\n    y()") == 1


@pytest.mark.parametrize(
    "handler",
    ["except (OSError, ValueError):\n    y()", "except BaseException:\n    y()\n    raise"],
)
def test_a_narrow_except_and_one_that_raises_on_are_not_counted(handler: str) -> None:
    assert catches_all(f"try:\n    x()\n{handler}") == 0


def test_modules_are_loaded_by_name_in_the_registry_only() -> None:
    found = {relative(p) for p in SOURCES if loads_by_name(p.read_text(encoding="utf-8"))}

    assert found <= LOADS_BY_NAME


def test_nothing_speaks_of_the_machine_it_was_written_on() -> None:
    home = re.compile(r"(?<![\w.{}/-])/(?:home|root|work|Users)/\w+")
    wrong = [
        f"{path}: {found.group()}" for path, text in texts() for found in home.finditer(text)
    ]

    assert wrong == []


def test_nothing_is_left_to_be_done_later_in_silence() -> None:
    marks = re.compile("|".join(["TO" + "DO", "FIX" + "ME", "XX" + "X"]))
    wrong = [
        f"{path}: {found.group()}" for path, text in texts() for found in marks.finditer(text)
    ]

    assert wrong == []


def test_nothing_pretends_to_be_there() -> None:
    stub = re.compile(r"raise NotImplementedError|^\s*pass$", flags=re.MULTILINE)
    wrong = [
        f"{relative(path)}: {found.group().strip()}"
        for path in SOURCES
        for found in stub.finditer(path.read_text(encoding="utf-8"))
    ]

    assert wrong == []


def test_the_make_commands_in_the_documents_exist() -> None:
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    targets = set(re.findall(r"^([a-z]+):", makefile, flags=re.MULTILINE))
    for name in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / name).read_text(encoding="utf-8")
        used = set(re.findall(r"(?:`|^ {4})make ([a-z]+)", text, flags=re.MULTILINE))

        assert used
        assert used <= targets


def test_the_commands_in_the_readme_are_all_there_is() -> None:
    from monitor.cli import main

    text = (ROOT / "README.md").read_text(encoding="utf-8")
    used = set(re.findall(r"^\| `standwatch ([a-z]+)", text, flags=re.MULTILINE))

    assert isinstance(main, click.Group)
    assert used == {name for name, row in main.commands.items() if not row.hidden}


def test_the_stand_files_named_in_the_readme_exist() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`(configs/[a-z_]+\.toml)`", text))

    assert named
    assert [path for path in sorted(named) if not (ROOT / path).is_file()] == []
