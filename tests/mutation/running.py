"""Runs chosen tests in a copy of the tree, so that the working tree is never touched."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

#: Of the tree, what the tests of pure code may need.
COPIED = ("monitor", "drivers", "tests", "configs", "pyproject.toml")
_LEFT_OUT = shutil.ignore_patterns("__pycache__", "*.pyc", ".*")
#: A fault that fills the memory must not take the machine with it. In KiB.
_MOST_KIB = 4 * 1024 * 1024
#: Only what tests of pure code need: each plugin takes time at every start.
_PLUGINS = (
    "-p",
    "pytest_asyncio.plugin",
    "-p",
    "pytest_timeout",
    "-p",
    "_hypothesis_pytestplugin",
)
#: What pytest exits with: tests failed, or could not even be collected, be it by name.
_FOUND = (1, 2, 4)
_PASSED = 0


class End(StrEnum):
    """How the tests ended."""

    SURVIVED = "survived"
    KILLED = "killed"
    #: Endless loops count as found.
    TIMEOUT = "timeout"


class CannotRunError(Exception):
    """The tests say nothing: they could not be run as asked. The text is what they printed."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """How the tests ended, after how long, and what they printed."""

    end: End
    seconds: float
    text: str


class Copy:
    """A copy of a tree in which modules can be changed and tests run.

    Args:
        root: The tree.
        folder: Where to put the copy; must not exist.
    """

    def __init__(self, root: Path, folder: Path) -> None:
        """Copy what is needed."""
        self._folder = folder
        folder.mkdir(parents=True)
        for name in COPIED:
            path = root / name
            if path.is_dir():
                shutil.copytree(path, folder / name, ignore=_LEFT_OUT)
            elif path.exists():
                shutil.copy2(path, folder / name)

    def write(self, module: str, text: str) -> None:
        """Give *module* another text, and forget what was compiled of it."""
        path = self._folder / module
        path.write_text(text, encoding="utf-8")
        for compiled in (path.parent / "__pycache__").glob(f"{path.stem}.*.pyc"):
            compiled.unlink()

    def run(self, tests: list[str], timeout_s: float, *, compiles: bool = False) -> Outcome:
        """Run *tests* up to the first failure.

        Args:
            tests: Paths within the tree; those that do not exist are left out.
            timeout_s: When to give up, in seconds.
            compiles: Whether to keep compiled modules for later runs. Never with a fault: what
                was compiled of it could be taken for the next one's.

        Raises:
            CannotRunError: pytest did not run tests.
        """
        there = [x for x in tests if (self._folder / x.partition("::")[0]).exists()]
        if not there:
            raise CannotRunError(f"none of these exists: {', '.join(tests)}")
        began_s, text = time.monotonic(), ""
        # The nearest alone at first: most faults need no more, and no more is loaded then.
        for part in filter(None, (there[:1], there[1:])):
            left_s = timeout_s - (time.monotonic() - began_s)
            code, text = self._pytest(part, left_s, compiles)
            if code != _PASSED:
                return Outcome(_end_of(code, text), time.monotonic() - began_s, text)
        return Outcome(End.SURVIVED, time.monotonic() - began_s, text)

    def _pytest(
        self, tests: list[str], timeout_s: float, compiles: bool
    ) -> tuple[int | None, str]:
        """Give pytest's exit code, None when it took too long, and what it printed."""
        limits = f'ulimit -v {_MOST_KIB}; exec "$@"'
        options = ["-x", "-q", "--tb=line", "--no-header", "-p", "no:cacheprovider"]
        if (self._folder / "tests" / "conftest.py").exists():
            options += [*_PLUGINS, "--hypothesis-profile=ci"]
        command = ["sh", "-c", limits, "sh", sys.executable, "-m", "pytest", *options, *tests]
        environment = os.environ | {"PYTHONPATH": str(self._folder)}
        environment["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        if not compiles:
            environment["PYTHONDONTWRITEBYTECODE"] = "1"
        with subprocess.Popen(
            command,
            cwd=self._folder,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        ) as process:
            try:
                text, _ = process.communicate(timeout=timeout_s)
            except subprocess.TimeoutExpired:
                return None, "took too long"
            finally:
                # Whatever the tests started, too.
                with contextlib.suppress(ProcessLookupError):
                    os.killpg(process.pid, signal.SIGKILL)
            return process.returncode, text


def _end_of(code: int | None, text: str) -> End:
    """Say what an exit code means that is not that of tests that passed."""
    if code is None:
        return End.TIMEOUT
    if code in _FOUND or code < 0:
        return End.KILLED
    raise CannotRunError(f"pytest exits with {code}:\n{text}")
