"""Tests for monitor.terminal.follow.

Source: hand-worked here. The watch is a bare websocket server that speaks the link.
"""

from __future__ import annotations

import asyncio
import os
from collections.abc import AsyncIterator, Awaitable, Callable, Sequence
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from websockets.asyncio.server import ServerConnection, serve

from monitor.display.state.model import Model
from monitor.errors import LinkError
from monitor.events import Event
from monitor.link.codec import encode
from monitor.link.endpoint import ENDPOINT_FILE, Endpoint, encode_endpoint
from monitor.link.messages import LINK_VERSION, Change, Refused, Snapshot, Welcome
from monitor.terminal import follow as follow_module
from monitor.terminal.follow import follow
from tests.monitor.terminal.made import RAISED, STARTED, recording, snapshot

Peer = Callable[[ServerConnection], Awaitable[None]]


class Seen:
    """A screen that notes what it is given."""

    def __init__(self) -> None:
        self.events: list[Event] = []
        self.troubles: list[str] = []
        self.models = 0

    def news(self, model: Model, events: Sequence[Event]) -> None:
        """Note the events."""
        self.events += events

    def tick(self, model: Model | None, mono_ns: int, trouble: str) -> None:
        """Note whether something is known, and the trouble."""
        self.models += model is not None
        if trouble and trouble not in self.troubles:
            self.troubles.append(trouble)


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw and retry quickly."""
    monkeypatch.setattr(follow_module, "TICK_S", 0.01)
    monkeypatch.setattr(follow_module, "RETRY_S", 0.02)


@asynccontextmanager
async def watch(folder: Path, peer: Peer) -> AsyncIterator[None]:
    """Serve *peer*, and say where in *folder* as an engine does."""
    async with serve(peer, "127.0.0.1", 0) as server:
        port = next(iter(server.sockets)).getsockname()[1]
        endpoint = Endpoint(f"ws://127.0.0.1:{port}", "s", os.getpid(), "run", "bench", 0)
        (folder / ENDPOINT_FILE).write_bytes(encode_endpoint(endpoint))
        yield


async def greet(socket: ServerConnection, first: Snapshot) -> None:
    """Open the link as an engine does."""
    await socket.recv()
    await socket.send(encode(Welcome(LINK_VERSION, "run-1")))
    await socket.send(encode(first))


async def test_it_ends_when_the_run_was_closed(tmp_path: Path) -> None:
    async def peer(socket: ServerConnection) -> None:
        await greet(socket, snapshot())
        await socket.recv()
        await socket.send(encode(Change(2, 5, events=[RAISED], recording=recording("closed"))))
        await socket.recv()

    seen = Seen()
    async with watch(tmp_path, peer):
        await asyncio.wait_for(follow(tmp_path, seen), 5)

    assert seen.events == [STARTED, RAISED]
    assert seen.troubles == []


async def test_it_ends_when_the_watch_has_taken_its_address_away(tmp_path: Path) -> None:
    async def peer(socket: ServerConnection) -> None:
        await greet(socket, snapshot())
        (tmp_path / ENDPOINT_FILE).unlink()

    seen = Seen()
    async with watch(tmp_path, peer):
        await asyncio.wait_for(follow(tmp_path, seen), 5)

    assert seen.models > 0


async def test_a_watch_that_comes_back_is_followed_without_telling_an_event_twice(
    tmp_path: Path,
) -> None:
    answers = [
        snapshot(1, events=[STARTED]),
        snapshot(9, events=[STARTED, RAISED], state="closed"),
    ]

    async def peer(socket: ServerConnection) -> None:
        await greet(socket, answers.pop(0))

    seen = Seen()
    async with watch(tmp_path, peer):
        await asyncio.wait_for(follow(tmp_path, seen), 5)

    assert seen.events == [STARTED, RAISED]
    assert any("closed the link" in line for line in seen.troubles)


async def test_with_its_parent_gone_it_does_not_wait_for_the_watch(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def peer(socket: ServerConnection) -> None:
        await greet(socket, snapshot())
        monkeypatch.setattr(os, "getppid", lambda: 1)

    async with watch(tmp_path, peer):
        await asyncio.wait_for(follow(tmp_path, Seen(), with_parent=True), 5)

    assert (tmp_path / ENDPOINT_FILE).exists()


async def test_without_a_watch_it_does_not_begin(tmp_path: Path) -> None:
    with pytest.raises(LinkError, match="no watch runs here"):
        await follow(tmp_path, Seen())


async def test_a_watch_that_says_nothing_is_not_taken_for_the_present(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(follow_module, "SILENT_AFTER_NS", 50_000_000)

    async def peer(socket: ServerConnection) -> None:
        await greet(socket, snapshot())
        await asyncio.sleep(0.3)
        await socket.recv()
        await socket.send(encode(Change(2, 5, recording=recording("closed"))))
        await socket.recv()

    seen = Seen()
    async with watch(tmp_path, peer):
        await asyncio.wait_for(follow(tmp_path, seen), 5)

    assert any("nothing was said for" in line for line in seen.troubles)


async def test_a_refusal_ends_it(tmp_path: Path) -> None:
    async def peer(socket: ServerConnection) -> None:
        await socket.recv()
        await socket.send(encode(Refused("wrong token")))

    async with watch(tmp_path, peer):
        with pytest.raises(LinkError, match="wrong token"):
            await follow(tmp_path, Seen())


async def test_a_fault_of_the_screen_is_not_hidden(tmp_path: Path) -> None:
    class Broken(Seen):
        def tick(self, model: Model | None, mono_ns: int, trouble: str) -> None:
            if model is not None:
                raise ArithmeticError("cannot draw")

    async def peer(socket: ServerConnection) -> None:
        await greet(socket, snapshot())
        await socket.wait_closed()

    async with watch(tmp_path, peer):
        with pytest.raises(ArithmeticError):
            await asyncio.wait_for(follow(tmp_path, Broken()), 5)
