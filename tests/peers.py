"""The far ends of wires for tests: terminals, a broker, a sink that remembers, a clock."""

from __future__ import annotations

import asyncio
import contextlib
import getpass
import os
import select
import shutil
import socket
import subprocess
import time
import tty
from collections import Counter
from collections.abc import AsyncIterator, Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from drivers.reading import Block, Clock, Instrument

#: How long a test waits for something that should come at once, in seconds.
SOON_S = 10.0


class PlainClock:
    """Data time for tests: real time, or some speed of it.

    Args:
        speed: Seconds of data time in a real second.
    """

    def __init__(self, speed: float = 1.0) -> None:
        self._speed = speed
        self._start_ns = time.monotonic_ns()
        self._zero_ns = time.time_ns()

    @property
    def speed(self) -> float:
        """Seconds of data time in a real second."""
        return self._speed

    def now_ns(self) -> int:
        """Give the present data time."""
        return self._zero_ns + int((time.monotonic_ns() - self._start_ns) * self._speed)


@dataclass
class MemorySink:
    """A sink that remembers everything.

    Attributes:
        blocks: What was taken, in order.
        opens: Reasons given when the link opened.
        counts: Counters by reason.
        examples: Newest example by reason.
    """

    blocks: list[Block] = field(default_factory=list)
    opens: list[str] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)
    examples: dict[str, str] = field(default_factory=dict)

    def take(self, block: Block) -> None:
        """Remember a block."""
        self.blocks.append(block)

    def opened(self, why: str) -> None:
        """Remember that the link opened."""
        self.opens.append(why)

    def count(self, what: str, number: int = 1, example: str = "") -> None:
        """Add to a counter."""
        self.counts[what] += number
        if example:
            self.examples[what] = example

    def rows(self) -> list[list[float]]:
        """Give every row of every block, in order."""
        return [list(map(float, row)) for block in self.blocks for row in block.values]

    def of(self, signal: str) -> list[float]:
        """Give every number of one signal, in order."""
        return [
            float(value)
            for block in self.blocks
            if signal in block.signals
            for value in block.values[:, block.signals.index(signal)]
            if not np.isnan(value)
        ]


async def until(holds: Callable[[], object], within_s: float = SOON_S) -> None:
    """Wait until something holds; fail when it does not in time."""
    end = time.monotonic() + within_s
    while not holds():
        assert time.monotonic() < end, "did not happen in time"
        await asyncio.sleep(0.005)


@contextlib.asynccontextmanager
async def running(
    instrument: Instrument, sink: MemorySink, clock: Clock | None = None
) -> AsyncIterator[asyncio.Task[None]]:
    """Run an instrument beside the test; stop it at the end.

    The task ends with the instrument's own error where it has one.
    """
    task = asyncio.create_task(instrument.run(sink, clock or PlainClock()), name="instrument")
    try:
        yield task
    finally:
        task.cancel()
        await asyncio.wait({task})
        if not task.cancelled():
            task.exception()


class PtyPort:
    """A serial port that can be plugged and unplugged: a link that points at a terminal.

    Args:
        folder: Where the link is made.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / "port"
        self._master = -1
        self.plug()

    def plug(self) -> None:
        """Plug the instrument in; its port has the same name each time."""
        self._master, slave = os.openpty()
        tty.setraw(slave)
        self.path.unlink(missing_ok=True)
        self.path.symlink_to(os.ttyname(slave))
        # Kept open only by whoever opens the port, so that its end is seen here.
        os.close(slave)

    @property
    def handle(self) -> int:
        """The instrument's side, for a child process to inherit; -1 when unplugged."""
        return self._master

    def unplug(self) -> None:
        """Pull the plug."""
        os.close(self._master)
        self._master = -1
        self.path.unlink(missing_ok=True)

    def send(self, data: bytes) -> None:
        """Send bytes as the instrument; waits while the other end is slow."""
        while data:
            data = data[os.write(self._master, data) :]

    def receive(self, within_s: float = SOON_S) -> bytes:
        """Give what was sent to the instrument; waits for something, nothing if in vain."""
        ready, _, _ = select.select([self._master], [], [], within_s)
        return os.read(self._master, 4096) if ready else b""

    def close(self) -> None:
        """Give the terminal back, if it is still there."""
        if self._master >= 0:
            self.unplug()


