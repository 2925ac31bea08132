"""Tests for an engine whose disk is full for a while.

Source: hand-worked here. The disk is a real one of 2 MB in memory, where one can be mounted.
"""

from __future__ import annotations

import contextlib
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.record.journal import verify
from monitor.record.run_folder import list_runs
from monitor.replay.compare import replay_run
from tests.end_to_end.engine_process import Counting, Told, Wire, engine

STAND = """
[stand]
name = "bench"
title = "Bench"
lag_s = 0.05

[instruments.panel]
kind = "serial_lines"
port = "@PORT@"
fields = ["number", "half"]

[channels.NT-1]
title = "Number"
unit = "count"
source = "panel.number"
span = [0, 100000]

[[phases]]
name = "ground"
title = "Ground"
note = ""
"""


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """Give a disk that can be filled."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=10m", "tmpfs", str(folder)]
    with contextlib.suppress(FileNotFoundError):
        if subprocess.run(mount, capture_output=True, check=False).returncode == 0:
            yield folder
            subprocess.run(["umount", "-l", str(folder)], check=True)
            return
    pytest.skip("no disk can be mounted here")


def fill(folder: Path) -> Path:
    """Fill a disk to the last byte; give what fills it."""
    ballast = folder / "ballast"
    with ballast.open("ab", buffering=0) as file:
        for size in (65536, 512, 1):
            with contextlib.suppress(OSError):
                while True:
                    file.write(bytes(size))
    return ballast


async def test_a_full_disk_is_an_alarm_and_recording_goes_on_when_there_is_room(
    tmp_path: Path, disk: Path
) -> None:
    wire = Wire(tmp_path / "port")
    stand_file = tmp_path / "bench.toml"
    stand_file.write_text(STAND.replace("@PORT@", str(wire.path)), encoding="utf-8")
    with Counting(wire.send) as panel, engine(stand_file, disk) as watched:
        async with watched.client() as client, Told(client) as told:
            await told.until(lambda: (told.newest[0] or 0) > 10)
            ballast = fill(disk)
            stopped = await told.event("recording.stopped")
            await told.event("alarm.raised", "host:recording.high")
            at_the_stop = len(panel.sent)
            await told.until(lambda: (told.newest[0] or 0) > at_the_stop + 50)
            ballast.unlink()
            await told.event("recording.resumed")
            await told.event("alarm.cleared", "host:recording.high")
        assert watched.close() == 0
    wire.close()
    run = list_runs(watched.run_dir)[0]

    assert "No space left" in str(stopped.fields["detail"])
    assert run.state == "closed"
    assert verify(run.folder / "journal.jsonl").broken_line == 0
    assert replay_run(run.folder).verdict == "equal"
