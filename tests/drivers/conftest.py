"""Peers for tests of drivers: a port to plug and unplug, a real broker."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import pytest

from tests.peers import MemorySink, Mosquitto, PtyPort


@pytest.fixture
def sink() -> MemorySink:
    """Give a sink that remembers everything."""
    return MemorySink()


@pytest.fixture
def pty_port(tmp_path: Path) -> Iterator[PtyPort]:
    """Give a serial port made of a terminal, plugged in."""
    port = PtyPort(tmp_path)
    yield port
    port.close()


@pytest.fixture
async def end_of_pool() -> AsyncIterator[None]:
    """End the loop's pool of threads: the MQTT library connects in it."""
    yield
    await asyncio.get_running_loop().shutdown_default_executor()


@pytest.fixture
def broker(tmp_path: Path, end_of_pool: None) -> Iterator[Mosquitto]:
    """Give a running broker that takes anybody."""
    peer = Mosquitto(tmp_path)
    peer.start()
    yield peer
    peer.kill()
