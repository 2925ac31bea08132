"""Tests for drivers.transports.serial_port.

Source: hand-worked here. The far ends are real: terminals of the operating system, TCP
connections, and pyserial's own server for RFC 2217.
"""

from __future__ import annotations

import asyncio
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import serial
from serial.rfc2217 import PortManager

from drivers.errors import PortLostError
from drivers.transports.byte_queue import ByteQueue
from drivers.transports.port_settings import PortSettings
from drivers.transports.serial_port import SerialPort
from tests.peers import PlainClock, PtyPort, free_port, until

#: Its client for RFC 2217 names its thread the old way.
PYSERIALS_OWN = pytest.mark.filterwarnings("ignore:set(Daemon|Name):DeprecationWarning")


def port_at(path: object) -> SerialPort:
    """Make a port that is not open yet."""
    return SerialPort(PortSettings(port=str(path)), PlainClock())


async def read_bytes(port: SerialPort, number: int) -> bytes:
    """Read so many bytes, or more."""
    data = b""
    async with asyncio.timeout(5):
        while len(data) < number:
            data += b"".join(chunk.data for chunk in await port.read())
    return data


def readers() -> list[str]:
    """Name the live threads of serial ports."""
    return [
        row.name for row in threading.enumerate() if row.name.startswith(("reader", "writer"))
    ]


@pytest.fixture
def server() -> Iterator[socket.socket]:
    """Give a listening TCP socket."""
    with socket.create_server(("127.0.0.1", 0)) as listening:
        listening.settimeout(5)
        yield listening


def url_of(server: socket.socket, scheme: str = "socket") -> str:
    """Give the URL of a server."""
    return f"{scheme}://127.0.0.1:{server.getsockname()[1]}"


async def test_bytes_of_a_terminal_arrive_with_the_time(pty_port: PtyPort) -> None:
    clock = PlainClock()
    async with SerialPort(PortSettings(port=str(pty_port.path)), clock) as port:
        before_ns = clock.now_ns()
        pty_port.send(b"12.5\n")
        chunks = await port.read(5)

        assert [chunk.data for chunk in chunks] == [b"12.5\n"]
        assert before_ns <= chunks[0].t_ns <= clock.now_ns()


async def test_bytes_are_delivered_at_once(pty_port: PtyPort) -> None:
    delays = []
    async with port_at(pty_port.path) as port:
        for _ in range(50):
            start = time.perf_counter()
            pty_port.send(b"x")
            await port.read(5)
            delays.append(time.perf_counter() - start)

    assert sorted(delays)[25] < 0.01


async def test_what_is_written_arrives_at_the_far_end(pty_port: PtyPort) -> None:
    async with port_at(pty_port.path) as port:
        await port.write(b"T?\r\n")

        assert pty_port.receive() == b"T?\r\n"


async def test_waiting_ends_with_nothing_when_the_time_is_over(pty_port: PtyPort) -> None:
    async with port_at(pty_port.path) as port:
        start = time.monotonic()

        assert await port.read(0.05) == []
        assert 0.04 < time.monotonic() - start < 1


async def test_an_unplugged_terminal_is_a_lost_port(pty_port: PtyPort) -> None:
    async with port_at(pty_port.path) as port:
        pty_port.send(b"last\n")
        await asyncio.sleep(0.05)
        pty_port.unplug()

        assert await read_bytes(port, 5) == b"last\n"
        with pytest.raises(PortLostError, match="unplugged or closed") as lost:
            await port.read(5)
        assert "cable" in lost.value.cure


async def test_writing_to_an_unplugged_terminal_says_so(pty_port: PtyPort) -> None:
    async with port_at(pty_port.path) as port:
        pty_port.unplug()

        # Half a megabyte is more than the terminal of a dead far end can hold.
        with pytest.raises(PortLostError, match=r"port was unplugged|port takes no bytes"):
            await port.write(b"x" * 500_000)


async def test_a_far_end_that_takes_nothing_is_lost_after_a_while(pty_port: PtyPort) -> None:
    async with port_at(pty_port.path) as port:
        with pytest.raises(PortLostError, match="takes no bytes"):
            await port.write(b"x" * 1_000_000)


async def test_closing_takes_less_than_half_a_second_and_leaves_no_thread(
    pty_port: PtyPort,
) -> None:
    async with port_at(pty_port.path) as port:
        await port.write(b"x")
        assert len(readers()) == 2
        start = time.monotonic()

    assert time.monotonic() - start < 0.5
    await until(lambda: readers() == [], 1)


async def test_a_port_opens_for_one_only(pty_port: PtyPort) -> None:
    async with port_at(pty_port.path):
        with pytest.raises(PortLostError, match="is in use") as lost:
            await port_at(pty_port.path).__aenter__()

    assert "fuser" in lost.value.cure
    assert readers() == []


async def test_a_port_opens_again_after_it_was_closed(pty_port: PtyPort) -> None:
    for _ in range(3):
        async with port_at(pty_port.path) as port:
            pty_port.send(b"x")

            assert await read_bytes(port, 1) == b"x"


async def test_a_missing_port_is_lost_before_it_opens(tmp_path: Path) -> None:
    with pytest.raises(PortLostError, match="there is no port"):
        await port_at(tmp_path / "ttyUSB7").__aenter__()


