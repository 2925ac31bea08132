"""Tests for the import contracts in pyproject.toml.

Source: hand-worked here. A contract on a wrong name never fails; so each one is broken once on
purpose, in a copy of the tree, and must say so.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

#: For each contract: the module that is given a wrong import, and that import.
BREAKS = {
    "The layers of monitor": ("monitor/channels/plan.py", "import monitor.limits.plan"),
    "Record and link know events, not how they are made": (
        "monitor/record/frame.py",
        "import monitor.pipeline",
    ),
    "Physics knows no event and no instrument": (
        "monitor/physics/__init__.py",
        "import monitor.events",
    ),
    "The layers of the display": (
        "monitor/display/state/__init__.py",
        "import monitor.display.theme",
    ),
    "The display knows the link only": (
        "monitor/display/widgets/__init__.py",
        "import monitor.stand.model",
    ),
    "Qt stays in the display": ("monitor/engine/__init__.py", "import PySide6.QtCore"),
    "The layers of drivers": ("drivers/framing/__init__.py", "import drivers.decoding"),
    "Drivers stand alone": ("drivers/transports/__init__.py", "import monitor.errors"),
    "The virtual rig is the other end of the wire": (
        "drivers/virtual/__init__.py",
        "import drivers.instruments",
    ),
    "Monitor meets drivers at the reading and at the registry": (
        "monitor/engine/__init__.py",
        "import drivers.transports",
    ),
    "Only engine, stand and command line know the registry": (
        "monitor/link/codec.py",
        "import drivers.registry",
    ),
    "Pure code has no clock, loop, thread, socket or log": (
        "monitor/limits/plan.py",
        "import time",
    ),
}


def imported(path: str, line: str) -> str:
    """Say a wrong import as the linter says it."""
    importer = path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
    # Libraries are one thing to the linter, whatever their insides.
    name = line.removeprefix("import ")
    if not name.startswith(("monitor.", "drivers.")):
        name = name.partition(".")[0]
    return f"{importer} -> {name}"


def lint(folder: Path) -> str:
    """Run the import linter in *folder*; give what it says."""
    script = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    done = subprocess.run(
        [sys.executable, "-c", script, "--no-cache"],
        cwd=folder,
        env={"PYTHONPATH": str(folder), "PATH": "", "NO_COLOR": "1", "COLUMNS": "200"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert "Contracts:" in done.stdout, done.stdout + done.stderr
    return done.stdout


def broken(said: str) -> dict[str, str]:
    """Give what the linter says about each broken contract, by name."""
    _, _, details = said.partition("Broken contracts")
    parts = re.split(r"^(.+)\n-+\n", details, flags=re.MULTILINE)[1:]
    return dict(zip(parts[::2], parts[1::2], strict=True))


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Copy what the linter reads."""
    folder = tmp_path_factory.mktemp("tree")
    for name in ("monitor", "drivers"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("*.pyc"))
    shutil.copy(ROOT / "pyproject.toml", folder)
    return folder


@pytest.fixture(scope="module")
def said_when_broken(tree: Path) -> dict[str, str]:
    """Break every contract at once; give what is said about each."""
    for path, line in BREAKS.values():
        with (tree / path).open("a", encoding="utf-8") as file:
            file.write(f"\n{line}\n")
    return broken(lint(tree))


def test_each_contract_has_a_way_to_break_it() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    contracts = {row["name"] for row in settings["tool"]["importlinter"]["contracts"]}

    assert contracts == set(BREAKS)


@pytest.mark.parametrize("contract", BREAKS)
def test_each_contract_names_the_import_that_breaks_it(
    contract: str, said_when_broken: dict[str, str]
) -> None:
    assert imported(*BREAKS[contract]) in said_when_broken.get(contract, "")


def test_what_is_said_is_taken_apart_by_contract() -> None:
    said = (
        "Broken contracts\n----------------\n\nFirst\n-----\n\na -> b\n\nNext\n----\n\nc -> d\n"
    )

    assert {name: text.strip() for name, text in broken(said).items()} == {
        "First": "a -> b",
        "Next": "c -> d",
    }
