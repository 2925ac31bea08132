r"""Tests for drivers.instruments.serial_polled.

Source: hand-worked here; the far end is a terminal of the operating system with a thread that
answers. When to ask, and which line answers what, is tested in test_polling.py.
"""

from __future__ import annotations

import asyncio
import os
import threading
import time
from collections.abc import Callable, Iterator

import msgspec
import numpy as np
import pytest

from drivers.errors import PortLostError
from drivers.instruments.polled_settings import SerialPolledSettings
from drivers.instruments.serial_polled import SerialPolled
from drivers.transports import serial_port
from drivers.transports.byte_queue import ByteQueue
from tests.peers import MemorySink, PlainClock, PtyPort, running, until


class Panel:
    """An instrument on a terminal that answers requests.

    Args:
        port: Its terminal.
        answer: Gives the reply to a request; empty for none.
    """

    def __init__(self, port: PtyPort, answer: Callable[[bytes], bytes]) -> None:
        self._port = port
        self._answer = answer
        self.asked: list[bytes] = []
        self._is_over = False
        self._thread = threading.Thread(target=self._serve, name="panel")
        self._thread.start()

    def _serve(self) -> None:
        try:
            while not self._is_over:
                for request in self._port.receive(0.02).splitlines():
                    self.asked.append(request)
                    self._port.send(self._answer(request))
        except (OSError, ValueError):
            # Unplugged.
            return

    def end(self) -> None:
        """End its work."""
        self._is_over = True
        self._thread.join()


def polled(port: PtyPort, **given_settings: object) -> SerialPolled:
    """Make an instrument on a port, with two requests."""
    entry = {
        "port": str(port.path),
        "requests": [
            {"send": "T?\r\n", "fields": ["t"]},
            {"send": "P?\r\n", "fields": ["p", "q"]},
        ],
        "period_s": 0.05,
        "reply_timeout_s": 0.3,
        **given_settings,
    }
    return SerialPolled("panel", msgspec.convert(entry, SerialPolledSettings))


def usual(request: bytes) -> bytes:
    """Answer as the panel does."""
    return {b"T?": b"21.5\r\n", b"P?": b"37.9,1.2\r\n"}[request]


@pytest.fixture
def held_open(pty_port: PtyPort) -> Iterator[None]:
    """Keep the terminal's other side open, so that the panel can wait for its first request."""
    handle = os.open(pty_port.path, os.O_RDWR | os.O_NOCTTY)
    yield
    os.close(handle)


async def test_requests_are_answered_poll_after_poll(
    pty_port: PtyPort, sink: MemorySink, held_open: None
) -> None:
    panel = Panel(pty_port, usual)
    instrument = polled(pty_port)
    async with running(instrument, sink):
        await until(lambda: len(sink.blocks) >= 8)
    panel.end()

    assert instrument.signals == ("t", "p", "q")
    assert sink.rows()[:4] == [[21.5], [37.9, 1.2], [21.5], [37.9, 1.2]]
    assert sink.opens == [f"{pty_port.path} answers"]
    assert panel.asked[:4] == [b"T?", b"P?", b"T?", b"P?"]


async def test_the_period_is_kept(pty_port: PtyPort, sink: MemorySink, held_open: None) -> None:
    panel = Panel(pty_port, usual)
    async with running(polled(pty_port), sink):
        await until(lambda: len(sink.blocks) >= 22)
    panel.end()

    times = [block.t_ns[0] for block in sink.blocks if block.signals == ("t",)]
    assert np.median(np.diff(times)) == pytest.approx(50e6, rel=0.2)


async def test_at_ten_times_the_speed_there_are_ten_times_as_many_polls(
    pty_port: PtyPort, sink: MemorySink, held_open: None
) -> None:
    panel = Panel(pty_port, usual)
    start = time.monotonic()
    async with running(polled(pty_port, period_s=0.5), sink, PlainClock(10.0)):
        await until(lambda: len(sink.of("t")) >= 10)
    panel.end()

    times = [block.t_ns[0] for block in sink.blocks if block.signals == ("t",)]
    assert time.monotonic() - start < 4
    assert np.median(np.diff(times)) == pytest.approx(500e6, rel=0.2)


async def test_an_open_port_where_nobody_answers_never_counts_as_open(
    pty_port: PtyPort, sink: MemorySink, held_open: None
) -> None:
    instrument = polled(pty_port, reply_timeout_s=0.02, retries=0, lost_after=2)
    async with running(instrument, sink) as task:
        await asyncio.wait({task}, timeout=5)

        assert "no good reply" in str(task.exception())
    assert sink.opens == []
    assert sink.counts["no reply in time"] == 4


async def test_a_panel_that_is_unplugged_and_plugged_in_again_goes_on(
    pty_port: PtyPort, sink: MemorySink
) -> None:
    instrument = polled(pty_port)
    for life in (1, 2):
        handle = os.open(pty_port.path, os.O_RDWR | os.O_NOCTTY)
        panel = Panel(pty_port, usual)
        seen = len(sink.blocks)
        async with running(instrument, sink) as task:
            await until(lambda seen=seen: len(sink.blocks) >= seen + 2)
            pty_port.unplug()
            await asyncio.wait({task}, timeout=5)

            assert isinstance(task.exception(), PortLostError)
        os.close(handle)
        panel.end()
        assert len(sink.opens) == life
        pty_port.plug()


async def test_a_reply_of_which_the_engine_lost_a_part_is_not_believed(
    pty_port: PtyPort, sink: MemorySink, held_open: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    def in_two_parts(request: bytes) -> bytes:
        if len(panel.asked) > 1:
            return usual(request)
        time.sleep(0.05)
        pty_port.send(b"12")
        time.sleep(0.05)
        return b"34\r\n"

    monkeypatch.setattr(serial_port, "ByteQueue", lambda: ByteQueue(most_bytes=4))
    panel = Panel(pty_port, in_two_parts)
    async with running(polled(pty_port), sink):
        await until(lambda: panel.asked)
        # The loop stands still, the reader thread does not.
        threading.Event().wait(0.2)
        monkeypatch.setattr(serial_port, "ByteQueue", ByteQueue)
        await until(lambda: sink.blocks)
    panel.end()

    assert sink.counts["bytes dropped, engine too slow"] == 2
    assert sink.counts["reply nobody asked for"] == 1
    assert set(map(tuple, sink.rows())) <= {(21.5,), (37.9, 1.2)}


async def test_lost_and_bad_replies_cost_their_poll_only(
    pty_port: PtyPort, sink: MemorySink, held_open: None
) -> None:
    answers = iter([b"", b"\xff\xff\r\n", b"nan\r\n"])

    def moody(request: bytes) -> bytes:
        return next(answers, usual(request))

    panel = Panel(pty_port, moody)
    async with running(polled(pty_port, reply_timeout_s=0.05), sink):
        await until(lambda: len(sink.blocks) >= 4)
    panel.end()

    assert set(map(tuple, sink.rows())) == {(21.5,), (37.9, 1.2)}
    assert sink.counts["no reply in time"] >= 1
