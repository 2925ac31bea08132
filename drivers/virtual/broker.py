"""An MQTT broker for the demo: embedded where that is installed, else a mosquitto process."""

from __future__ import annotations

import asyncio
import contextlib
import importlib.util
import logging
import shutil
import socket
import tempfile
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from drivers.errors import DriverError

HOST = "127.0.0.1"
#: How long the process may take to listen, in s.
_START_S = 5.0
#: How long the embedded broker may take to end, in s; what is left then is cancelled.
_STOP_S = 1.0


class NoBrokerError(DriverError):
    """There is no broker that could be started; the text says what to install."""


@asynccontextmanager
async def running_broker() -> AsyncIterator[int]:
    """Run a broker on a free port of the loopback interface; give the port.

    Raises:
        NoBrokerError: Neither amqtt nor mosquitto is there, or it would not start.
    """
    port = _free_port()
    if importlib.util.find_spec("amqtt") is not None:
        async with _embedded(port):
            yield port
        return
    program = shutil.which("mosquitto", path=_SEARCH)
    if program is None:
        raise NoBrokerError(
            "no MQTT broker for the virtual cabin node: install the extra 'demo' "
            "(pip install 'standwatch[demo]') or the Debian package mosquitto"
        )
    async with _process(program, port):
        yield port


#: mosquitto is installed where only root's PATH leads.
_SEARCH = "/usr/local/sbin:/usr/sbin:/sbin:/usr/local/bin:/usr/bin:/bin:/opt/homebrew/sbin"


def _free_port() -> int:
    """Find a port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return int(probe.getsockname()[1])


@asynccontextmanager
async def _embedded(port: int) -> AsyncIterator[None]:
    """Run amqtt in this event loop."""
    from amqtt.broker import Broker

    # It logs every connection that ends as an error.
    logging.getLogger("amqtt").setLevel(logging.CRITICAL)
    logging.getLogger("transitions").setLevel(logging.CRITICAL)
    anonymous = "amqtt.plugins.authentication.AnonymousAuthPlugin"
    broker = Broker(
        {
            "listeners": {"default": {"type": "tcp", "bind": f"{HOST}:{port}"}},
            "plugins": {anonymous: {"allow_anonymous": True}},
        }
    )
    await broker.start()
    try:
        yield
    finally:
        # It waits for ever for a client that was cut off while it connected.
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(_STOP_S):
                await broker.shutdown()


@asynccontextmanager
async def _process(program: str, port: int) -> AsyncIterator[None]:
    """Run mosquitto with settings of its own."""
    with tempfile.TemporaryDirectory(prefix="virtual-broker-") as folder:
        settings = _written(Path(folder), port)
        process = await asyncio.create_subprocess_exec(
            program, "-c", str(settings), stdin=asyncio.subprocess.DEVNULL
        )
        try:
            await _listens(process, port)
            yield
        finally:
            if process.returncode is None:
                process.terminate()
            await process.wait()


def _written(folder: Path, port: int) -> Path:
    """Write mosquitto's settings, readable by the user that it drops to."""
    folder.chmod(0o755)
    settings = folder / "mosquitto.conf"
    settings.write_text(
        f"listener {port} {HOST}\nallow_anonymous true\npersistence false\n"
        "max_queued_messages 0\nlog_type error\n",
        encoding="ascii",
    )
    settings.chmod(0o644)
    return settings


async def _listens(process: asyncio.subprocess.Process, port: int) -> None:
    """Wait until the process takes connections."""
    for _ in range(int(_START_S / 0.05)):
        if process.returncode is not None:
            break
        try:
            _reader, writer = await asyncio.open_connection(HOST, port)
        except OSError:
            await asyncio.sleep(0.05)
            continue
        writer.close()
        await writer.wait_closed()
        return
    raise NoBrokerError(f"mosquitto does not listen on port {port} (exit {process.returncode})")