def free_port() -> int:
    """Find a TCP port on the loopback interface that nobody uses now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _program(name: str) -> str:
    """Find a program that Debian keeps where a user's path does not look."""
    found = shutil.which(name, path=f"{os.environ.get('PATH', '')}:/usr/sbin:/usr/local/sbin")
    assert found, f"{name} is not installed; .ci/setup test installs it"
    return found


class Mosquitto:
    """A real broker on a port of its own.

    Args:
        folder: Where its configuration and log go.
        extra: Lines to add to its configuration, after the listener's.
        is_open: Whether it takes clients without a name.
    """

    def __init__(self, folder: Path, *extra: str, is_open: bool = True) -> None:
        self.port = free_port()
        self._folder = folder
        self._config = folder / "mosquitto.conf"
        self._process: subprocess.Popen[bytes] | None = None
        lines = [
            f"listener {self.port} 127.0.0.1",
            f"allow_anonymous {str(is_open).lower()}",
            "persistence false",
            "max_queued_messages 0",
            "log_type error",
            f"user {getpass.getuser()}",
            *extra,
        ]
        self._config.write_text("\n".join(lines) + "\n", encoding="utf-8")

    def start(self) -> None:
        """Start the broker; wait until it listens."""
        with (self._folder / "mosquitto.log").open("ab") as log:
            self._process = subprocess.Popen(
                [_program("mosquitto"), "-c", str(self._config)], stdout=log, stderr=log
            )
        end = time.monotonic() + SOON_S
        while True:
            assert time.monotonic() < end, (self._folder / "mosquitto.log").read_text()
            with contextlib.suppress(OSError):
                socket.create_connection(("127.0.0.1", self.port), timeout=1).close()
                return
            time.sleep(0.01)

    def hash_passwords(self, path: Path) -> None:
        """Turn a file of ``user:password`` lines into what the broker reads, in place."""
        subprocess.run(
            [_program("mosquitto_passwd"), "-U", str(path)], check=True, timeout=SOON_S
        )

    def kill(self) -> None:
        """Kill the broker without a goodbye."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    def publish(self, topic: str, payload: str | bytes, *options: str) -> None:
        """Publish with ``mosquitto_pub``; more options as it takes them."""
        data = payload.encode() if isinstance(payload, str) else payload
        self._publish(data, "-t", topic, "-s", *options)

    def publish_lines(self, topic: str, numbers: Iterable[float], *options: str) -> None:
        """Publish many numbers, each as a message, over one connection."""
        data = "".join(f"{number}\n" for number in numbers).encode()
        self._publish(data, "-t", topic, "-l", *options)

    def _publish(self, data: bytes, *options: str) -> None:
        """Run ``mosquitto_pub``."""
        place = ("-h", "127.0.0.1", "-p", str(self.port))
        subprocess.run(
            [_program("mosquitto_pub"), *place, *options],
            input=data,
            check=True,
            timeout=SOON_S,
        )


@dataclass(frozen=True)
class Certificates:
    """PEM files: an authority, and what it signed for the broker and for one client."""

    ca: Path
    server: Path
    server_key: Path
    client: Path
    client_key: Path


def make_certificates(folder: Path) -> Certificates:
    """Make certificates for 127.0.0.1 that are good for a day."""
    ca, ca_key = folder / "ca.pem", folder / "ca.key"
    new_key = ("-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes")
    day = ("-days", "1")
    _openssl(
        *("req", "-x509", *new_key, *day, "-subj", "/CN=test authority"),
        *("-keyout", str(ca_key), "-out", str(ca)),
    )
    made = []
    for name in ("server", "client"):
        key, request, pem = (folder / f"{name}.{end}" for end in ("key", "csr", "pem"))
        names = folder / f"{name}.ext"
        names.write_text("subjectAltName=IP:127.0.0.1\n", encoding="utf-8")
        _openssl(
            *("req", *new_key, "-subj", f"/CN={name}"),
            *("-keyout", str(key), "-out", str(request)),
        )
        _openssl(
            *("x509", "-req", "-in", str(request), "-CA", str(ca), "-CAkey", str(ca_key)),
            *("-CAcreateserial", *day, "-extfile", str(names), "-out", str(pem)),
        )
        made += [pem, key]
    return Certificates(ca, *made)


def _openssl(*arguments: str) -> None:
    """Run openssl; fail with what it says."""
    done = subprocess.run(
        [_program("openssl"), *arguments], capture_output=True, timeout=SOON_S, check=False
    )
    assert done.returncode == 0, done.stderr.decode()
