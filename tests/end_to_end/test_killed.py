"""Tests for an engine and its displays that are killed at random moments.

Source: what was sent is remembered with its time by the instrument of the test; the moments
come from the seed in the test's name.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from random import Random

import numpy as np
import pytest

from monitor.record.frame import Frame
from monitor.record.journal import verify
from monitor.record.log_reader import MissingSteps, read_log
from monitor.record.run_folder import list_runs
from monitor.replay.compare import replay_run
from tests.end_to_end.engine_process import (
    ROOT,
    Counting,
    EngineProcess,
    Told,
    Wire,
    engine,
    past_of,
)

SECOND_NS = 1_000_000_000
#: The promise: at most so much of what had come is missing after a kill, in seconds.
MOST_MISSING_S = 1.0

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
stale_after_s = 0.5
span = [0, 100000]
[channels.NT-1.limits.high]
setpoint = 30
priority = "high"
message = "More than thirty"
response = "Count on"

[channels.NT-2]
title = "Half"
unit = "count"
source = "panel.half"
span = [0, 100000]

[[phases]]
name = "ground"
title = "Ground"
note = ""
"""

#: A display that does nothing but take what it is told, until it is killed.
DISPLAY = """
import asyncio, sys
from pathlib import Path
from monitor.client import find_watch, opened

async def main():
    async with opened(find_watch(Path(sys.argv[1])), "to be killed") as client:
        async for news in client.news():
            print("told", flush=True)

asyncio.run(main())
"""


@pytest.fixture
def wire(tmp_path: Path) -> Iterator[Wire]:
    made = Wire(tmp_path / "port")
    yield made
    made.close()


@pytest.fixture
def stand_file(tmp_path: Path, wire: Wire) -> Path:
    path = tmp_path / "bench.toml"
    path.write_text(STAND.replace("@PORT@", str(wire.path)), encoding="utf-8")
    return path


@pytest.fixture
def panel(wire: Wire) -> Iterator[Counting]:
    """An instrument that counts at 100 Hz, whether anybody listens or not."""
    with Counting(wire.send) as made:
        yield made


def recorded(folder: Path) -> tuple[list[int], list[int]]:
    """Give the numbers on disk and their times, in the order of the record."""
    items = list(read_log(folder))
    assert not any(isinstance(item, MissingSteps) for item in items)
    blocks = [part.block for item in items if isinstance(item, Frame) for part in item.admitted]
    values = [int(row[0]) for block in blocks for row in block.values]
    halves = [float(row[1]) for block in blocks for row in block.values]
    assert halves == [value * 0.5 for value in values]
    return values, [int(t) for block in blocks for t in block.t_ns]


def check_record(folder: Path, panel: Counting) -> int:
    """Check that a run holds nothing but what was sent; give when the last of it was sent."""
    numbers, times = recorded(folder)
    sent = np.array(panel.sent)
    assert numbers == sorted(set(numbers))
    assert max(numbers, default=0) < len(sent)
    assert times == sorted(times)
    # A number is stamped when it arrives: after it was sent, and soon.
    delays_s = (np.array(times) - sent[numbers]) / SECOND_NS
    assert delays_s.min(initial=0.0) > -0.05
    return int(sent[numbers[-1]]) if numbers else 0


def lives(watched: EngineProcess, for_s: float) -> int:
    """Let an engine that listens live for a while, kill it; give the time of the kill."""
    watched.wait_until_it_listens()
    time.sleep(for_s)
    watched.kill()
    return time.time_ns()


def kill_again_and_again(
    stand_file: Path, folder: Path, panel: Counting, kills: int, random: Random
) -> float:
    """Kill an engine at random moments; check its run each time and go on with it.

    Returns:
        The most that was missing on the disk after a kill, in seconds.
    """
    short, most_s = 0, 0.0
    with engine(stand_file, folder) as watched:
        for kill in range(kills):
            if kill:
                watched.start()
            # Some of the kills come before anything new is on the disk.
            lived_s = random.uniform(0.0, 2.4)
            short += lived_s < 0.5
            killed_ns = lives(watched, lived_s)
            rows = list_runs(watched.run_dir)
            assert [row.state for row in rows] == ["open"]
            assert verify(rows[0].folder / "journal.jsonl").broken_line == 0
            last_ns = check_record(rows[0].folder, panel)
            if lived_s > MOST_MISSING_S + 0.2:
                most_s = max(most_s, (killed_ns - last_ns) / SECOND_NS)
            replayed = replay_run(rows[0].folder)
            assert replayed.verdict in ("equal", "behind")
        watched.start()
        watched.wait_until_it_listens()
        assert watched.close() == 0

    run = list_runs(watched.run_dir)[0]
    replayed = replay_run(run.folder)
    assert run.state == "closed"
    assert (replayed.verdict, replayed.problems) == ("equal", ())
    # Who lives shortly may leave no trace.
    assert kills - short <= resumed(run.folder) <= kills
    print(f"most missing after a kill: {most_s:.2f} s")
    return most_s


