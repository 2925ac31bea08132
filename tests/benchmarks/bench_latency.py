"""Alarm latency: from a byte written to a terminal to the alarm at a client of the link.

A hundred channels at 10 Hz come as text lines over a pseudo-terminal; each line makes one alarm
event. Engine, instrument, client and display are processes of their own. The limit beside our
figures is a bare relay: the same bytes from the same kind of terminal, by a reading thread, to
the same kind of WebSocket, and nothing in between.
"""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from websockets.asyncio.client import ClientConnection, connect

from monitor.client import Client, find_watch, opened
from tests.benchmarks.row import Row
from tests.end_to_end.engine_process import ROOT, EngineProcess, Wire, engine

CHANNELS = 100
CHARTS = 16
RATE_HZ = 10.0
#: Lines that are sent before anything is measured.
WARM_UP = 20
#: Lines that may make no alarm: the first one may be the end of a line, and what comes too
#: late on a busy machine is not evaluated.
MOST_LOST = 5

_HEAD = """
[stand]
name = "latency"
title = "Latency"
lag_s = 0

[instruments.panel]
kind = "serial_lines"
port = "{port}"
fields = [{fields}]

[[phases]]
name = "ground"
title = "Ground"
note = ""
"""
_CHANNEL = """
[channels.PT-{n}]
title = "Pressure {n}"
unit = "bar"
source = "panel.s{n}"
span = [0, 100]
[channels.PT-{n}.limits.high]
setpoint = 50
deadband = 2
priority = "high"
message = "High"
response = "Vent"
[channels.PT-{n}.limits.low]
setpoint = 5
priority = "high"
message = "Low"
response = "Feed"
"""
_CHART = """
[[charts]]
title = "Chart {n}"
tags = ["PT-{n}"]
"""

#: A relay without anything of ours in it.
_RELAY = """
import asyncio, os, sys, threading
from websockets.asyncio.server import serve

async def main(path):
    loop = asyncio.get_running_loop()
    fd = os.open(path, os.O_RDONLY | os.O_NOCTTY)
    lines = asyncio.Queue()

    def read():
        while data := os.read(fd, 65536):
            loop.call_soon_threadsafe(lines.put_nowait, data)

    async def tell(socket):
        while True:
            await socket.send(await lines.get())

    async with serve(tell, "127.0.0.1", 0, compression=None) as server:
        print(next(iter(server.sockets)).getsockname()[1], flush=True)
        threading.Thread(target=read, daemon=True).start()
        await asyncio.Event().wait()

asyncio.run(main(sys.argv[1]))
"""


def run(quick: bool) -> list[Row]:
    """Measure; in quick mode only long enough to see that every line becomes an alarm."""
    lines = 30 if quick else 600
    bare = asyncio.run(_relay(lines))
    alone = asyncio.run(_engine(lines, with_display=False))
    beside = asyncio.run(_engine(lines, with_display=True))
    note = f"{lines} alarms, {CHANNELS} channels at {RATE_HZ:g} Hz"
    return [
        _row("alarm latency, engine alone: p50", alone, bare, 50, "<= 4", note),
        _row("alarm latency, engine alone: p99", alone, bare, 99, "<= 4", note),
        _row("alarm latency, display painting: p50", beside, alone, 50, "<= 2", note),
        _row("alarm latency, display painting: p99", beside, alone, 99, "<= 2", note),
    ]


def _row(
    name: str, ours: list[float], limit: list[float], percent: int, aim: str, note: str
) -> Row:
    """Compare a percentile of two sets of times in seconds."""
    mine, theirs = (1e3 * float(np.percentile(times, percent)) for times in (ours, limit))
    return Row(name, f"{mine:.2f} ms", f"{theirs:.2f} ms", mine / theirs, aim, note)


