"""A serial port without hardware: the far end of a pseudo-terminal that a driver opens."""

from __future__ import annotations

import asyncio
import os
import termios
import tty
from collections.abc import Callable

#: Longest request that is kept while its end has not come, in bytes.
_LONGEST_REQUEST = 256


class PtyWire:
    """One pseudo-terminal: what is written here can be read at *port*, and the reverse.

    The near end never blocks. Where nobody reads, the oldest unread bytes are thrown away, so
    that whoever opens the port later gets fresh lines and not those of an hour ago.

    Attributes:
        port: Path that a driver opens like any serial port.
        flushes: How often unread bytes were thrown away because nobody read.
    """

    def __init__(self) -> None:
        """Open both ends. Holding the driver's end too keeps the port alive between drivers."""
        self._near, self._far = os.openpty()
        self.port = os.ttyname(self._far)
        tty.setraw(self._far, termios.TCSANOW)
        os.set_blocking(self._near, False)
        self.flushes = 0
        self._request = b""

    def write(self, data: bytes) -> None:
        """Put bytes on the wire; never waits."""
        if self._put(data):
            return
        self.flushes += 1
        termios.tcflush(self._far, termios.TCIFLUSH)
        self._put(data)

    def listen(self, answer: Callable[[bytes], bytes]) -> None:
        """Answer each line that comes, in the running event loop."""
        loop = asyncio.get_running_loop()
        loop.add_reader(self._near, self._take, answer)

    def close(self) -> None:
        """Close both ends: to a driver the port is unplugged."""
        try:
            asyncio.get_running_loop().remove_reader(self._near)
        finally:
            os.close(self._near)
            os.close(self._far)

    def _put(self, data: bytes) -> bool:
        """Write what there is room for; tell whether that was all."""
        try:
            return os.write(self._near, data) == len(data)
        except BlockingIOError:
            return False

    def _take(self, answer: Callable[[bytes], bytes]) -> None:
        """Read what came; answer whole lines, whatever their end."""
        try:
            data = os.read(self._near, 4096)
        except BlockingIOError:
            return
        *lines, rest = (self._request + data).replace(b"\r", b"\n").split(b"\n")
        self._request = rest[-_LONGEST_REQUEST:]
        for line in lines:
            reply = answer(line) if line.strip() else b""
            if reply:
                self.write(reply)
