"""How fast lines and messages come in, beside the least that has to be done with them."""

from __future__ import annotations

import asyncio
import subprocess
import sys
import tempfile
import time
from collections.abc import Awaitable, Callable
from pathlib import Path
from random import Random

import aiomqtt
import msgspec

from drivers.instruments.mqtt import Mqtt
from drivers.instruments.mqtt_settings import MqttSettings
from drivers.instruments.serial_lines import (
    SerialLines,
    SerialLinesCore,
    SerialLinesSettings,
)
from drivers.reading import Block, Instrument
from tests.benchmarks.row import Row
from tests.peers import Mosquitto, PlainClock, PtyPort

_FIELDS = 6
#: What a terminal gives in one read.
_READ_BYTES = 4096
_REPEATS = 5

#: Forms of numbers: as JSON has them, and with a sign and leading zeros.
_FORMS = {"12.345": "{:.3f}", "+0012.345": "{:+09.3f}"}

# Writes to a terminal it inherited, as an instrument in a process of its own would.
_WRITER = """
import os, sys
data = sys.stdin.buffer.read()
while data:
    data = data[os.write(int(sys.argv[1]), data):]
"""


class _Counting:
    """A sink that adds up, and keeps when the first and the last row came."""

    def __init__(self, rows: int) -> None:
        self._awaited = rows
        self.rows = 0
        self.total = 0.0
        self.counts: dict[str, int] = {}
        self.first_s = self.last_s = 0.0
        self.opened_event = asyncio.Event()
        self.done = asyncio.Event()

    def take(self, block: Block) -> None:
        """Add up a block."""
        self.last_s = time.perf_counter()
        self.first_s = self.first_s or self.last_s
        self.rows += len(block.t_ns)
        self.total += float(block.values[:, 0].sum())
        if self.rows >= self._awaited:
            self.done.set()

    def opened(self, why: str) -> None:
        """Note that the link is open."""
        self.opened_event.set()

    def count(self, what: str, number: int = 1, example: str = "") -> None:
        """Note what was not good: the benchmark checks that there is none."""
        self.counts[what] = self.counts.get(what, 0) + number


def _lines(number: int, form: str) -> list[bytes]:
    """Make lines of six numbers."""
    random = Random(1)
    return [
        ",".join(form.format(random.uniform(-20, 250)) for _ in range(_FIELDS)).encode()
        for _ in range(number)
    ]


def _settings(port: str) -> SerialLinesSettings:
    """Make settings for such lines."""
    fields = tuple(f"s{place}" for place in range(_FIELDS))
    return SerialLinesSettings(port=port, fields=fields, baud=3_000_000)


def _parse_only(data: bytes) -> tuple[float, float]:
    """Split and read the lines and do nothing else; give time in s and a sum."""
    total = 0.0
    start = time.perf_counter()
    for line in data.split(b"\r\n"):
        if line:
            numbers = [float(piece) for piece in line.split(b",")]
            total += numbers[0]
    return time.perf_counter() - start, total


def _through_memory(data: bytes, rows: int) -> tuple[float, float]:
    """Feed the instrument's core in reads of a terminal's size."""
    core = SerialLinesCore("panel", _settings("/dev/none"))
    sink = _Counting(rows)
    core.feed(b"\r\n", 0, sink)
    sink.counts.clear()
    start = time.perf_counter()
    for place in range(0, len(data), _READ_BYTES):
        for block in core.feed(data[place : place + _READ_BYTES], 10**9 + place * 3333, sink):
            sink.take(block)
    took = time.perf_counter() - start
    assert (sink.rows, sink.counts) == (rows, {}), (sink.rows, sink.counts)
    return took, sink.total


async def _run_until_done(
    instrument: Instrument, sink: _Counting, start: Callable[[], Awaitable[object]]
) -> float:
    """Run an instrument until all has come; give the time from first to last row, in s."""
    task = asyncio.create_task(instrument.run(sink, PlainClock()))
    await sink.opened_event.wait()
    sending = asyncio.ensure_future(start())
    async with asyncio.timeout(60):
        await sink.done.wait()
    await sending
    task.cancel()
    await asyncio.wait({task})
    return sink.last_s - sink.first_s


