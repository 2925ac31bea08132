"""Tests for drivers.transports.port_reader.

Source: hand-worked here; terminals of the operating system are the far ends.
"""

from __future__ import annotations

import termios
import threading
import time
from collections.abc import Iterator

import pytest
import serial

from drivers.transports.port_reader import PORT_FAILURES, PortReader
from drivers.transports.port_settings import PortSettings
from tests.peers import PtyPort


@pytest.fixture
def reader(pty_port: PtyPort) -> Iterator[PortReader]:
    """Give a reader whose port is open."""
    made = PortReader(PortSettings(port=str(pty_port.path), baud=9600))
    made.open()
    yield made
    made.close()


@pytest.fixture
def loop_reader() -> Iterator[PortReader]:
    """Give a reader of a port without a handle."""
    made = PortReader(PortSettings(port="loop://"))
    made.open()
    yield made
    made.close()


def test_everything_that_waits_comes_in_one_read(reader: PortReader, pty_port: PtyPort) -> None:
    pty_port.send(b"1,2,3\n" * 100)

    assert reader.read() == b"1,2,3\n" * 100


def test_a_flood_comes_in_large_pieces_of_bounded_size(
    reader: PortReader, pty_port: PtyPort
) -> None:
    sender = threading.Thread(target=pty_port.send, args=(b"x" * 1_000_000,))
    sender.start()
    sizes: list[int] = []
    while sum(sizes) < 1_000_000:
        sizes.append(len(reader.read() or b""))
    sender.join()

    # A terminal gives 4096 bytes at once: 245 pieces, taken one by one.
    assert max(sizes) <= 65536
    assert max(sizes) > 4096


def test_without_a_handle_everything_that_waits_comes_too(loop_reader: PortReader) -> None:
    loop_reader.write(b"hello")

    assert loop_reader.read() == b"hello"


def test_without_a_handle_an_empty_wait_gives_no_bytes(loop_reader: PortReader) -> None:
    assert loop_reader.read() == b""


def test_a_read_that_waits_is_broken_off_at_once(reader: PortReader) -> None:
    timer = threading.Timer(0.05, reader.stop)
    timer.start()
    start = time.monotonic()

    assert reader.read() is None
    assert time.monotonic() - start < 0.3
    timer.join()


def test_without_a_handle_a_read_is_broken_off_soon(loop_reader: PortReader) -> None:
    loop_reader.stop()
    start = time.monotonic()

    assert loop_reader.read() is None
    assert time.monotonic() - start < 0.3


def test_what_arrives_after_the_stop_is_not_read(reader: PortReader, pty_port: PtyPort) -> None:
    pty_port.send(b"x")
    reader.stop()

    assert reader.read() is None


def test_a_port_that_vanished_raises(reader: PortReader, pty_port: PtyPort) -> None:
    pty_port.unplug()

    with pytest.raises(PORT_FAILURES):
        reader.read()


def test_a_reader_that_never_opened_can_be_closed() -> None:
    made = PortReader(PortSettings(port="/dev/none"))
    made.stop()

    made.close()

    with pytest.raises(PORT_FAILURES):
        made.open()


def test_the_settings_reach_the_terminal(pty_port: PtyPort) -> None:
    made = PortReader(
        PortSettings(
            port=str(pty_port.path), baud=19200, parity="even", stop_bits=2, flow="xonxoff"
        )
    )
    made.open()
    with open(pty_port.path, "rb", buffering=0) as terminal:
        flags_in, _, control, _, speed, _, _ = termios.tcgetattr(terminal)
    # A pseudo terminal of Linux takes no parity flag: what pyserial was told must do.
    parity = made._port.parity
    made.close()

    assert speed == termios.B19200
    assert control & termios.CSTOPB
    assert flags_in & termios.IXON
    assert parity == serial.PARITY_EVEN
