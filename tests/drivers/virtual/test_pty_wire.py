"""Tests for drivers.virtual.pty_wire.

Source: hand-worked here; the other end is opened by pyserial, as a driver does.
"""

from __future__ import annotations

import asyncio
import os
import time

import serial

from drivers.virtual.pty_wire import PtyWire


def _exists(path: str) -> bool:
    """Tell whether a device is still there."""
    return os.path.exists(path)


async def test_what_is_written_is_read_byte_for_byte() -> None:
    wire = PtyWire()
    try:
        with serial.Serial(wire.port, 115200, timeout=2) as port:
            wire.write(b"$GAS,1,2*57\r\n\x00\xff\x03\x11")
            assert port.read(17) == b"$GAS,1,2*57\r\n\x00\xff\x03\x11"
    finally:
        wire.close()


async def test_a_reader_that_stops_never_blocks_the_rig() -> None:
    wire = PtyWire()
    try:
        begun = time.monotonic()
        for _ in range(5000):
            wire.write(b"x" * 99 + b"\n")
        assert time.monotonic() - begun < 2.0
        assert wire.flushes > 10
        with serial.Serial(wire.port, timeout=0.2) as port:
            # What a late reader gets is at most what a port's buffer holds.
            assert len(port.read(1_000_000)) < 70_000
    finally:
        wire.close()


async def test_requests_are_answered_line_by_line_however_they_are_cut() -> None:
    wire = PtyWire()
    try:
        wire.listen(lambda line: b"<" + line + b">\n")
        with serial.Serial(wire.port, timeout=2) as port:
            port.write(b"AL")
            await asyncio.sleep(0.05)
            port.write(b"L?\r\nB?\r\n")
            await asyncio.sleep(0.1)
            assert port.read(11) == b"<ALL?>\n<B?>"
    finally:
        wire.close()


async def test_an_endless_request_is_forgotten_but_for_its_tail() -> None:
    wire = PtyWire()
    seen: list[int] = []
    try:
        wire.listen(lambda line: seen.append(len(line)) or b"")
        with serial.Serial(wire.port, timeout=2) as port:
            for _ in range(40):
                port.write(b"y" * 100)
                await asyncio.sleep(0.002)
            port.write(b"\n")
            await asyncio.sleep(0.1)
    finally:
        wire.close()

    assert len(seen) == 1
    assert seen[0] <= 512


async def test_the_port_lives_from_one_reader_to_the_next() -> None:
    wire = PtyWire()
    try:
        for number in range(3):
            with serial.Serial(wire.port, timeout=2) as port:
                wire.write(b"%d\n" % number)
                assert port.read(2) == b"%d\n" % number
    finally:
        wire.close()


async def test_after_close_the_port_is_gone() -> None:
    wire = PtyWire()
    port = wire.port
    with serial.Serial(port, timeout=0.5) as reader:
        wire.close()
        try:
            gone = reader.read(1) == b""
        except (OSError, serial.SerialException):
            gone = True

    assert gone
    assert not _exists(port)
