"""The display's end of the link: a thread of its own that connects again and again, for ever.

The window never waits for it: messages wait in a bounded mailbox, answers in a bounded outbox,
and what does not fit is counted and cured by a fresh Snapshot.
"""

from __future__ import annotations

import asyncio
import contextlib
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, replace

from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed, WebSocketException

from monitor.display.state.connection import SILENT_AFTER_NS, Connection, Stage, retry_s
from monitor.display.state.desk import Mail
from monitor.errors import LinkError
from monitor.link.codec import decode_from_engine, encode
from monitor.link.messages import (
    LINK_VERSION,
    Beat,
    FromDisplay,
    FromEngine,
    Hello,
    Refused,
    Snapshot,
    Welcome,
)

#: Messages that may wait for the window.
MOST_MAIL = 4096
#: Messages that may wait to be sent.
MOST_OUT = 1024
#: A Snapshot of a thousand channels with its journal is far below this, in bytes.
_LARGEST_MESSAGE = 64 * 1024 * 1024
_OPEN_TIMEOUT_S = 5.0
_BEAT_S = 1.0
#: A refusal needs a person: try seldom.
_REFUSED_RETRY_S = 5.0


@dataclass(frozen=True, slots=True)
class Address:
    """Where an engine listens, and the word that lets a display in."""

    host: str
    port: int
    token: str

    @property
    def where(self) -> str:
        """Give host and port for people."""
        return f"{self.host}:{self.port}"


class RefusedByEngineError(LinkError):
    """The engine said no; the text is its reason."""


