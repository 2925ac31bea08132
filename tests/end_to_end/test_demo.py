"""Tests for the demo as a whole: rig, wires, engine and screen, as a person runs it.

Source: hand-worked here, from what the demo's own help promises.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import psutil
import pytest

from monitor.record.run_folder import list_runs
from monitor.replay import replay_run

ROOT = Path(__file__).parents[2]
#: How long a test waits for what should come soon, in seconds.
SOON_S = 40.0


def soon(what: Callable[[], bool]) -> bool:
    """Wait until *what* holds."""
    until = time.monotonic() + SOON_S
    while time.monotonic() < until:
        if what():
            return True
        time.sleep(0.05)
    return False


@contextmanager
def demo(folder: Path, *options: str, platform: str = "") -> Iterator[subprocess.Popen[str]]:
    """Run the demo at twenty times its speed; its runs and its state go into *folder*."""
    names = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    environment = {name: text for name, text in os.environ.items() if name not in names}
    if platform:
        environment["QT_QPA_PLATFORM"] = platform
    command = [sys.executable, "-m", "monitor.cli", "demo", "--speed", "20"]
    where = ["--run-dir", str(folder / "runs"), "--state-dir", str(folder / "state")]
    process = subprocess.Popen(
        [*command, *where, *options],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        yield process
    finally:
        if process.poll() is None:
            children = psutil.Process(process.pid).children(recursive=True)
            process.kill()
            for row in children:
                row.kill()
        process.communicate()


def state_of_run(folder: Path) -> str:
    """Say how the only run stands."""
    rows = list_runs(folder / "runs")
    return rows[0].state if len(rows) == 1 else f"{len(rows)} runs"


def child(process: subprocess.Popen[str], word: str) -> psutil.Process | None:
    """Find the child process with *word* in its command."""
    found = [
        row
        for row in psutil.Process(process.pid).children()
        if row.is_running() and word in row.cmdline()
    ]
    return found[0] if found else None


def journal(folder: Path) -> str:
    """Give the text of the only journal; empty before there is one."""
    found = list((folder / "runs").glob("*/journal.jsonl"))
    return found[0].read_text(encoding="utf-8") if found else ""


def test_headless_it_ends_by_itself_with_a_closed_run_that_replays_equal(
    tmp_path: Path,
) -> None:
    with demo(tmp_path, "--headless", "--for", "5") as process:
        said, _ = process.communicate(timeout=SOON_S)

    assert process.returncode == 0, said
    assert state_of_run(tmp_path) == "closed"
    assert "all 4 links up" in said
    assert "by demo script" in said
    assert "NO WORD FROM THE WATCH" not in said
    assert replay_run(list_runs(tmp_path / "runs")[0].folder).verdict == "equal"


def test_without_a_screen_it_says_so_and_is_headless(tmp_path: Path) -> None:
    with demo(tmp_path, "--for", "1") as process:
        said, _ = process.communicate(timeout=SOON_S)

    assert said.startswith("no screen found: running headless")
    assert process.returncode == 0


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_closes_the_run_and_leaves_no_process(
    number: signal.Signals, tmp_path: Path
) -> None:
    with demo(tmp_path, "--headless") as process:
        assert soon(lambda: "link.up" in journal(tmp_path))
        children = psutil.Process(process.pid).children(recursive=True)
        process.send_signal(number)
        said, _ = process.communicate(timeout=SOON_S)

    assert process.returncode == 0, said
    assert state_of_run(tmp_path) == "closed"
    assert [row for row in children if row.is_running()] == []


def test_a_window_that_is_killed_ends_nothing_and_one_that_is_closed_ends_the_demo(
    tmp_path: Path,
) -> None:
    with demo(tmp_path, platform="offscreen") as process:
        assert soon(lambda: child(process, "display") is not None)
        window = child(process, "display")
        assert window is not None
        window.kill()
        lines = journal(tmp_path).count("\n")

        assert soon(lambda: journal(tmp_path).count("\n") > lines)
        assert process.poll() is None

    with demo(tmp_path / "second", platform="offscreen") as process:
        assert soon(lambda: child(process, "display") is not None)
        window = child(process, "display")
        assert window is not None
        assert soon(lambda: bool(window.net_connections(kind="inet")))
        # It connects a moment before it listens to signals.
        time.sleep(0.5)
        window.terminate()
        said, _ = process.communicate(timeout=SOON_S)

    assert process.returncode == 0, said
    assert state_of_run(tmp_path / "second") == "closed"


def test_a_rig_that_dies_is_told_and_the_run_is_closed(tmp_path: Path) -> None:
    with demo(tmp_path, "--headless") as process:
        assert soon(lambda: "link.up" in journal(tmp_path))
        rig = child(process, "drivers.virtual")
        assert rig is not None
        rig.kill()
        said, _ = process.communicate(timeout=SOON_S)

    assert process.returncode == 1
    assert "the virtual rig ended with exit code -9" in said
    assert state_of_run(tmp_path) == "closed"
