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


def lint(folder: Path) -> dict[str, str]:
    """Run the import linter in *folder*; give each contract's verdict."""
    script = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    done = subprocess.run(
        [sys.executable, "-c", script, "--no-cache"],
        cwd=folder,
        env={"PYTHONPATH": str(folder), "PATH": "", "NO_COLOR": "1", "COLUMNS": "200"},
        capture_output=True,
        text=True,
        check=False,
    )
    verdicts = re.findall(r"^(.+?) (KEPT|BROKEN)$", done.stdout, flags=re.MULTILINE)
    assert verdicts, done.stdout + done.stderr
    return dict(verdicts)


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """Copy what the linter reads."""
    for name in ("monitor", "drivers"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=shutil.ignore_patterns("*.pyc"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


def test_each_contract_has_a_way_to_break_it() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    contracts = {row["name"] for row in settings["tool"]["importlinter"]["contracts"]}

    assert contracts == set(BREAKS)


@pytest.mark.parametrize("contract", BREAKS)
def test_each_contract_notices_when_it_is_broken(contract: str, tree: Path) -> None:
    path, line = BREAKS[contract]
    with (tree / path).open("a", encoding="utf-8") as file:
        file.write(f"\n{line}\n")

    assert lint(tree)[contract] == "BROKEN"


def test_no_contract_is_broken_to_begin_with(tree: Path) -> None:
    assert lint(tree) == dict.fromkeys(BREAKS, "KEPT")