class Feed:
    """Keeps a connection to the engine. All methods may be called from any thread.

    Args:
        find: Gives the engine's address, or raises a LinkError that says why there is none;
            asked before each try, because an engine that was started again has another port
            and token.
        name: Name of this display, for the engine's list.
    """

    def __init__(self, find: Callable[[], Address], name: str) -> None:
        """Prepare; :meth:`start` begins."""
        self._find = find
        self._name = name
        self._lock = threading.Lock()
        self._mail: deque[Mail] = deque()
        self._out: deque[bytes] = deque()
        self._counts: dict[str, int] = {}
        self._connection = Connection(since_ns=time.monotonic_ns())
        self._loop: asyncio.AbstractEventLoop | None = None
        self._is_ready = threading.Event()
        self._has_out = asyncio.Event()
        self._stopping = asyncio.Event()
        self._overrun = asyncio.Event()
        self._thread = threading.Thread(target=self._run, name="link feed", daemon=True)

    def start(self) -> None:
        """Begin to connect."""
        self._thread.start()
        self._is_ready.wait()

    def stop(self) -> None:
        """Close the connection and end the thread."""
        self._tell(self._stopping)
        if self._thread.is_alive():
            self._thread.join(timeout=_OPEN_TIMEOUT_S)

    def is_alive(self) -> bool:
        """Tell whether the thread runs."""
        return self._thread.is_alive()

    def take(self) -> list[Mail]:
        """Give all that came since the last call."""
        with self._lock:
            mail = list(self._mail)
            self._mail.clear()
        return mail

    def connection(self) -> Connection:
        """Tell how the connection stands, with every counter."""
        with self._lock:
            return replace(self._connection, counts=tuple(sorted(self._counts.items())))

    def send(self, message: FromDisplay) -> None:
        """Send when connected. What is not sent when the link is lost is forgotten."""
        with self._lock:
            if len(self._out) >= MOST_OUT:
                self._count("messages to the watch dropped, outbox full")
                return
            self._out.append(encode(message))
        self._tell(self._has_out)

    def _tell(self, event: asyncio.Event) -> None:
        """Set an event of the thread's loop."""
        if self._loop is not None:
            with contextlib.suppress(RuntimeError):  # The loop has closed: nobody waits.
                self._loop.call_soon_threadsafe(event.set)

    def _count(self, what: str, number: int = 1) -> None:
        """Add to a counter; the lock is held."""
        self._counts[what] = self._counts.get(what, 0) + number

    def _run(self) -> None:
        """Be the thread."""
        asyncio.run(self._for_ever())

    async def _for_ever(self) -> None:
        """Connect until told to stop."""
        self._loop = asyncio.get_running_loop()
        self._is_ready.set()
        stopping = asyncio.create_task(self._stopping.wait(), name="feed stop")
        trying = asyncio.create_task(self._keep_trying(), name="feed tries")
        await asyncio.wait({stopping, trying}, return_when=asyncio.FIRST_COMPLETED)
        for task in (stopping, trying):
            task.cancel()
        results = await asyncio.gather(stopping, trying, return_exceptions=True)
        for result in results:
            if isinstance(result, Exception):
                raise result

    async def _keep_trying(self) -> None:
        """Connect, serve until the link is lost, wait, and again."""
        # Not the cancellation alone: a task group of Python 3.11 can swallow it.
        while not self._stopping.is_set():
            wait_s = retry_s(self._connection.attempts)
            try:
                await self._one_connection(self._found())
            except RefusedByEngineError as error:
                wait_s = _REFUSED_RETRY_S
                self._failed(str(error), Stage.REFUSED)
            except (OSError, TimeoutError, WebSocketException, LinkError) as error:
                self._failed(reason_text(error))
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(wait_s):
                    await self._stopping.wait()

    def _found(self) -> Address:
        """Give the engine's address, and say that it is tried."""
        address = self._find()
        with self._lock:
            self._connection = replace(self._connection, where=address.where)
        return address

    def _failed(self, why: str, stage: Stage | None = None) -> None:
        """Note that there is no connection now."""
        with self._lock:
            was = self._connection
            lost = Stage.LOST if was.heard_ns else Stage.SEARCHING
            stage_now = stage or lost
            self._connection = replace(
                was,
                stage=stage_now,
                since_ns=was.since_ns if was.stage is stage_now else time.monotonic_ns(),
                why=why,
                attempts=was.attempts + 1,
            )
            if was.stage is Stage.CONNECTED:
                self._count("connections lost")
            self._out.clear()

    async def _one_connection(self, address: Address) -> None:
        """Greet, then send and receive until something ends it; always raises."""
        async with connect(
            f"ws://{address.where}",
            compression=None,
            max_size=_LARGEST_MESSAGE,
            open_timeout=_OPEN_TIMEOUT_S,
            close_timeout=0.2,
            ping_interval=None,
            proxy=None,
        ) as link:
            await self._greet(link, address)
            try:
                async with asyncio.TaskGroup() as group:
                    group.create_task(self._receive(link), name="feed receive")
                    group.create_task(self._send(link), name="feed send")
                    group.create_task(self._beat(link), name="feed beat")
                    group.create_task(self._give_up_when_overrun(), name="feed overrun")
            except ExceptionGroup as errors:
                # The first one is the cause; the others fell with it.
                raise errors.exceptions[0] from errors

    async def _greet(self, link: ClientConnection, address: Address) -> None:
        """Say hello and hear whether the engine accepts."""
        await link.send(encode(Hello(LINK_VERSION, address.token, self._name)))
        async with asyncio.timeout(_OPEN_TIMEOUT_S):
            answer = await self._one_message(link)
        if isinstance(answer, Refused):
            raise RefusedByEngineError(answer.why)
        if not isinstance(answer, Welcome):
            raise LinkError("the other end is no watch of this program")
        with self._lock:
            now_ns = time.monotonic_ns()
            self._overrun.clear()
            self._count("connections made")
            self._connection = replace(
                self._connection,
                stage=Stage.CONNECTED, since_ns=now_ns, heard_ns=now_ns,
                where=address.where, why="", attempts=0,
            )  # fmt: skip

    async def _one_message(self, link: ClientConnection) -> FromEngine:
        """Receive and decode one message."""
        data = await link.recv()
        if isinstance(data, str):
            raise LinkError("the watch sent text where bytes belong")
        return decode_from_engine(data)

    async def _receive(self, link: ClientConnection) -> None:
        """Put messages into the mailbox until the engine falls silent."""
        while True:
            # Not wait_for: on Python 3.11 it can swallow the cancellation that stops us.
            async with asyncio.timeout(2 * SILENT_AFTER_NS / 1e9):
                message = await self._one_message(link)
            self._post(Mail(message, time.monotonic_ns()))

    def _post(self, letter: Mail) -> None:
        """Lay one message into the mailbox; what a Snapshot makes needless goes."""
        with self._lock:
            self._count("messages taken")
            self._connection = replace(self._connection, heard_ns=letter.mono_ns)
            newest = self._mail[-1].message if self._mail else None
            if isinstance(letter.message, Beat) and isinstance(newest, Beat):
                self._mail.pop()
            if isinstance(letter.message, Snapshot):
                self._mail.clear()
            if len(self._mail) >= MOST_MAIL:
                self._count("messages dropped, mailbox full", len(self._mail))
                self._mail.clear()
                self._overrun.set()
                return
            self._mail.append(letter)

    async def _give_up_when_overrun(self) -> None:
        """End the connection when messages were dropped: only a fresh Snapshot cures that."""
        await self._overrun.wait()
        raise LinkError("this display was too slow and starts afresh")

    async def _send(self, link: ClientConnection) -> None:
        """Send what waits."""
        while True:
            await self._has_out.wait()
            self._has_out.clear()
            with self._lock:
                waiting = list(self._out)
                self._out.clear()
            for data in waiting:
                await link.send(data)

    async def _beat(self, link: ClientConnection) -> None:
        """Give a sign of life each second."""
        while True:
            await link.send(encode(Beat(time.time_ns())))
            await asyncio.sleep(_BEAT_S)


def reason_text(error: BaseException) -> str:
    """Say why a connection failed, in words of the trade rather than of the library."""
    if isinstance(error, ConnectionRefusedError):
        return "nothing listens there"
    if isinstance(error, ConnectionClosed):
        return "the watch closed the connection"
    if isinstance(error, TimeoutError):
        return "the watch did not answer in time"
    return str(error) or type(error).__name__
