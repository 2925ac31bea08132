"""Tests for monitor.engine.backfill.

Source: hand-worked here.
"""

from __future__ import annotations

import asyncio
from pathlib import Path

import numpy as np
import pytest

from drivers.reading import Block
from monitor.engine import backfill as module
from monitor.engine.backfill import backfill
from monitor.engine.history import History
from monitor.engine.rows import Rows
from monitor.pipeline import Pipeline
from monitor.record.frame import Frame
from monitor.record.input_log import log_files
from monitor.record.writer import RunStart, RunWriter
from monitor.samples import Admitted
from tests.monitor.engine.bench_stand import SECOND_NS, stand

STAND = stand()
START_NS = 1_000 * SECOND_NS
COLUMNS = np.array([0, 1])


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two minutes at 10 Hz of a ramp of one a second, in a log."""
    pipeline = Pipeline(STAND.plan, START_NS)
    start = RunStart(STAND.name, STAND.text, START_NS, pipeline.save())
    writer = RunWriter.create(tmp_path, start)
    for second in range(120):
        t_ns = START_NS + second * SECOND_NS + np.arange(1, 11) * (SECOND_NS // 10)
        value = (t_ns - START_NS) / SECOND_NS
        admitted = (Admitted(Block("panel", ("a", "b"), t_ns, np.stack((value, value), 1))),)
        writer.write([Frame(second + 1, int(t_ns[-1]), admitted, (), 0, "")])
    writer.abandon()
    return writer.folder


def newer(seconds: int) -> Rows:
    """Give a row from after the restart."""
    t_ns = np.array([START_NS + seconds * SECOND_NS])
    quality = np.zeros(1, np.uint8)
    return Rows(np.array([0]), np.array([0, 1]), t_ns, np.array([float(seconds)]), quality)


async def test_the_older_part_comes_back_behind_what_is_new(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "_REST", 0.0)
    history = History(2, START_NS)
    history.push(newer(130))

    await backfill(folder, STAND.plan, log_files(folder), COLUMNS, history)

    t_ns, value = history.answer(0, START_NS, START_NS + 200 * SECOND_NS, 5_000)
    assert (value[0], value[-1]) == (pytest.approx(0.1), 130.0)
    assert np.all(np.diff(t_ns) > 0)
    assert np.abs(value - (t_ns - START_NS) / SECOND_NS).max() <= 0.1
    other = history.answer(1, START_NS, START_NS + 200 * SECOND_NS, 5_000)[1]
    assert other.max() == pytest.approx(2 * 120 + 1)


async def test_it_leaves_most_of_the_time_to_the_watch(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "_CELLS", 100)
    history = History(2, START_NS)
    loop = asyncio.get_running_loop()
    task = asyncio.create_task(
        backfill(folder, STAND.plan, log_files(folder), COLUMNS, history), name="older part"
    )
    turns = 0
    began_s = loop.time()
    while not task.done():
        turns += 1
        await asyncio.sleep(0.001)
    task.result()

    # With the pipeline at work all the time there would be a turn for each of its 24 steps.
    assert turns > 40
    assert loop.time() - began_s < 5


async def test_without_older_files_there_is_nothing_to_do(tmp_path: Path) -> None:
    history = History(2, START_NS)
    await backfill(tmp_path, STAND.plan, [], COLUMNS, history)

    assert history.answer(0, 0, START_NS, 10)[0].tolist() == []
