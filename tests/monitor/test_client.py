"""Tests for monitor.client.

Source: hand-worked here; the order of messages is the one that monitor.link.messages states.
The engine's end is a bare websocket server that speaks it.
"""

from __future__ import annotations

import asyncio
import os
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from websockets.asyncio.server import ServerConnection, serve

import monitor.client as client_module
from monitor.client import default_state_dir, find_watch, new_act_id, opened
from monitor.errors import LinkError
from monitor.link.codec import decode_from_display, encode
from monitor.link.endpoint import ENDPOINT_FILE, Endpoint, encode_endpoint
from monitor.link.messages import (
    LINK_VERSION,
    Act,
    Acted,
    Beat,
    Change,
    Hello,
    PhaseState,
    Ready,
    RecordingState,
    Refused,
    Snapshot,
    StandInfo,
    Welcome,
)

Peer = Callable[[ServerConnection], Awaitable[None]]
STAND = StandInfo("bench", "Bench", [], [], [], [], [], 0.1)
ACT = Act(id="a-1", verb="note", subject="", by="Tester", reason="hello")


def snapshot(seq: int) -> Snapshot:
    """Give a snapshot of an empty stand."""
    phase, recording = PhaseState("ground", 0), RecordingState("recording", "run", "", 0, 0)
    return Snapshot(seq, 0, "run-1", 0, 1.0, STAND, phase, [], [], [], [], recording, {})


@asynccontextmanager
async def engine(peer: Peer) -> AsyncIterator[Endpoint]:
    """Serve *peer* on a free port of this machine."""
    async with serve(peer, "127.0.0.1", 0) as server:
        port = next(iter(server.sockets)).getsockname()[1]
        yield Endpoint(f"ws://127.0.0.1:{port}", "secret", os.getpid(), "run", "bench", 0)


async def greet(socket: ServerConnection) -> Hello:
    """Take the hello; send welcome and first snapshot."""
    hello = decode_from_display(bytes(await socket.recv()))
    assert isinstance(hello, Hello)
    await socket.send(encode(Welcome(LINK_VERSION, "run-1")))
    await socket.send(encode(snapshot(7)))
    return hello


async def test_the_hello_carries_token_name_and_version() -> None:
    heard: list[Hello] = []

    async def peer(socket: ServerConnection) -> None:
        heard.append(await greet(socket))
        await socket.wait_closed()

    async with engine(peer) as endpoint, opened(endpoint, "table") as client:
        assert client.first == snapshot(7)
    assert heard == [Hello(LINK_VERSION, "secret", "table")]


async def test_news_is_asked_for_by_the_newest_number_only_when_taken() -> None:
    heard: list[object] = []

    async def peer(socket: ServerConnection) -> None:
        await greet(socket)
        heard.append(decode_from_display(bytes(await socket.recv())))
        await socket.send(encode(Change(8, 100)))
        heard.append(decode_from_display(bytes(await socket.recv())))
        await socket.send(encode(snapshot(12)))
        heard.append(decode_from_display(bytes(await socket.recv())))

    got: list[int] = []

    async def take_all() -> None:
        async for message in client.news():
            got.append(message.seq)

    async with engine(peer) as endpoint, opened(endpoint, "table") as client:
        with pytest.raises(LinkError, match="closed the link"):
            await take_all()

    assert (got, heard) == ([8, 12], [Ready(7), Ready(8), Ready(12)])


async def test_a_slow_taker_is_not_sent_more_than_it_takes() -> None:
    heard: list[object] = []

    async def peer(socket: ServerConnection) -> None:
        await greet(socket)
        await socket.recv()
        await socket.send(encode(Change(8, 100)))
        heard.append(decode_from_display(bytes(await socket.recv())))

    async with engine(peer) as endpoint, opened(endpoint, "table") as client:
        news = client.news()
        await anext(news)
        await asyncio.sleep(0.05)
        before_the_next_is_taken = list(heard)
        with pytest.raises(LinkError):
            await anext(news)

    assert (before_the_next_is_taken, heard) == ([], [Ready(8)])


async def test_a_beat_is_answered() -> None:
    heard: list[object] = []

    async def peer(socket: ServerConnection) -> None:
        await greet(socket)
        await socket.send(encode(Beat(5)))
        heard.append(decode_from_display(bytes(await socket.recv())))

    async with engine(peer) as endpoint, opened(endpoint, "table") as client:
        with pytest.raises(LinkError):
            await client.listen()

    assert heard == [Beat(5)]


