"""Peers for tests of drivers: a port to plug and unplug, a real broker."""

from __future__ import annotations

from collections.abc import Iterator
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
def broker(tmp_path: Path) -> Iterator[Mosquitto]:
    """Give a running broker that takes anybody."""
    peer = Mosquitto(tmp_path)
    peer.start()
    yield peer
    peer.kill()
