"""Brings the older part of a run that is gone on with back into the charts, bit by bit."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from pathlib import Path

from monitor.engine.history import History
from monitor.engine.restore import Replay
from monitor.engine.rows import rows_of
from monitor.pipeline import Plan
from monitor.samples import Ints

#: Numbers in one step: some ms of work, which is what an alarm may have to wait for.
_CELLS = 4_000
#: Rest after each step, as a multiple of what it took.
_REST = 4.0


async def backfill(
    folder: Path, plan: Plan, files: Sequence[Path], columns: Ints, history: History
) -> None:
    """Run old files of a log through a pipeline of their own, a little at a time.

    Args:
        folder: The run's folder.
        plan: The stand's plan.
        files: The oldest files of its log, up to where the watch went on.
        columns: Column of each channel that people see.
        history: Takes the rows.

    Raises:
        RecordError: A file cannot be read.
    """
    if not files:
        return
    loop = asyncio.get_running_loop()
    began_s = loop.time()
    for step in Replay(folder, plan, files, _CELLS).steps():
        history.push_older(rows_of(step.grid, columns))
        await asyncio.sleep(_REST * (loop.time() - began_s))
        began_s = loop.time()
