"""The link to a running watch from outside, without Qt: look on, and act."""

from __future__ import annotations

import asyncio
import os
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed, InvalidHandshake

from monitor.errors import LinkError
from monitor.link.codec import decode_from_engine, encode
from monitor.link.endpoint import ENDPOINT_FILE, Endpoint, decode_endpoint
from monitor.link.messages import (
    LINK_VERSION,
    Act,
    Acted,
    Beat,
    Change,
    FromEngine,
    Hello,
    Ready,
    Refused,
    Snapshot,
    Welcome,
)

#: How long the engine may take for one answer, in seconds.
ANSWER_S = 10.0
#: A snapshot of a large stand with its events stays far below this, in bytes.
LARGEST_MESSAGE = 64 * 1024 * 1024


def default_state_dir() -> Path:
    """Give the folder in which a watch of this user says where it listens."""
    runtime = os.environ.get("XDG_RUNTIME_DIR", "")
    if runtime and Path(runtime).is_dir():
        return Path(runtime) / "standwatch"
    return Path.home() / ".local" / "state" / "standwatch"


def find_watch(state_dir: Path) -> Endpoint:
    """Read where the watch of this machine listens.

    Raises:
        LinkError: No watch runs, or it died; the text says what to do.
    """
    path = state_dir / ENDPOINT_FILE
    try:
        endpoint = decode_endpoint(path.read_bytes(), str(path))
    except FileNotFoundError as error:
        raise LinkError(
            f"no watch runs here ({path} does not exist); start one with "
            "'standwatch watch STANDFILE', or name its folder with --state-dir"
        ) from error
    except OSError as error:
        raise LinkError(f"{path}: cannot be read: {error.strerror}") from error
    if not is_alive(endpoint.pid):
        raise LinkError(
            f"the watch of {endpoint.stand!r} has died (process {endpoint.pid}); start it "
            "again with 'standwatch watch', and it goes on with its run"
        )
    return endpoint


def is_alive(pid: int) -> bool:
    """Whether a process of that number exists."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True


@dataclass(slots=True)
class Client:
    """An open link. Made by :func:`opened`.

    Attributes:
        first: Everything at the moment of connecting.
        heard_ns: Reading of the monotonic clock when the newest message came.
    """

    first: Snapshot
    heard_ns: int
    _socket: ClientConnection
    _waiting: dict[str, asyncio.Future[Acted]]

    async def news(self) -> AsyncIterator[Snapshot | Change]:
        """Give what is new, for as long as the link lives; asks only when it is taken.

        Raises:
            LinkError: The link was lost.
        """
        seq = self.first.seq
        await self._send(Ready(seq))
        while True:
            message = await self._receive()
            if isinstance(message, Snapshot | Change):
                yield message
                await self._send(Ready(message.seq))

    async def listen(self) -> None:
        """Take answers to actions, without asking for news, for as long as the link lives.

        Raises:
            LinkError: The link was lost.
        """
        while True:
            await self._receive()

    async def act(self, act: Act) -> Acted:
        """Send an action; :meth:`news` or :meth:`listen` must run meanwhile.

        Raises:
            LinkError: No answer came.
        """
        answer: asyncio.Future[Acted] = asyncio.get_running_loop().create_future()
        self._waiting[act.id] = answer
        try:
            await self._send(act)
            return await asyncio.wait_for(answer, ANSWER_S)
        except TimeoutError as error:
            raise LinkError(f"the watch did not answer within {ANSWER_S:g} s") from error
        finally:
            self._waiting.pop(act.id, None)

    async def _send(self, message: Ready | Act | Beat) -> None:
        try:
            await self._socket.send(encode(message))
        except ConnectionClosed as error:
            raise LinkError("the watch closed the link") from error

    async def _receive(self) -> FromEngine:
        """Take one message; answer beats and settle actions on the way."""
        message = await _message(self._socket)
        self.heard_ns = time.monotonic_ns()
        if isinstance(message, Beat):
            await self._send(message)
        if isinstance(message, Acted) and (waiting := self._waiting.pop(message.id, None)):
            waiting.set_result(message)
        return message


@asynccontextmanager
async def opened(endpoint: Endpoint, name: str) -> AsyncIterator[Client]:
    """Open the link to a watch.

    Args:
        endpoint: Where it listens, from :func:`find_watch`.
        name: What this end calls itself, for the watch's health page.

    Raises:
        LinkError: Nobody listens there, or the watch refuses; the text says what to do.
    """
    try:
        socket = await connect(
            endpoint.url,
            compression=None,
            max_size=LARGEST_MESSAGE,
            open_timeout=ANSWER_S,
            # Beats are the sign of life of this link.
            ping_interval=None,
        )
    except (OSError, InvalidHandshake, TimeoutError) as error:
        raise LinkError(f"no watch answers at {endpoint.url}: {error}") from error
    try:
        await socket.send(encode(Hello(LINK_VERSION, endpoint.token, name)))
        yield Client(await _greeted(socket), time.monotonic_ns(), socket, {})
    except ConnectionClosed as error:
        raise LinkError("the watch closed the link") from error
    finally:
        await socket.close()


async def _greeted(socket: ClientConnection) -> Snapshot:
    """Wait for the welcome and the first snapshot."""
    try:
        async with asyncio.timeout(ANSWER_S):
            while True:
                message = await _message(socket)
                if isinstance(message, Refused):
                    raise LinkError(f"the watch refuses: {message.why}")
                if isinstance(message, Welcome) and message.version != LINK_VERSION:
                    raise LinkError(
                        f"the watch speaks version {message.version} of the link and this "
                        f"program {LINK_VERSION}; install the same version on both sides"
                    )
                if isinstance(message, Snapshot):
                    return message
    except TimeoutError as error:
        raise LinkError(f"the watch did not answer within {ANSWER_S:g} s") from error


async def _message(socket: ClientConnection) -> FromEngine:
    """Take one message off the wire."""
    try:
        data = await socket.recv()
    except ConnectionClosed as error:
        raise LinkError("the watch closed the link") from error
    if isinstance(data, str):
        raise LinkError(f"the watch sent text instead of a message: {data[:40]!r}")
    return decode_from_engine(data)


def new_act_id(run: str, number: int) -> str:
    """Give an id for an action that no other client of this run uses."""
    return f"{os.getpid()}-{run}-{number}"