def _through_terminal(data: bytes, rows: int) -> tuple[float, float]:
    """Send the lines through a terminal from another process."""
    with tempfile.TemporaryDirectory() as folder:
        port = PtyPort(Path(folder))
        sink = _Counting(rows)
        writer = subprocess.Popen(
            [sys.executable, "-c", _WRITER, str(port.handle)],
            stdin=subprocess.PIPE,
            pass_fds=[port.handle],
        )

        def send() -> None:
            writer.communicate(b"\r\n" + data, timeout=60)

        instrument = SerialLines("panel", _settings(str(port.path)))
        took = asyncio.run(_run_until_done(instrument, sink, lambda: asyncio.to_thread(send)))
        port.close()
    lost = sink.counts.get("bytes dropped, engine too slow", 0)
    assert (sink.rows, lost) == (rows, 0), (sink.rows, sink.counts)
    return took, sink.total


def _serial_row(
    name: str, number: int, form: str, ours: Callable[..., tuple[float, float]]
) -> Row:
    """Measure one way against reading the same lines and nothing else."""
    lines = _lines(number, form)
    data = b"\r\n".join(lines) + b"\r\n"
    least_s = ours_s = float("inf")
    for _ in range(_REPEATS):
        limit, wanted = _parse_only(data)
        took, total = ours(data, number)
        assert abs(total - wanted) < 1e-6 * number, (total, wanted)
        least_s, ours_s = min(least_s, limit), min(ours_s, took)
    return Row(
        name,
        f"{number / ours_s:,.0f} lines/s",
        f"{number / least_s:,.0f} lines/s",
        least_s / ours_s,
        ">= 0.8",
        f"limit: split and float() of the same lines, {_FIELDS} numbers each",
    )


async def _bare_loop(broker: Mosquitto, number: int) -> tuple[float, float]:
    """Receive with the library alone; give the time from first to last message and a sum."""
    total, first_s = 0.0, 0.0
    async with aiomqtt.Client("127.0.0.1", broker.port) as client:
        await client.subscribe("bench")
        sending = asyncio.ensure_future(
            asyncio.to_thread(broker.publish_lines, "bench", range(number))
        )
        left = number
        async for message in client.messages:
            first_s = first_s or time.perf_counter()
            total += float(message.payload)
            left -= 1
            if not left:
                break
        took = time.perf_counter() - first_s
        await sending
    return took, total


async def _through_instrument(broker: Mosquitto, number: int) -> tuple[float, float]:
    """Receive with the instrument."""
    entry = {
        "host": "127.0.0.1",
        "port": broker.port,
        "topics": [{"topic": "bench", "signal": "v"}],
    }
    instrument = Mqtt("node", msgspec.convert(entry, MqttSettings))
    sink = _Counting(number)
    took = await _run_until_done(
        instrument,
        sink,
        lambda: asyncio.to_thread(broker.publish_lines, "bench", range(number)),
    )
    assert (sink.rows, sink.counts) == (number, {}), (sink.rows, sink.counts)
    return took, sink.total


def _mqtt_row(number: int) -> Row:
    """Measure messages with one number each against a bare loop of the library."""
    bare_s = ours_s = float("inf")
    with tempfile.TemporaryDirectory() as folder:
        broker = Mosquitto(Path(folder))
        broker.start()
        try:
            for _ in range(3):
                limit, wanted = asyncio.run(_bare_loop(broker, number))
                took, total = asyncio.run(_through_instrument(broker, number))
                assert total == wanted == number * (number - 1) / 2, (total, wanted)
                bare_s, ours_s = min(bare_s, limit), min(ours_s, took)
        finally:
            broker.kill()
    return Row(
        "MQTT messages with one number",
        f"{number / ours_s:,.0f} messages/s",
        f"{number / bare_s:,.0f} messages/s",
        bare_s / ours_s,
        ">= 0.75",
        "limit: `async for` of aiomqtt and float(), same mosquitto",
    )


def run(quick: bool) -> list[Row]:
    """Measure everything; in quick mode only check that nothing is lost or misread."""
    number = 2000 if quick else 50_000
    rows = [
        _serial_row(f"serial lines from memory, {name}", number, form, _through_memory)
        for name, form in _FORMS.items()
    ]
    rows.append(
        _serial_row(
            "serial lines through a terminal, 12.345",
            number,
            _FORMS["12.345"],
            _through_terminal,
        )
    )
    rows.append(_mqtt_row(500 if quick else 20_000))
    return rows