class Beating:
    """An instrument whose first number crosses its limit with each line."""

    def __init__(self, wire: Wire, lines: int) -> None:
        """Send nothing yet."""
        self._wire = wire
        self._lines = lines
        self._sent_s = 0.0
        self._thread = threading.Thread(target=self._run, name="beating instrument")

    @contextmanager
    def sending(self) -> Iterator[None]:
        """Send while the caller listens."""
        self._thread.start()
        try:
            yield
        finally:
            self._thread.join()

    @property
    def is_sending(self) -> bool:
        """Whether lines are still sent, or the last one's alarm may be under way."""
        return self._thread.is_alive()

    def since_last(self) -> float:
        """Give the time since the newest line was written, in seconds.

        Lines are a hundred times further apart than what is measured.
        """
        return time.perf_counter() - self._sent_s

    def _run(self) -> None:
        random = np.random.default_rng(1)
        for number in range(self._lines):
            time.sleep(1 / RATE_HZ)
            rest = ",".join(f"{value:.2f}" for value in 20 + random.normal(size=CHANNELS - 1))
            line = f"{90 if number % 2 else 10},{rest}\n".encode()
            self._sent_s = time.perf_counter()
            self._wire.send(line)
        time.sleep(1.0)


async def _relay(lines: int) -> list[float]:
    """Give the latencies of the bare relay, in seconds."""
    with _bench() as (_, wire):
        process = _started([sys.executable, "-c", _RELAY, str(wire.path)])
        try:
            assert process.stdout is not None
            port = int(process.stdout.readline())
            async with connect(f"ws://127.0.0.1:{port}", compression=None) as socket:
                return await _heard_of_relay(socket, wire, lines)
        finally:
            _ended(process)


async def _heard_of_relay(socket: ClientConnection, wire: Wire, lines: int) -> list[float]:
    """Listen to the relay."""
    latencies: list[float] = []
    beating = Beating(wire, lines)
    with beating.sending():
        while len(latencies) < lines:
            data = await socket.recv()
            assert isinstance(data, bytes)
            latencies += [beating.since_last()] * data.count(b"\n")
    return latencies[WARM_UP:]


async def _engine(lines: int, *, with_display: bool) -> list[float]:
    """Give the latencies of the engine, in seconds."""
    with _bench() as (folder, wire), engine(_stand_file(folder, wire.path), folder) as watched:
        watched.wait_until_it_listens()
        display = _display(watched) if with_display else None
        try:
            async with opened(find_watch(watched.state_dir), "bench") as client:
                latencies = await _heard_of_engine(client, wire, lines, 2 if display else 1)
        finally:
            if display is not None:
                _ended(display)
        assert watched.close() == 0
    return latencies


async def _heard_of_engine(
    client: Client, wire: Wire, lines: int, displays: int
) -> list[float]:
    """Listen to the engine; each line must be an alarm raised or cleared."""
    latencies: list[float] = []
    beating = Beating(wire, lines)
    news = client.news()
    is_up = client.first.links[0].is_up
    async for said in news:
        is_up |= any(link.is_up for link in said.links)
        if is_up and said.health and said.health["displays"] >= displays:
            break
    with beating.sending():
        while beating.is_sending:
            said = await anext(news)
            kinds = [event.kind for event in said.events if event.subject == "PT-0.high"]
            assert set(kinds) <= {"alarm.raised", "alarm.cleared"}
            latencies += [beating.since_last() for _ in kinds]
    assert len(latencies) >= lines - MOST_LOST
    return latencies[WARM_UP:]


def _display(watched: EngineProcess) -> subprocess.Popen[bytes]:
    """Open a display that paints without a screen."""
    command = [sys.executable, "-m", "monitor.cli", "display"]
    return _started([*command, "--state-dir", str(watched.state_dir)])


def _started(command: list[str]) -> subprocess.Popen[bytes]:
    """Start a process that is ended by :func:`_ended`."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "QT_QPA_PLATFORM": "offscreen"}
    return subprocess.Popen(command, env=environment, stdout=subprocess.PIPE)


def _ended(process: subprocess.Popen[bytes]) -> None:
    """Have a process gone."""
    process.kill()
    process.wait()
    assert process.stdout is not None
    process.stdout.close()


@contextmanager
def _bench() -> Iterator[tuple[Path, Wire]]:
    """Give a folder and a wire."""
    with tempfile.TemporaryDirectory() as name:
        wire = Wire(Path(name) / "port")
        try:
            yield Path(name), wire
        finally:
            wire.close()


def _stand_file(folder: Path, port: Path) -> Path:
    """Write the stand."""
    fields = ", ".join(f'"s{n}"' for n in range(CHANNELS))
    text = _HEAD.format(port=port, fields=fields)
    text += "".join(_CHANNEL.format(n=n) for n in range(CHANNELS))
    text += "".join(_CHART.format(n=n) for n in range(CHARTS))
    path = folder / "latency.toml"
    path.write_text(text, encoding="utf-8")
    return path