async def test_a_file_is_no_port(tmp_path: Path) -> None:
    path = tmp_path / "file"
    path.touch()

    with pytest.raises(PortLostError, match="would not open") as lost:
        await port_at(path).__aenter__()
    assert "serial port" in lost.value.cure


async def test_an_unknown_kind_of_port_is_an_error_for_a_person() -> None:
    with pytest.raises(PortLostError, match="would not open"):
        await port_at("ftp://x").__aenter__()


async def test_cancelled_while_it_waits_it_leaves_nothing(pty_port: PtyPort) -> None:
    async def hold() -> None:
        async with port_at(pty_port.path) as port:
            await port.read()

    task = asyncio.create_task(hold())
    await until(readers)
    task.cancel()
    await asyncio.wait({task})

    assert task.cancelled()
    assert readers() == []


async def test_a_stopped_engine_loses_the_oldest_bytes_and_is_told(
    pty_port: PtyPort, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        "drivers.transports.serial_port.ByteQueue", lambda: ByteQueue(most_bytes=10_000)
    )
    async with port_at(pty_port.path) as port:
        # The loop stands still while the thread goes on reading.
        for _ in range(50):
            pty_port.send(b"x" * 1000)
            threading.Event().wait(0.01)
        chunks = await port.read(5)

        assert sum(len(chunk.data) for chunk in chunks) <= 10_000
        assert chunks[0].lost_before + sum(len(chunk.data) for chunk in chunks) == 50_000


async def test_a_tcp_port_delivers_whole_reads(server: socket.socket) -> None:
    async with port_at(url_of(server)) as port:
        peer, _ = server.accept()
        with peer:
            peer.sendall(b"1,2\n" * 100)
            data = await read_bytes(port, 400)
            await port.write(b"T?\n")

            assert data == b"1,2\n" * 100
            assert peer.recv(10) == b"T?\n"


async def test_a_tcp_port_whose_far_end_closes_is_lost(server: socket.socket) -> None:
    async with port_at(url_of(server)) as port:
        peer, _ = server.accept()
        peer.close()

        with pytest.raises(PortLostError, match="far end"):
            await port.read(5)


async def test_a_tcp_port_where_nobody_listens_is_lost_before_it_opens() -> None:
    with pytest.raises(PortLostError, match="would not open") as lost:
        await port_at(f"socket://127.0.0.1:{free_port()}").__aenter__()

    assert "converter" in lost.value.cure


async def test_closing_a_tcp_port_takes_less_than_half_a_second(server: socket.socket) -> None:
    async with port_at(url_of(server)):
        peer, _ = server.accept()
        start = time.monotonic()

    took = time.monotonic() - start
    peer.close()
    assert took < 0.5
    assert readers() == []


async def test_a_loop_gives_back_what_was_written() -> None:
    async with port_at("loop://") as port:
        await port.write(b"hello")

        assert await read_bytes(port, 5) == b"hello"


async def test_closing_a_loop_takes_less_than_half_a_second() -> None:
    async with port_at("loop://"):
        start = time.monotonic()

    assert time.monotonic() - start < 0.5
    assert readers() == []


class RemotePort:
    """Pyserial's own server for RFC 2217, with a looped port behind it."""

    def __init__(self, server: socket.socket) -> None:
        self._server = server
        self._thread = threading.Thread(target=self._serve, name="remote port")
        self._thread.start()

    def _serve(self) -> None:
        behind = serial.serial_for_url("loop://", timeout=0)
        peer, _ = self._server.accept()
        with peer:
            peer.settimeout(0.02)
            manager = PortManager(behind, _Sender(peer.sendall))
            while True:
                try:
                    data = peer.recv(1024)
                except TimeoutError:
                    continue
                except OSError:
                    break
                if not data:
                    break
                behind.write(b"".join(manager.filter(data)))
                peer.sendall(b"".join(manager.escape(behind.read(1024))))
        behind.close()

    def join(self) -> None:
        """Wait for the end."""
        self._thread.join(5)


class _Sender:
    """What the server writes its answers to."""

    def __init__(self, write: Callable[[bytes], None]) -> None:
        self.write = write


@PYSERIALS_OWN
async def test_a_remote_port_gives_back_what_was_written(server: socket.socket) -> None:
    remote = RemotePort(server)
    async with port_at(url_of(server, "rfc2217")) as port:
        await port.write(b"hello\xff")
        data = await read_bytes(port, 6)
    remote.join()

    assert data == b"hello\xff"
    await until(lambda: readers() == [], 1)


@PYSERIALS_OWN
async def test_one_who_stops_waiting_for_a_slow_opening_is_not_held_up() -> None:
    # A server that never answers RFC 2217: the client negotiates for three seconds.
    with socket.create_server(("127.0.0.1", 0)) as mute:
        task = asyncio.create_task(port_at(url_of(mute, "rfc2217")).__aenter__())
        await until(readers)
        await asyncio.sleep(0.1)
        start = time.monotonic()
        task.cancel()
        await asyncio.wait({task})

        assert time.monotonic() - start < 0.6
        await until(lambda: readers() == [], 8)
