"""The engine's end of the link: a WebSocket on this machine only, for all its displays."""

from __future__ import annotations

import logging
import os
import secrets
import socket
from pathlib import Path

from websockets.asyncio.server import Server, ServerConnection, serve

from monitor.engine.session import Desk, Session
from monitor.errors import LinkError
from monitor.link.endpoint import (
    ENDPOINT_FILE,
    Endpoint,
    decode_endpoint,
    encode_endpoint,
)

HOST = "127.0.0.1"
#: Displays at the same time.
MOST_DISPLAYS = 32
#: Longest message of a display, in bytes.
_LARGEST_MESSAGE = 1 << 20
#: How long a display may take to say goodbye, in seconds.
_CLOSE_S = 1.0


class LinkServer:
    """Serves displays until it is closed.

    Args:
        desk: What all sessions share.
    """

    def __init__(self, desk: Desk) -> None:
        """Listen to nobody yet."""
        self._desk = desk
        self._server: Server | None = None
        self._open = 0

    async def start(self) -> str:
        """Listen on a free port; give the address."""
        self._server = await serve(
            self._serve,
            HOST,
            0,
            compression=None,
            max_size=_LARGEST_MESSAGE,
            ping_interval=None,
            close_timeout=_CLOSE_S,
            logger=self._logger(),
        )
        port = next(iter(self._server.sockets)).getsockname()[1]
        return f"ws://{HOST}:{port}"

    async def close(self) -> None:
        """Say goodbye to all displays."""
        if self._server is not None:
            self._server.close()
            await self._server.wait_closed()

    def gauges(self) -> dict[str, float]:
        """Give what the health page shows of this."""
        counts = {what: float(number) for what, number in self._desk.counts.items()}
        refused = float(self._desk.acts.refused)
        return {"displays": float(self._open), "actions refused": refused, **counts}

    async def _serve(self, connection: ServerConnection) -> None:
        """Serve one connection."""
        if self._open >= MOST_DISPLAYS:
            self._desk.count("displays too many")
            return
        connection_socket = connection.transport.get_extra_info("socket")
        connection_socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._open += 1
        try:
            await Session(connection, self._desk).run()
        finally:
            self._open -= 1

    def _logger(self) -> logging.Logger:
        """Give a log in which only faults of our own appear; strangers are counted."""
        logger = logging.getLogger(f"{__name__}.{id(self):x}")
        logger.setLevel(logging.WARNING)
        logger.addFilter(self._count_stranger)
        return logger

    def _count_stranger(self, record: logging.LogRecord) -> bool:
        """Count who connects without being a display, instead of logging it."""
        is_stranger = record.msg == "opening handshake failed"
        if is_stranger:
            self._desk.count("connections that were no display")
        return not is_stranger


def new_token() -> str:
    """Make a word that nobody guesses."""
    return secrets.token_urlsafe(32)


def announce(state_dir: Path, endpoint: Endpoint) -> Path:
    """Say where the engine listens, in a file that only this user can read.

    Raises:
        OSError: As the system says.
    """
    state_dir.mkdir(mode=0o700, parents=True, exist_ok=True)
    path = state_dir / ENDPOINT_FILE
    draft = state_dir / f".{ENDPOINT_FILE}.{os.getpid()}"
    draft.unlink(missing_ok=True)
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(encode_endpoint(endpoint))
    draft.replace(path)
    return path


def withdraw(state_dir: Path) -> None:
    """Remove the file again, if it is this process's."""
    path = state_dir / ENDPOINT_FILE
    try:
        endpoint = decode_endpoint(path.read_bytes(), str(path))
    except (FileNotFoundError, LinkError):
        return
    if endpoint.pid == os.getpid():
        path.unlink()


def other_engine(state_dir: Path) -> Endpoint | None:
    """Give the engine that runs with this state folder already, if one does."""
    path = state_dir / ENDPOINT_FILE
    try:
        endpoint = decode_endpoint(path.read_bytes(), str(path))
    except (FileNotFoundError, LinkError):
        return None
    host, _, port = endpoint.url.removeprefix("ws://").rpartition(":")
    try:
        # A process number is used again after a while; a port that answers is better proof.
        os.kill(endpoint.pid, 0)
        socket.create_connection((host, int(port)), timeout=1).close()
    except (OSError, ValueError):
        return None
    return endpoint