async def test_an_action_gets_its_own_answer() -> None:
    async def peer(socket: ServerConnection) -> None:
        await greet(socket)
        act = decode_from_display(bytes(await socket.recv()))
        assert isinstance(act, Act)
        await socket.send(encode(Acted("of-another", 1)))
        await socket.send(encode(Acted(act.id, 42)))
        await socket.wait_closed()

    async with engine(peer) as endpoint, opened(endpoint, "demo") as client:
        listening = asyncio.create_task(client.listen())
        acted = await client.act(ACT)
        listening.cancel()

    assert acted == Acted("a-1", 42)


async def test_an_action_without_an_answer_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    async def peer(socket: ServerConnection) -> None:
        await greet(socket)
        await socket.wait_closed()

    async with engine(peer) as endpoint, opened(endpoint, "demo") as client:
        monkeypatch.setattr(client_module, "ANSWER_S", 0.05)
        with pytest.raises(LinkError, match="did not answer"):
            await client.act(ACT)


async def test_a_refusal_is_told_in_the_engines_words() -> None:
    async def peer(socket: ServerConnection) -> None:
        await socket.recv()
        await socket.send(encode(Refused("wrong token")))

    async with engine(peer) as endpoint:
        with pytest.raises(LinkError, match="refuses: wrong token"):
            async with opened(endpoint, "table"):
                pass


async def test_another_version_is_told_with_its_cure() -> None:
    async def peer(socket: ServerConnection) -> None:
        await socket.recv()
        await socket.send(encode(Welcome(LINK_VERSION + 1, "run-1")))

    async with engine(peer) as endpoint:
        with pytest.raises(LinkError, match="install the same version"):
            async with opened(endpoint, "table"):
                pass


async def test_an_engine_that_says_nothing_is_not_waited_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async def peer(socket: ServerConnection) -> None:
        await socket.wait_closed()

    async with engine(peer) as endpoint:
        monkeypatch.setattr(client_module, "ANSWER_S", 0.2)
        with pytest.raises(LinkError, match="did not answer"):
            async with opened(endpoint, "table"):
                pass


async def test_text_on_the_link_is_refused() -> None:
    async def peer(socket: ServerConnection) -> None:
        await socket.recv()
        await socket.send("good morning")

    async with engine(peer) as endpoint:
        with pytest.raises(LinkError, match="good morning"):
            async with opened(endpoint, "table"):
                pass


async def test_nobody_at_the_address_is_a_link_error() -> None:
    endpoint = Endpoint("ws://127.0.0.1:9", "secret", os.getpid(), "run", "bench", 0)

    with pytest.raises(LinkError, match="no watch answers"):
        async with opened(endpoint, "table"):
            pass


def test_no_watch_is_told_with_the_command_to_start_one(tmp_path: Path) -> None:
    with pytest.raises(LinkError, match="standwatch watch STANDFILE"):
        find_watch(tmp_path)


def test_a_dead_watch_is_told_from_none(tmp_path: Path) -> None:
    # Process ids end at 2**22 on Linux, so that nobody has this one.
    endpoint = Endpoint("ws://127.0.0.1:9", "secret", 2**22 + 1, "run", "bench", 0)
    (tmp_path / ENDPOINT_FILE).write_bytes(encode_endpoint(endpoint))

    with pytest.raises(LinkError, match="has died"):
        find_watch(tmp_path)


def test_a_live_watch_is_found(tmp_path: Path) -> None:
    endpoint = Endpoint("ws://127.0.0.1:9", "secret", os.getpid(), "run", "bench", 0)
    (tmp_path / ENDPOINT_FILE).write_bytes(encode_endpoint(endpoint))

    assert find_watch(tmp_path) == endpoint


def test_a_state_folder_that_cannot_be_read_is_a_link_error(tmp_path: Path) -> None:
    (tmp_path / ENDPOINT_FILE).mkdir()

    with pytest.raises(LinkError, match="cannot be read"):
        find_watch(tmp_path)


def test_the_state_folder_lies_in_the_runtime_folder_of_the_session(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path))

    assert default_state_dir() == tmp_path / "standwatch"


def test_without_a_runtime_folder_the_state_lies_in_the_home(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path / "gone"))
    monkeypatch.setenv("HOME", str(tmp_path))

    assert default_state_dir() == tmp_path / ".local" / "state" / "standwatch"


def test_ids_of_actions_do_not_repeat() -> None:
    ids = {new_act_id(run, number) for run in ("a", "b") for number in range(3)}

    assert len(ids) == 6
