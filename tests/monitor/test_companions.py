"""Tests for monitor.companions.

Source: hand-worked here.
"""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from monitor import companions
from monitor.companions import View, end, engine_listens, has_screen, view_command
from monitor.errors import LinkError
from monitor.link.endpoint import ENDPOINT_FILE, Endpoint, encode_endpoint

OBEDIENT = "import time; print('up', flush=True); time.sleep(60)"
STUBBORN = f"import signal; signal.signal(signal.SIGTERM, signal.SIG_IGN); {OBEDIENT}"


@asynccontextmanager
async def child(script: str) -> AsyncIterator[asyncio.subprocess.Process]:
    """Start a Python script and wait for its first word."""
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-c", script, stdout=asyncio.subprocess.PIPE
    )
    assert process.stdout is not None
    await process.stdout.readline()
    yield process


@pytest.fixture(autouse=True)
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Do not wait long."""
    monkeypatch.setattr(companions, "PATIENCE_S", 0.1)
    monkeypatch.setattr(companions, "START_S", 0.2)


@pytest.mark.parametrize(
    ("environment", "platform", "expected"),
    [
        ({}, "linux", False),
        ({"DISPLAY": ""}, "linux", False),
        ({"DISPLAY": ":0"}, "linux", True),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux", True),
        ({"QT_QPA_PLATFORM": "offscreen"}, "linux", True),
        ({}, "darwin", True),
        ({}, "win32", True),
    ],
)
def test_a_screen_is_where_a_variable_names_one(
    environment: dict[str, str], platform: str, expected: bool
) -> None:
    assert has_screen(environment, platform) is expected


def test_the_terminal_view_ends_with_its_parent_and_the_window_does_not(tmp_path: Path) -> None:
    window = view_command(View.WINDOW, tmp_path)
    table = view_command(View.TERMINAL, tmp_path)

    assert window[-3:] == ["display", "--state-dir", str(tmp_path)]
    assert table == [*window, "--headless", "--with-parent"]


async def test_a_process_that_ends_by_itself_is_not_asked() -> None:
    async with child("print('up', flush=True); raise SystemExit(7)") as process:
        assert await end(process) == 7


async def test_a_process_that_stays_is_asked_to_end() -> None:
    async with child(OBEDIENT) as process:
        assert await end(process) == -signal.SIGTERM


async def test_a_process_that_does_not_listen_is_forced() -> None:
    async with child(STUBBORN) as process:
        assert await end(process) == -signal.SIGKILL


def say(folder: Path, pid: int) -> None:
    """Say where an engine of process *pid* listens."""
    endpoint = Endpoint("ws://127.0.0.1:9", "secret", pid, "run", "bench", 0)
    (folder / ENDPOINT_FILE).write_bytes(encode_endpoint(endpoint))


async def test_an_engine_of_this_process_is_waited_for(tmp_path: Path) -> None:
    asyncio.get_running_loop().call_later(0.06, say, tmp_path, os.getpid())
    waiting = asyncio.create_task(engine_listens(tmp_path))
    await asyncio.sleep(0.03)

    assert not waiting.done()
    assert (await waiting).pid == os.getpid()


async def test_the_address_of_another_process_is_not_taken_for_ours(tmp_path: Path) -> None:
    say(tmp_path, os.getppid())

    with pytest.raises(LinkError, match="did not say within"):
        await engine_listens(tmp_path)
