"""Tests for monitor.engine.serve.

Source: hand-worked here.
"""

from __future__ import annotations

import asyncio
import logging
import os
import socket
import stat
from collections.abc import AsyncIterator
from pathlib import Path

import numpy as np
import pytest
from websockets.asyncio.client import connect
from websockets.exceptions import ConnectionClosed

from monitor.alarms.plan import AlarmsPlan
from monitor.channels.plan import ChannelsPlan
from monitor.engine import serve as module
from monitor.engine.acts import ActDesk
from monitor.engine.board import Board, RunFacts
from monitor.engine.serve import (
    LinkServer,
    announce,
    new_token,
    other_engine,
    withdraw,
)
from monitor.engine.session import Desk
from monitor.events import Action
from monitor.link.codec import decode_from_engine, encode
from monitor.link.endpoint import Endpoint, decode_endpoint
from monitor.link.messages import (
    LINK_VERSION,
    AlarmState,
    ForcedState,
    Hello,
    PhaseState,
    RecordingState,
    StandInfo,
    Welcome,
)
from monitor.pipeline import Plan
from monitor.samples import Bytes, Floats, Ints

TOKEN = "open sesame"


class Standing:
    def phase(self) -> PhaseState:
        return PhaseState("ground", 1)

    def alarm(self, position: int) -> AlarmState:
        raise AssertionError(position)

    def forced(self) -> list[ForcedState]:
        return []

    def newest(self) -> tuple[Ints, Floats, Bytes]:
        return np.zeros(0, np.int64), np.zeros(0), np.zeros(0, np.uint8)


def do_nothing(action: Action) -> int:
    raise AssertionError(action)


@pytest.fixture
async def server() -> AsyncIterator[LinkServer]:
    stand = StandInfo("bench", "Bench", [], [], [], [], [], 0.1)
    facts = RunFacts("run-1", 1, 1.0, stand, np.array([], np.int64), 0)
    board = Board(facts, Standing(), {}, RecordingState("recording", "", "", 0, 0))
    plan = Plan(ChannelsPlan(()), (), AlarmsPlan((), ("ground",)))
    made = LinkServer(Desk(board, ActDesk(plan, do_nothing), "run-1", TOKEN, lambda: 1))
    yield made
    await made.close()


async def gauge(server: LinkServer, name: str, value: float) -> float:
    """Wait until a gauge has a value, or give what it has after a while."""
    for _ in range(200):
        if server.gauges().get(name) == value:
            break
        await asyncio.sleep(0.01)
    return server.gauges().get(name, -1.0)


async def test_it_listens_on_this_machine_only_on_a_port_of_its_choice(
    server: LinkServer,
) -> None:
    url = await server.start()
    port = int(url.rpartition(":")[2])

    assert url == f"ws://127.0.0.1:{port}"
    assert port > 0


async def test_displays_are_counted_while_they_are_there(server: LinkServer) -> None:
    url = await server.start()
    async with connect(url, compression=None) as one, connect(url, compression=None) as two:
        for end in (one, two):
            await end.send(encode(Hello(LINK_VERSION, TOKEN, "test")))
            data = await end.recv()
            assert isinstance(data, bytes)
            assert isinstance(decode_from_engine(data), Welcome)

        assert server.gauges()["displays"] == 2

    assert await gauge(server, "displays", 0) == 0


async def test_a_stranger_on_the_port_is_counted_and_not_logged(
    server: LinkServer, capfd: pytest.CaptureFixture[str]
) -> None:
    url = await server.start()
    _, writer = await asyncio.open_connection("127.0.0.1", int(url.rpartition(":")[2]))
    writer.write(b"GET / HTTP/1.1\r\n\r\n")
    await writer.drain()

    assert await gauge(server, "connections that were no display", 1) == 1
    assert capfd.readouterr().err == ""
    writer.close()
    await writer.wait_closed()


async def test_a_fault_of_our_own_is_logged(
    server: LinkServer, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    class Faulty:
        def __init__(self, *_: object) -> None:
            raise ZeroDivisionError

    monkeypatch.setattr(module, "Session", Faulty)
    url = await server.start()
    with caplog.at_level(logging.ERROR), pytest.raises(ConnectionClosed):
        async with connect(url) as end:
            await end.recv()

    assert "ZeroDivisionError" in caplog.text
    assert server.gauges()["displays"] == 0


async def test_more_displays_than_can_be_are_sent_away(
    server: LinkServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "MOST_DISPLAYS", 1)
    url = await server.start()
    async with connect(url), connect(url) as second:
        with pytest.raises(ConnectionClosed):
            await second.recv()

    assert server.gauges()["displays too many"] == 1


async def test_closing_ends_a_display_that_hangs(server: LinkServer) -> None:
    url = await server.start()
    async with connect(url, compression=None) as end:
        end.transport.pause_reading()
        began = asyncio.get_running_loop().time()
        await server.close()

        assert asyncio.get_running_loop().time() - began < 4
        end.transport.abort()


def endpoint(url: str = "ws://127.0.0.1:1", pid: int | None = None) -> Endpoint:
    return Endpoint(url, "t", os.getpid() if pid is None else pid, "/runs/one", "bench", 1)


def test_the_file_is_readable_by_its_user_only(tmp_path: Path) -> None:
    path = announce(tmp_path / "state", endpoint())

    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    assert decode_endpoint(path.read_bytes(), "") == endpoint()


def test_a_file_left_by_a_killed_engine_is_replaced(tmp_path: Path) -> None:
    announce(tmp_path, endpoint("ws://127.0.0.1:1"))

    path = announce(tmp_path, endpoint("ws://127.0.0.1:2"))

    assert decode_endpoint(path.read_bytes(), "").url == "ws://127.0.0.1:2"
    assert [entry.name for entry in tmp_path.iterdir()] == ["engine.json"]


def test_only_the_file_of_this_process_is_removed(tmp_path: Path) -> None:
    path = announce(tmp_path, endpoint(pid=1))
    withdraw(tmp_path)
    assert path.exists()

    announce(tmp_path, endpoint())
    withdraw(tmp_path)
    withdraw(tmp_path)

    assert not path.exists()


def test_a_running_engine_is_found(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as listening:
        url = f"ws://127.0.0.1:{listening.getsockname()[1]}"
        announce(tmp_path, endpoint(url))

        assert other_engine(tmp_path) == endpoint(url)


@pytest.mark.parametrize(
    "stale",
    [
        endpoint("ws://127.0.0.1:1"),
        endpoint("nonsense"),
        endpoint("ws://127.0.0.1:9", 2**22 + 7),
    ],
)
def test_an_engine_that_has_died_is_not(tmp_path: Path, stale: Endpoint) -> None:
    announce(tmp_path, stale)

    assert other_engine(tmp_path) is None


def test_no_file_or_a_broken_one_is_no_engine(tmp_path: Path) -> None:
    assert other_engine(tmp_path) is None

    (tmp_path / "engine.json").write_bytes(b"{")

    assert other_engine(tmp_path) is None


def test_tokens_are_long_and_never_the_same() -> None:
    assert len(new_token()) >= 40
    assert new_token() != new_token()
