"""Tests for .ci/setup.

Source: hand-worked here. Debian's tools are played by scripts; .venv is pretended to be ready.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TOOLS = ("bash", "cat", "cksum", "dirname", "env", "mktemp", "pwd", "rm", "sed", "tail", "tr")


@dataclass(frozen=True)
class Machine:
    """A pretended machine: a copy of the project's set-up, and its own commands."""

    folder: Path

    def command(self, name: str, script: str) -> None:
        """Add a command."""
        path = self.folder / "bin" / name
        path.write_text(f"#!/bin/bash\n{script}\n", encoding="utf-8")
        path.chmod(0o755)

    def setup(self, what: str = "demo") -> subprocess.CompletedProcess[str]:
        """Run the set-up on this machine."""
        return subprocess.run(
            [str(self.folder / ".ci" / "setup"), what],
            env={"PATH": str(self.folder / "bin")},
            capture_output=True,
            text=True,
            check=False,
        )

    def calls(self) -> str:
        """Give what apt-get was asked."""
        log = self.folder / "apt.log"
        return log.read_text(encoding="utf-8") if log.exists() else ""


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    """A Debian machine of an ordinary user, all Python packages there, no Debian package."""
    made = Machine(tmp_path)
    (tmp_path / "bin").mkdir()
    (tmp_path / ".ci").mkdir()
    (tmp_path / ".venv" / "bin").mkdir(parents=True)
    shutil.copy(ROOT / ".ci" / "setup", tmp_path / ".ci" / "setup")
    shutil.copy(ROOT / "pyproject.toml", tmp_path / "pyproject.toml")
    for tool in TOOLS:
        found = shutil.which(tool)
        assert found
        os.symlink(found, tmp_path / "bin" / tool)
    made.command("../.venv/bin/standwatch", "exit 0")
    stamp = subprocess.run(
        ["cksum"], stdin=(tmp_path / "pyproject.toml").open(), capture_output=True, check=True
    )
    (tmp_path / ".venv" / ".ready-demo,test").write_bytes(stamp.stdout)
    (tmp_path / ".venv" / ".place").write_text(f"{tmp_path}\n", encoding="utf-8")
    made.command("id", "echo 1000")
    made.command("dpkg-query", "echo 'ii  bash '; echo 'rc  xvfb '")
    made.command("apt-get", f'echo "$*" >>{tmp_path}/apt.log')
    return made


def installed(packages: str) -> str:
    """Give a dpkg-query that knows *packages*."""
    return "\n".join(f"echo 'ii  {name} '" for name in packages.split())


def needed(machine: Machine, what: str) -> str:
    """Give the packages that the set-up says are missing on the bare machine."""
    lines = machine.setup(what).stderr.splitlines()
    return next(line.split(" -y ")[1] for line in lines if "sudo apt-get install -y" in line)


def test_an_ordinary_user_is_told_the_line_to_type_and_goes_on(machine: Machine) -> None:
    done = machine.setup("test")

    assert "sudo apt-get install -y libgl1 " in done.stderr
    assert " mosquitto mosquitto-clients" in done.stderr
    assert (done.returncode, machine.calls()) == (0, "")


def test_the_demo_needs_neither_a_broker_nor_a_virtual_screen(machine: Machine) -> None:
    packages = needed(machine, "demo").split()

    assert not {"mosquitto", "xvfb"} & set(packages)


def test_root_installs_only_what_is_missing(machine: Machine) -> None:
    everything = needed(machine, "demo").split()
    machine.command("id", "echo 0")
    machine.command("dpkg-query", installed(" ".join(everything[1:])))
    done = machine.setup()

    last = machine.calls().splitlines()[-1]
    assert last == f"install -y -qq --no-install-recommends {everything[0]}"
    assert done.returncode == 0


def test_a_renamed_package_that_provides_the_old_name_is_there(machine: Machine) -> None:
    rest = needed(machine, "demo").replace("libglib2.0-0 ", "")
    provided = "echo 'ii  libglib2.0-0t64 libglib2.0-0 (= 2.84), libgio (= 1)'"
    machine.command("dpkg-query", f"{installed(rest)}\n{provided}")

    assert machine.setup().stderr == ""


def test_package_lists_that_cannot_be_fetched_do_not_stop_the_install(machine: Machine) -> None:
    machine.command("id", "echo 0")
    machine.command(
        "apt-get", f'echo "$*" >>{machine.folder}/apt.log; [ "$1" != update ] || exit 100'
    )
    done = machine.setup()

    assert "apt-get update failed" in done.stderr
    assert "install -y" in machine.calls()
    assert done.returncode == 0


def test_an_install_that_fails_shows_why_and_the_line_to_type(machine: Machine) -> None:
    machine.command("id", "echo 0")
    machine.command("apt-get", "echo 'E: no space left'; exit 100")
    done = machine.setup()

    assert "E: no space left" in done.stderr
    assert "sudo apt-get install -y libgl1" in done.stderr
    assert done.returncode == 0


def test_no_python_new_enough_is_said_with_its_cure(machine: Machine) -> None:
    (machine.folder / ".venv" / ".place").unlink()
    machine.command("python3", "exit 1")
    done = machine.setup()

    assert "no Python 3.11 or newer found" in done.stderr
    assert "apt-get install python3 python3-venv" in done.stderr
    assert done.returncode != 0


def test_a_python_without_its_venv_part_is_said_with_its_cure(machine: Machine) -> None:
    (machine.folder / ".venv" / ".place").unlink()
    machine.command("python3", 'case "$2" in *ensurepip*) exit 1;; *print*) echo 3.11;; esac')
    done = machine.setup()

    assert "sudo apt-get install -y python3.11-venv" in done.stderr
    assert done.returncode != 0


def test_a_changed_pyproject_means_installing_anew(machine: Machine) -> None:
    machine.command("../.venv/bin/python", f'echo "$*" >>{machine.folder}/pip.log')
    with (machine.folder / "pyproject.toml").open("a", encoding="utf-8") as file:
        file.write("# changed\n")
    first = machine.setup("test").stderr
    asked = (machine.folder / "pip.log").read_text(encoding="utf-8")
    second = machine.setup("test").stderr

    assert "-e .[demo,test]" in asked
    assert "setup: ready" in first
    assert "setup: ready" not in second


def test_with_nothing_to_do_it_says_nothing_and_is_quick(machine: Machine) -> None:
    machine.command("dpkg-query", installed(needed(machine, "test")))
    started = time.monotonic()
    done = machine.setup("test")

    assert time.monotonic() - started < 2
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_an_unknown_argument_is_refused(machine: Machine) -> None:
    assert machine.setup("all").returncode == 2