def resumed(folder: Path) -> int:
    """Count how often a run was gone on with."""
    return (folder / "journal.jsonl").read_bytes().count(b'"kind":"run.resumed"')


@pytest.mark.parametrize("seed", [20261124])
def test_an_engine_killed_at_random_moments_loses_a_second_at_most(
    stand_file: Path, tmp_path: Path, panel: Counting, seed: int
) -> None:
    most_s = kill_again_and_again(stand_file, tmp_path, panel, 5, Random(seed))

    assert most_s <= MOST_MISSING_S


@pytest.mark.soak
@pytest.mark.timeout(900)
@pytest.mark.parametrize("seed", [1])
def test_fifty_kills_at_random_moments(
    stand_file: Path, tmp_path: Path, panel: Counting, seed: int
) -> None:
    most_s = kill_again_and_again(stand_file, tmp_path, panel, 50, Random(seed))

    assert most_s <= MOST_MISSING_S


def display_of(watched: EngineProcess) -> subprocess.Popen[bytes]:
    """Give a display that has been told something."""
    display = subprocess.Popen(
        [sys.executable, "-c", DISPLAY, str(watched.state_dir)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
    )
    assert display.stdout is not None
    assert display.stdout.readline() == b"told\n"
    return display


def end(display: subprocess.Popen[bytes]) -> None:
    """Have a display gone, without a goodbye."""
    display.kill()
    display.wait()
    assert display.stdout is not None
    display.stdout.close()


async def test_after_a_kill_the_alarm_stands_as_it_stood(
    stand_file: Path, tmp_path: Path, panel: Counting
) -> None:
    with engine(stand_file, tmp_path) as watched:
        async with watched.client() as client, Told(client) as told:
            raised = await told.event("alarm.raised", "NT-1.high")
            # Long enough for the frame with it to be on the disk.
            await told.until(lambda: len(panel.sent) > 130)
        watched.kill()
        at_the_kill = len(panel.sent)
        watched.start()
        async with watched.client() as client:
            before = client.first
            async with Told(client) as told:
                gap = await told.event("run.resumed")
                await told.until(lambda: (told.newest[0] or 0) > at_the_kill)
        past = await past_of(watched, 0)
        assert watched.close() == 0

    high = next(alarm for alarm in before.alarms if alarm.id == "NT-1.high")
    assert high.is_active
    assert not high.is_acknowledged
    assert raised in before.events
    assert high.onset_ns == raised.fields.get("onset_ns", high.onset_ns)
    gap_ns = gap.fields["gap_ns"]
    assert isinstance(gap_ns, int)
    assert 0 < gap_ns < 20 * SECOND_NS
    # A fresh display is shown the run from before the kill, and what has come since.
    assert np.nanmin(past) < at_the_kill < np.nanmax(past)


async def test_a_display_that_is_killed_is_not_noticed(
    stand_file: Path, tmp_path: Path, panel: Counting
) -> None:
    with engine(stand_file, tmp_path) as watched:
        async with watched.client() as client, Told(client) as told:
            display = display_of(watched)
            end(display)
            at_the_kill = len(panel.sent)
            await told.event("alarm.raised", "NT-1.high")
            await told.until(lambda: (told.newest[0] or 0) > at_the_kill + 50)
        async with watched.client() as client:
            events = client.first.events
        assert watched.close() == 0

    assert "alarm.raised" in [event.kind for event in events]
    numbers, _ = recorded(list_runs(watched.run_dir)[0].folder)
    assert np.diff(numbers).max() == 1


async def test_a_display_that_stops_reading_is_not_waited_for(
    stand_file: Path, tmp_path: Path, panel: Counting
) -> None:
    with engine(stand_file, tmp_path) as watched:
        async with watched.client() as client, Told(client) as told:
            display = display_of(watched)
            display.send_signal(signal.SIGSTOP)
            at_the_stop = len(panel.sent)
            await told.until(lambda: (told.newest[0] or 0) > at_the_stop + 100)
            end(display)
        assert watched.close() == 0
