"""Opens a serial port and waits for its bytes; knows how each kind of port has to be read."""

from __future__ import annotations

import os
import selectors
import socket
from typing import Any

import serial

from drivers.transports.port_settings import PortSettings

#: What pyserial lets out when a port is missing, refuses, or vanishes. ``in_waiting`` raises a
#: plain OSError at an unplug, a port closed meanwhile a TypeError (its handle is None), a bad
#: URL a ValueError, an option the far end lacks a NotImplementedError.
PORT_FAILURES: tuple[type[Exception], ...] = (
    serial.SerialException,
    OSError,
    TypeError,
    ValueError,
    NotImplementedError,
)
if os.name == "posix":
    import termios

    #: Not an OSError; raised where a terminal vanishes while it is set up.
    PORT_FAILURES = (*PORT_FAILURES, termios.error)

#: Most bytes taken by one read.
_MOST_BYTES = 65536
#: A terminal gives at most 4096 bytes at once. After so many there may be more: handing over
#: each piece by itself would cost more time than reading the numbers in it.
_FLOOD_BYTES = 2048
#: Where a wait cannot be broken off it is cut into pieces of this length, in s of real time.
_SLICE_S = 0.1
#: A port that takes no byte for so long is lost, in s of real time.
_WRITE_PATIENCE_S = 1.0

_PARITIES = {"none": "N", "even": "E", "odd": "O", "mark": "M", "space": "S"}


class PortReader:
    """One port. All methods but :meth:`stop` and :meth:`write` belong to the reader thread.

    A device and ``socket://`` have a handle to wait on, together with a wake-up of our own,
    and give all that is there in one call. Other kinds are asked for a byte with a time-out
    and then for what else is waiting.
    """

    def __init__(self, settings: PortSettings) -> None:
        """Open nothing yet, but be ready to be stopped."""
        self._settings = settings
        # pyserial ships no types.
        self._port: Any = None
        self._is_stopped = False
        self._woken, self._waker = socket.socketpair()
        self._selector: selectors.BaseSelector | None = None

    def open(self) -> None:
        """Open the port for us alone.

        Raises:
            PORT_FAILURES: It would not open.
        """
        settings = self._settings
        has_handle = self._has_handle()
        port = serial.serial_for_url(
            settings.port,
            do_not_open=True,
            baudrate=settings.baud,
            bytesize=settings.data_bits,
            parity=_PARITIES[settings.parity],
            stopbits=settings.stop_bits,
            xonxoff=settings.flow == "xonxoff",
            rtscts=settings.flow == "rtscts",
            timeout=0 if has_handle else _SLICE_S,
            # The client for RFC 2217 refuses a time-out for writing.
            write_timeout=None if settings.port.startswith("rfc2217:") else _WRITE_PATIENCE_S,
            exclusive=True,
        )
        self._port = port
        port.open()
        if has_handle:
            self._selector = selectors.DefaultSelector()
            self._selector.register(port.fileno(), selectors.EVENT_READ)
            self._selector.register(self._woken, selectors.EVENT_READ)

    def read(self) -> bytes | None:
        """Wait for bytes and give those that are there.

        Returns:
            The bytes, maybe none; None when stopped.

        Raises:
            PORT_FAILURES: The port is gone.
        """
        if self._selector is not None:
            self._selector.select()
            return None if self._is_stopped else self._what_is_there()
        data = bytes(self._port.read(1))
        if data and (waiting := self._port.in_waiting):
            data += bytes(self._port.read(min(waiting, _MOST_BYTES)))
        return None if self._is_stopped else data

    def _what_is_there(self) -> bytes:
        """Take all that has come, without waiting; bounded however fast more comes."""
        data = piece = bytes(self._port.read(_MOST_BYTES))
        while len(piece) >= _FLOOD_BYTES and len(data) < _MOST_BYTES:
            piece = bytes(self._port.read(_MOST_BYTES - len(data)))
            data += piece
        return data

    def write(self, data: bytes) -> None:
        """Send bytes. May be called from another thread than the reader's.

        Raises:
            PORT_FAILURES: The port is gone or takes nothing.
        """
        self._port.write(data)

    def stop(self) -> None:
        """Make :meth:`read` give None, now or at once. May be called from any thread."""
        self._is_stopped = True
        self._waker.close()

    def close(self) -> None:
        """Give back every handle."""
        if self._selector is not None:
            self._selector.close()
        self._woken.close()
        self._waker.close()
        if self._port is not None:
            self._port.close()

    def _has_handle(self) -> bool:
        """Whether this kind of port can be waited on together with our own wake-up."""
        scheme, is_url, _ = self._settings.port.partition("://")
        return scheme == "socket" or (not is_url and os.name == "posix")
