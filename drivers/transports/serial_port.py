"""Holds a serial port open: one thread reads it, the event loop takes what it read."""

from __future__ import annotations

import asyncio
import contextlib
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from types import TracebackType

from drivers.errors import PortLostError
from drivers.reading import Clock
from drivers.transports.byte_queue import ByteQueue, Chunk
from drivers.transports.port_reader import PORT_FAILURES, PortReader
from drivers.transports.port_settings import PortSettings
from drivers.transports.port_trouble import lost_error

#: How long closing waits for the reader thread, in seconds of real time. A thread that still
#: opens a port at the far end of a network ends by itself a few seconds later.
_PATIENCE_S = 0.45


class SerialPort:
    """A port, open from ``async with`` to its end.

    One thread does all that may block: opens the port, waits for bytes, stamps them the
    moment it has them, closes the port. What it read waits in a bounded queue.

    Args:
        settings: Which port, and how.
        clock: Data time; gives the arrival stamps.
    """

    def __init__(self, settings: PortSettings, clock: Clock) -> None:
        """Open nothing yet."""
        self._settings = settings
        self._clock = clock
        self._queue = ByteQueue()
        self._news = asyncio.Event()
        self._lost: PortLostError | None = None
        self._writer: ThreadPoolExecutor | None = None

    async def __aenter__(self) -> SerialPort:
        """Open the port.

        Raises:
            PortLostError: It would not open.
        """
        loop = asyncio.get_running_loop()
        opened: asyncio.Future[None] = loop.create_future()
        self._ended = asyncio.Event()
        self._reader = PortReader(self._settings)
        self._thread = threading.Thread(
            target=self._work,
            args=(loop, opened),
            name=f"reader of {self._settings.port}",
            daemon=True,
        )
        self._thread.start()
        try:
            await opened
        except BaseException:
            await self._close()
            raise
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the port and end its threads."""
        await self._close()

    async def read(self, timeout_s: float | None = None) -> list[Chunk]:
        """Wait for bytes and give all that is there; nothing when the time is over.

        Args:
            timeout_s: Longest wait in seconds of real time; None waits for ever.

        Raises:
            PortLostError: The port is gone, and everything it gave before was given.
        """
        if not self._news.is_set():
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(timeout_s):
                    await self._news.wait()
        self._news.clear()
        chunks = self._queue.take_all()
        if self._lost is not None:
            self._news.set()
            if not chunks:
                raise self._lost
        return chunks

    async def write(self, data: bytes) -> None:
        """Send bytes; wait until the operating system has them.

        Raises:
            PortLostError: The port is gone, or takes nothing.
        """
        if self._writer is None:
            name = f"writer of {self._settings.port}"
            self._writer = ThreadPoolExecutor(1, thread_name_prefix=name)
        loop = asyncio.get_running_loop()
        try:
            await loop.run_in_executor(self._writer, self._reader.write, data)
        except PORT_FAILURES as error:
            raise lost_error(self._settings.port, error, is_open=True) from error

    async def _close(self) -> None:
        """End the threads; they close the port."""
        self._reader.stop()
        if self._writer is not None:
            self._writer.shutdown(wait=False, cancel_futures=True)
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(_PATIENCE_S):
                await self._ended.wait()
                self._thread.join()

    def _work(self, loop: asyncio.AbstractEventLoop, opened: asyncio.Future[None]) -> None:
        """Read until stopped or lost. Runs in the thread."""
        is_open = False
        try:
            self._reader.open()
            is_open = True
            _tell(loop, _resolve, opened, None)
            while (data := self._reader.read()) is not None:
                if data and self._queue.put(data, self._clock.now_ns()):
                    _tell(loop, self._news.set)
        except PORT_FAILURES as error:
            lost = lost_error(self._settings.port, error, is_open=is_open)
            _tell(loop, self._note_lost, opened, lost)
        finally:
            # A port that is gone may refuse to be closed; its handle is free all the same.
            with contextlib.suppress(*PORT_FAILURES):
                self._reader.close()
            _tell(loop, self._note_end, opened)

    def _note_lost(self, opened: asyncio.Future[None], lost: PortLostError) -> None:
        """Note in the loop that the port is gone or would not open."""
        self._lost = lost
        self._news.set()
        _resolve(opened, lost)

    def _note_end(self, opened: asyncio.Future[None]) -> None:
        """Note in the loop that the thread is at its end, for whatever reason."""
        self._ended.set()
        if self._lost is None:
            why = f"the reader of {self._settings.port} ended"
            self._note_lost(opened, PortLostError(why, "it is started again by itself"))


def _resolve(opened: asyncio.Future[None], lost: PortLostError | None) -> None:
    """Answer who waits for the port to open, if it still waits."""
    if opened.done():
        return
    if lost is None:
        opened.set_result(None)
    else:
        opened.set_exception(lost)


def _tell(loop: asyncio.AbstractEventLoop, call: Callable[..., None], *args: object) -> None:
    """Call something in the loop's thread. A loop that is closed needs to know nothing."""
    with contextlib.suppress(RuntimeError):
        loop.call_soon_threadsafe(call, *args)
