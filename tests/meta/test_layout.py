"""Tests for the layout of tests.

Source: the house rule in DEVELOPERS.md, 'How to check': tests mirror what they test, and each
test file says what it tests and where its expected values come from.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TESTS = ROOT / "tests"

#: Modules that hold declarations only and are tested through those that use them. A module
#: that gets a test of its own must leave this list.
WITHOUT_TEST = {
    "drivers/errors.py",
    "drivers/reading.py",
    "monitor/alarms/items.py",
    "monitor/alarms/plan.py",
    "monitor/channels/plan.py",
    "monitor/events.py",
    "monitor/limits/edges.py",
    "monitor/link/messages.py",
    "monitor/link/stand_info.py",
    "monitor/link/states.py",
    "monitor/record/frame.py",
    "monitor/samples.py",
    "monitor/stand/model.py",
    "monitor/terminal/screen.py",
}


def modules() -> list[str]:
    """Give every module of both packages that holds more than a docstring."""
    found = []
    for package in ("monitor", "drivers"):
        for path in sorted((ROOT / package).rglob("*.py")):
            body = ast.parse(path.read_text(encoding="utf-8")).body
            if path.name != "__init__.py" or len(body) > 1:
                found.append(path.relative_to(ROOT).as_posix())
    return found


def mirror_of(module: str) -> str:
    """Give the path of the test file that a module must have."""
    path = Path(module)
    name = path.parent.name if path.name == "__init__.py" else path.stem.strip("_")
    return f"tests/{path.parent.as_posix()}/test_{name}.py"


TEST_FILES = sorted(path.relative_to(ROOT).as_posix() for path in TESTS.rglob("test_*.py"))


def wrong_docstring(text: str, path: str) -> str:
    """Say what is wrong with a test file's docstring; empty when nothing is."""
    docstring = ast.get_docstring(ast.parse(text)) or ""
    first, _, rest = docstring.partition("\n\n")
    named = re.fullmatch(r"Tests for (.+)\.", " ".join(first.split()))
    if not named:
        return f"{path}: the docstring must begin with 'Tests for <dotted.module>.'"
    if not re.search(r"^Source: \S", rest, flags=re.MULTILINE):
        return f"{path}: the docstring must say 'Source: ...' after its first paragraph"
    is_mirror = path.startswith(("tests/monitor/", "tests/drivers/"))
    if is_mirror and not is_module(named[1], path):
        return f"{path}: {named[1]!r} is no module in the folder that this one mirrors"
    return ""


def is_module(dotted: str, test_path: str) -> bool:
    """Whether *dotted* is a module or package that the folder of *test_path* mirrors."""
    path = ROOT / Path(*dotted.split("."))
    folder = Path(test_path).parent.relative_to("tests")
    if path.is_dir():
        return path == ROOT / folder
    return path.with_suffix(".py").is_file() and path.parent == ROOT / folder


@pytest.mark.parametrize("module", [row for row in modules() if row not in WITHOUT_TEST])
def test_each_module_has_its_test_file(module: str) -> None:
    assert mirror_of(module) in TEST_FILES


def test_a_module_on_the_list_exists_and_has_no_test_file() -> None:
    wrong = [
        module
        for module in sorted(WITHOUT_TEST)
        if not (ROOT / module).is_file() or mirror_of(module) in TEST_FILES
    ]

    assert wrong == []


@pytest.mark.parametrize("path", TEST_FILES)
def test_each_test_file_names_its_module_and_its_source(path: str) -> None:
    assert wrong_docstring((ROOT / path).read_text(encoding="utf-8"), path) == ""


@pytest.mark.parametrize(
    ("docstring", "problem"),
    [
        ("Tests for monitor.link.codec.\n\nSource: hand-worked here.", ""),
        ("Tests for monitor.link.\n\nSource: hand-worked here.", ""),
        ("Checks monitor.link.codec.\n\nSource: hand-worked here.", "must begin with"),
        ("Tests for monitor.link.codec.\n\nFrom memory.", "must say 'Source"),
        ("Tests for monitor.link.codec. Source: here.", "must say 'Source"),
        ("Tests for monitor.link.gone.\n\nSource: here.", "is no module"),
        ("Tests for monitor.record.frame.\n\nSource: here.", "is no module"),
    ],
)
def test_the_docstring_rule_refuses_what_it_should(docstring: str, problem: str) -> None:
    said = wrong_docstring(f'"""{docstring}"""', "tests/monitor/link/test_codec.py")

    assert (said == "") == (problem == "")
    assert problem in said


def test_no_folder_of_tests_is_a_package() -> None:
    assert list(TESTS.rglob("__init__.py")) == []
