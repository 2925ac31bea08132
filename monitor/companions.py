"""The processes beside the engine: its screen, and for the demo the virtual rig."""

from __future__ import annotations

import asyncio
import contextlib
import os
import sys
from asyncio.subprocess import DEVNULL, Process
from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path

from monitor.client import find_watch
from monitor.errors import LinkError
from monitor.link.endpoint import Endpoint

#: How long a process may take to end when asked, in seconds.
PATIENCE_S = 4.0
#: How long an engine may take until it says where it listens, in seconds.
START_S = 30.0
#: How often to look for that, in seconds.
LOOK_S = 0.05


class View(StrEnum):
    """How a watch is shown."""

    WINDOW = "window"
    #: A table or plain lines in this terminal.
    TERMINAL = "terminal"
    NONE = "none"


def has_screen(environment: Mapping[str, str], platform: str) -> bool:
    """Whether a window could be opened.

    Args:
        environment: Environment variables.
        platform: ``sys.platform``; only on Unix a screen is named by a variable.
    """
    if platform in ("darwin", "win32"):
        return True
    names = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    return any(environment.get(name) for name in names)


def view_command(view: View, state_dir: Path) -> list[str]:
    """Give the command that shows the watch of *state_dir*."""
    command = [sys.executable, "-m", "monitor.cli", "display", "--state-dir", str(state_dir)]
    return [*command, "--headless", "--with-parent"] if view is View.TERMINAL else command


async def start_view(view: View, state_dir: Path) -> Process:
    """Start the screen of the watch that runs in this process.

    It has a session of its own, so that Ctrl-C reaches the engine alone, which then closes
    its run and ends the screen last.
    """
    return await asyncio.create_subprocess_exec(
        *view_command(view, state_dir), stdin=DEVNULL, start_new_session=True
    )


async def end(process: Process) -> int:
    """Let a process end by itself, else ask it, else force it; give its exit code."""
    for ask in (None, process.terminate, process.kill):
        if ask is not None:
            with contextlib.suppress(ProcessLookupError):
                ask()
        try:
            async with asyncio.timeout(PATIENCE_S):
                return await process.wait()
        except TimeoutError:
            continue
    return await process.wait()


async def engine_listens(state_dir: Path) -> Endpoint:
    """Wait until the engine of this process says where it listens; tell where.

    Raises:
        LinkError: It takes too long.
    """
    for _ in range(round(START_S / LOOK_S)):
        endpoint = listens_here(state_dir)
        if endpoint is not None:
            return endpoint
        await asyncio.sleep(LOOK_S)
    raise LinkError(f"the engine did not say within {START_S:g} s where it listens")


def listens_here(state_dir: Path) -> Endpoint | None:
    """Give the address in *state_dir* if it is this process's, not one of another watch."""
    try:
        endpoint = find_watch(state_dir)
    except LinkError:
        return None
    return endpoint if endpoint.pid == os.getpid() else None
