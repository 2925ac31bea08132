"""How a watch is told to end: by a signal, or by who started it."""

from __future__ import annotations

import asyncio
import contextlib
import signal
from collections.abc import Iterator

_SIGNALS = (signal.SIGINT, signal.SIGTERM)


class Ending:
    """Says whether the end was asked for.

    Args:
        stop: Set to end the watch; setting it again does no harm.

    Attributes:
        stop: The same.
        hurry: Set by a second signal: what can be left to itself is left.
    """

    def __init__(self, stop: asyncio.Event) -> None:
        """Ask for nothing."""
        self.stop = stop
        self.hurry = asyncio.Event()

    async def wait(self) -> None:
        """Return when the end was asked for."""
        await self.stop.wait()

    @contextlib.contextmanager
    def by_signals(self) -> Iterator[None]:
        """Take SIGINT and SIGTERM as asking for the end, for as long as the context lasts."""
        loop = asyncio.get_running_loop()
        for number in _SIGNALS:
            loop.add_signal_handler(number, self._take_signal)
        try:
            yield
        finally:
            for number in _SIGNALS:
                loop.remove_signal_handler(number)

    def _take_signal(self) -> None:
        if self.stop.is_set():
            self.hurry.set()
        self.stop.set()


def uncancel() -> None:
    """Take a cancellation of this task back."""
    task = asyncio.current_task()
    if task is not None:
        task.uncancel()
