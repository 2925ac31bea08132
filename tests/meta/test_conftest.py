"""Tests for tests.conftest.

Source: hand-worked here: each leak is made on purpose and must be found.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

CONFTEST = Path(__file__).parents[1] / "conftest.py"

LEAKS = {
    "thread": "threading.Thread(target=time.sleep, args=(9,), daemon=True).start()",
    "process": "KEPT.append(subprocess.Popen(['sleep', '9']))",
    "terminal": "KEPT.append(os.openpty())",
    "socket": "KEPT.append(socket.create_server(('127.0.0.1', 0)))",
    "logged unexpectedly": "logging.getLogger('monitor.x').warning('beware')",
    "tasks left behind": "KEPT.append(asyncio.create_task(asyncio.sleep(9)))",
}

TEMPLATE = """
import asyncio, logging, os, socket, subprocess, threading, time
KEPT = []

async def test_leaks():
    {leak}
"""


def run_pytest(folder: Path, leak: str) -> subprocess.CompletedProcess[str]:
    """Run one test with *leak* in it, under the project's conftest."""
    text = CONFTEST.read_text(encoding="utf-8").replace("GRACE_S = 2.0", "GRACE_S = 0.1")
    (folder / "conftest.py").write_text(text, encoding="utf-8")
    (folder / "pytest.ini").write_text(
        "[pytest]\nasyncio_mode = auto\nmarkers =\n  expects_warnings\n", encoding="utf-8"
    )
    (folder / "test_leak.py").write_text(TEMPLATE.format(leak=leak), encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", str(folder)]
    return subprocess.run(command, capture_output=True, text=True, check=False, cwd=folder)


@pytest.mark.parametrize("found", LEAKS)
def test_a_leak_is_found(found: str, tmp_path: Path) -> None:
    done = run_pytest(tmp_path, LEAKS[found])

    assert (done.returncode, found in done.stdout) == (1, True), done.stdout


def test_a_clean_test_passes(tmp_path: Path) -> None:
    done = run_pytest(tmp_path, "await asyncio.sleep(0)")

    assert done.returncode == 0, done.stdout
