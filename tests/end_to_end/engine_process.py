"""An engine in a process of its own, for tests that kill it; and what is on its wires.

Run as a program it is that process: ``python engine_process.py STANDFILE RUN_DIR STATE_DIR``.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
import subprocess
import sys
import threading
import time
import tty
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from websockets.asyncio.client import connect

from drivers.registry import instrument_kinds
from monitor.client import Client, find_watch, opened
from monitor.engine.run import WatchSettings, watch
from monitor.errors import LinkError
from monitor.events import Event
from monitor.link.codec import decode_from_engine, encode
from monitor.link.messages import (
    LINK_VERSION,
    Ask,
    Change,
    Done,
    Hello,
    LinkState,
    Part,
    Snapshot,
)
from monitor.stand.load import load_stand

ROOT = Path(__file__).parents[2]
#: How long a test waits for what should come soon, in seconds.
SOON_S = 20.0


@dataclass
class EngineProcess:
    """An engine that can be started, killed and started again on the same run folder.

    Attributes:
        stand_file: What it watches.
        folder: Where its runs and its state go.
    """

    stand_file: Path
    folder: Path
    process: subprocess.Popen[bytes] | None = None

    @property
    def state_dir(self) -> Path:
        """Where it says where it listens."""
        return self.folder / "state"

    @property
    def run_dir(self) -> Path:
        """The folder of its run folders."""
        return self.folder / "runs"

    def start(self) -> None:
        """Start it; it may take a while until it listens."""
        command = [sys.executable, str(Path(__file__)), str(self.stand_file)]
        self.process = subprocess.Popen(
            [*command, str(self.run_dir), str(self.state_dir)],
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            cwd=ROOT,
        )

    def kill(self) -> None:
        """Kill it without a goodbye."""
        assert self.process is not None
        self.process.kill()
        self.process.wait()

    def close(self) -> int:
        """Have it close its run; give its exit code."""
        assert self.process is not None
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(SOON_S)

    def wait_until_it_listens(self) -> None:
        """Wait until this very process can be connected to."""
        assert self.process is not None
        end = time.monotonic() + SOON_S
        while time.monotonic() < end:
            assert self.process.poll() is None, "the engine ended by itself"
            with contextlib.suppress(LinkError):
                if find_watch(self.state_dir).pid == self.process.pid:
                    return
            time.sleep(0.02)
        raise AssertionError("the engine does not listen")

    @asynccontextmanager
    async def client(self) -> AsyncIterator[Client]:
        """Connect to it."""
        self.wait_until_it_listens()
        async with opened(find_watch(self.state_dir), "test") as client:
            yield client


async def past_of(watched: EngineProcess, channel: int) -> list[float]:
    """Give everything that a fresh display is shown of a channel's past."""
    endpoint = find_watch(watched.state_dir)
    async with connect(endpoint.url, compression=None, max_size=None) as socket:
        await socket.send(encode(Hello(LINK_VERSION, endpoint.token, "asks for the past")))
        await socket.send(encode(Ask(1, [channel], 0, 2**62, 20_000)))
        values: list[float] = []
        while True:
            data = await socket.recv()
            assert isinstance(data, bytes)
            message = decode_from_engine(data)
            if isinstance(message, Part):
                values += np.frombuffer(message.value).tolist()
            elif isinstance(message, Done):
                return values


@contextmanager
def engine(stand_file: Path, folder: Path) -> Iterator[EngineProcess]:
    """Give an engine that is started; whatever happens, it is gone afterwards."""
    made = EngineProcess(stand_file, folder)
    made.start()
    try:
        yield made
    finally:
        if made.process is not None and made.process.poll() is None:
            made.kill()


class Told:
    """What an engine told a client, collected as it comes.

    Attributes:
        events: Events, those of the snapshot first.
        newest: The newest value of each channel, by position; None where bad.
        quality: Its quality.
        links: Newest state of each link, by name.
    """

    def __init__(self, client: Client) -> None:
        self._client = client
        self._task: asyncio.Task[None] | None = None
        self._came = asyncio.Event()
        self.events: list[Event] = []
        self.newest: dict[int, float | None] = {}
        self.quality: dict[int, int] = {}
        self.links: dict[str, LinkState] = {}
        self._take(client.first)

    async def __aenter__(self) -> Told:
        self._task = asyncio.create_task(self._listen(), name="news")
        return self

    async def __aexit__(self, *_: object) -> None:
        assert self._task is not None
        self._task.cancel()
        await asyncio.wait([self._task])

    async def until(self, holds: Callable[[], object], within_s: float = SOON_S) -> None:
        """Wait until something holds of what was told."""
        async with asyncio.timeout(within_s):
            while not holds():
                self._came.clear()
                await self._came.wait()

    async def event(self, kind: str, subject: str = "", within_s: float = SOON_S) -> Event:
        """Wait for an event that was not waited for before."""

        def found() -> int | None:
            for position, event in enumerate(self.events):
                if event.kind == kind and subject in ("", event.subject):
                    return position
            return None

        await self.until(lambda: found() is not None, within_s)
        position = found()
        assert position is not None
        return self.events.pop(position)

    def counts(self, instrument: str) -> dict[str, int]:
        """Give the counters of a link as they were told last."""
        return self.links[instrument].counts

    async def _listen(self) -> None:
        with contextlib.suppress(LinkError):
            async for news in self._client.news():
                self._take(news)

    def _take(self, news: Snapshot | Change) -> None:
        self.events += news.events
        self.links |= {link.instrument: link for link in news.links}
        if isinstance(news, Snapshot):
            self.newest = {at: value.value for at, value in enumerate(news.values)}
            self.quality = {at: value.quality for at, value in enumerate(news.values)}
        else:
            for column in news.columns:
                value = float(np.frombuffer(column.value)[-1])
                self.newest[column.channel] = None if np.isnan(value) else value
                self.quality[column.channel] = column.quality[-1]
        self._came.set()


class Wire:
    """A terminal into which an instrument talks, whether anybody listens or not.

    Args:
        path: Name of the port at the other end.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._master, slave = os.openpty()
        tty.setraw(slave)
        path.symlink_to(os.ttyname(slave))
        os.close(slave)
        os.set_blocking(self._master, False)
        self._rest = b""

    def send(self, data: bytes) -> None:
        """Send all of *data* or, while the wire is full, nothing.

        Raises:
            BlockingIOError: It is full.
        """
        while self._rest:
            self._rest = self._rest[os.write(self._master, self._rest) :]
        self._rest = data[os.write(self._master, data) :]

    def close(self) -> None:
        """Give the terminal back."""
        os.close(self._master)


@dataclass
class Counting:
    """An instrument that sends rising numbers, each once, and remembers when.

    Attributes:
        send: Sends bytes; may raise OSError while the other end is unplugged.
        period_s: Between two lines.
        sent: The time on the wall of each number, in ns; its position is the number.
    """

    send: Callable[[bytes], None]
    period_s: float = 0.01
    sent: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="counting instrument")

    def __enter__(self) -> Counting:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._stop.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._stop.wait(self.period_s):
            number = len(self.sent)
            self.sent.append(time.time_ns())
            with contextlib.suppress(OSError):
                self.send(f"{number},{number * 0.5}\n".encode())


def main(stand_file: str, run_dir: str, state_dir: str) -> int:
    """Watch until killed or told to end."""
    today = datetime.now(UTC).date()
    stand = load_stand(Path(stand_file), instrument_kinds(), {}, today)
    return asyncio.run(watch(stand, WatchSettings(Path(run_dir), Path(state_dir))))


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
