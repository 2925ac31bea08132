"""Tests for monitor.engine.rebuild.

Source: hand-worked here. The processes are real.
"""

from __future__ import annotations

import asyncio
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest

from monitor.engine import rebuild as module
from monitor.engine.rebuild import rebuild
from monitor.events import Control, Event, HostEvent
from monitor.pipeline import Pipeline
from monitor.record.frame import Frame
from monitor.record.writer import RunStart, RunWriter
from tests.monitor.engine.bench_stand import SECOND_NS, stand

STAND_TEXT = """
[stand]
name = "bench"
title = "Bench"

[instruments.panel]
kind = "serial_lines"
port = "/dev/null"
fields = ["a"]

[channels.PT-1]
title = "One"
unit = "bar"
source = "panel.a"
span = [0, 100]

[[phases]]
name = "ground"
title = "Ground"
note = ""
"""


async def test_a_closed_run_gets_its_summary(tmp_path: Path) -> None:
    state = Pipeline(stand().plan, SECOND_NS).save()
    writer = RunWriter.create(tmp_path, RunStart("bench", STAND_TEXT, SECOND_NS, state))
    closed = Control(2 * SECOND_NS, 1, HostEvent("run_closed"))
    event = Event(2 * SECOND_NS, "run.closed", "")
    writer.write([Frame(1, 2 * SECOND_NS, (), (closed,), 0, "")], [event])
    writer.close({"closed": True})
    before = msgspec.json.decode((writer.folder / "summary.json").read_bytes())

    await asyncio.wait_for(rebuild(writer.folder, asyncio.Event()), 30)

    after = msgspec.json.decode((writer.folder / "summary.json").read_bytes())
    assert after["closed"] is True
    assert len(after) > len(before)


async def test_a_failure_is_logged_with_the_folder(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    await asyncio.wait_for(rebuild(tmp_path / "no run", asyncio.Event()), 30)

    assert "no run: summary and tables could not be made (exit code 1)" in caplog.text
    assert "no run" in capfd.readouterr().err


def sleeper() -> subprocess.Popen[bytes]:
    return subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"])


async def test_in_a_hurry_it_is_left_to_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow = sleeper()
    monkeypatch.setattr(module, "_started", lambda _: slow)
    hurry = asyncio.Event()
    asyncio.get_running_loop().call_later(0.1, hurry.set)

    try:
        await asyncio.wait_for(rebuild(tmp_path, hurry), 5)

        assert slow.poll() is None
    finally:
        slow.kill()
        slow.wait()
