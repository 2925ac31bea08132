"""Tests for drivers.instruments.serial_lines.

Source: hand-worked here; the far ends are terminals and TCP connections of the operating
system. What becomes of bytes is tested in test_serial_lines.py.
"""

from __future__ import annotations

import asyncio
import socket
import threading
from pathlib import Path
from random import Random

import msgspec
import pytest

from drivers.errors import PortLostError
from drivers.instruments.serial_lines import (
    SerialLines,
    SerialLinesSettings,
)
from tests.peers import MemorySink, PtyPort, running, until


def settings(**given_settings: object) -> SerialLinesSettings:
    """Make settings for two signals, but for what is given."""
    entry = {"port": "/dev/none", "fields": ["a", "b"], **given_settings}
    return msgspec.convert(entry, SerialLinesSettings)


def on(path: object, **given_settings: object) -> SerialLines:
    """Make an instrument on a port."""
    return SerialLines("panel", settings(port=str(path), **given_settings))


async def test_lines_of_a_real_terminal_are_delivered(
    pty_port: PtyPort, sink: MemorySink
) -> None:
    async with running(on(pty_port.path), sink):
        await until(lambda: sink.opens)
        pty_port.send(b"rest of a line\n1.5,2\n3,")
        pty_port.send(b"4\n")
        await until(lambda: len(sink.rows()) == 2)

    assert sink.opens == [f"{pty_port.path} is open"]
    assert sink.rows() == [[1.5, 2.0], [3.0, 4.0]]
    assert sink.counts["half a line"] == 1


async def test_an_unplugged_instrument_goes_on_when_it_is_plugged_in_again(
    pty_port: PtyPort, sink: MemorySink
) -> None:
    instrument = on(pty_port.path)
    async with running(instrument, sink) as task:
        await until(lambda: sink.opens)
        pty_port.send(b"\n1,2\n3,")
        await until(lambda: len(sink.rows()) == 1)
        pty_port.unplug()
        await asyncio.wait({task}, timeout=5)
        assert isinstance(task.exception(), PortLostError)

    async with running(instrument, sink) as task:
        await asyncio.wait({task}, timeout=5)
        assert "there is no port" in str(task.exception())

    pty_port.plug()
    async with running(instrument, sink):
        await until(lambda: len(sink.opens) == 2)
        pty_port.send(b"9\n5,6\n")
        await until(lambda: len(sink.rows()) == 2)

    # "3," and "9" belong to different lives of the link and make no line.
    assert sink.rows() == [[1.0, 2.0], [5.0, 6.0]]
    assert sink.blocks[0].t_ns[-1] < sink.blocks[1].t_ns[0]


async def test_noise_of_a_real_terminal_crashes_nothing(
    pty_port: PtyPort, sink: MemorySink
) -> None:
    async with running(on(pty_port.path), sink) as task:
        await until(lambda: sink.opens)
        noise = Random(7).randbytes(20_000).replace(b"\n", b"?")
        sender = threading.Thread(target=pty_port.send, args=(noise + b"\n1,2\n",))
        sender.start()
        await until(lambda: sink.rows())
        sender.join()
        assert not task.done()

    assert sink.rows() == [[1.0, 2.0]]
    assert sink.counts["bytes dropped, no whole line"] == 20_001


async def test_ten_megabytes_without_a_line_end_through_a_real_terminal(
    pty_port: PtyPort, sink: MemorySink
) -> None:
    flood = b"U" * 10_000_000
    async with running(on(pty_port.path), sink):
        await until(lambda: sink.opens)
        pty_port.send(b"\n")
        sender = threading.Thread(target=pty_port.send, args=(flood + b"\n1,2\n",))
        sender.start()
        await until(lambda: sink.rows(), 30)
        sender.join()

    lost = sink.counts["bytes dropped, no whole line"]
    lost += sink.counts["bytes dropped, engine too slow"]
    assert lost >= 10_000_001
    assert sink.rows() == [[1.0, 2.0]]


async def test_lines_over_a_network_are_delivered(sink: MemorySink) -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = f"socket://127.0.0.1:{server.getsockname()[1]}"
        async with running(on(port), sink) as task:
            await until(lambda: sink.opens)
            peer, _ = server.accept()
            peer.sendall(b"\n1,2\r\n3,4\r\n")
            await until(lambda: len(sink.rows()) == 2)
            peer.close()
            await asyncio.wait({task}, timeout=5)

            assert isinstance(task.exception(), PortLostError)
    assert sink.rows() == [[1.0, 2.0], [3.0, 4.0]]


async def test_bytes_that_a_slow_engine_lost_do_not_make_a_false_line(
    pty_port: PtyPort, sink: MemorySink, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    from drivers.transports import byte_queue, serial_port

    monkeypatch.setattr(serial_port, "ByteQueue", lambda: byte_queue.ByteQueue(most_bytes=5000))
    async with running(on(pty_port.path, fields=["a"]), sink):
        await until(lambda: sink.opens)
        # The loop stands still, the reader thread does not. A piece ends within a line.
        pty_port.send(b"\n")
        for _ in range(21):
            pty_port.send((b"123456\n" * 150)[:1001])
            threading.Event().wait(0.01)
            pty_port.send((b"123456\n" * 150)[1001:])
            threading.Event().wait(0.01)
        await until(lambda: sink.counts["bytes dropped, engine too slow"] and sink.blocks)
        await asyncio.sleep(0.1)

    assert set(sink.of("a")) == {123456.0}
    assert sink.counts["bytes dropped, engine too slow"] > 10_000
