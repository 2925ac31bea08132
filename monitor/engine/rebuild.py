"""Summary and tables of a closed run, made by a process that steps back for all others."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import subprocess
import sys
from pathlib import Path

_logger = logging.getLogger(__name__)

_LOOK_S = 0.05


async def rebuild(folder: Path, hurry: asyncio.Event) -> None:
    """Have everything made that can be made from the log of a run.

    Args:
        folder: The run's folder.
        hurry: When set, the process is left to itself and goes on alone.
    """
    process = _started(folder)
    while process.poll() is None:
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(hurry.wait(), _LOOK_S)
            return
    if process.returncode:
        _logger.error(
            "%s: summary and tables could not be made (exit code %d); the log is whole, "
            "'standwatch replay' tells more",
            folder,
            process.returncode,
        )


def _started(folder: Path) -> subprocess.Popen[bytes]:
    """Start the process, which lowers its own priority; Ctrl-C does not reach its session."""
    return subprocess.Popen(
        [sys.executable, "-m", "monitor.replay", "--rebuild", str(folder)],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        start_new_session=True,
    )
