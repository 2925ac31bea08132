"""Tests for monitor.display.feed.

Source: the order of messages in monitor.link.messages; peers on real sockets, none mocked.
"""

from __future__ import annotations

import asyncio
import socket
import threading
import time
from collections.abc import Awaitable, Callable, Iterator
from contextlib import contextmanager

import pytest
from websockets.asyncio.server import ServerConnection, serve

import monitor.display.feed as feed_module
from monitor.display.feed import Address, Feed, reason_text
from monitor.display.state.connection import Stage
from monitor.errors import LinkError
from monitor.link.codec import encode
from monitor.link.messages import LINK_VERSION, Act, Beat, Change, Ready, Snapshot, Welcome
from tests.monitor.display.fake_engine import TOKEN, FakeEngine
from tests.monitor.display.made import snapshot


def until(is_so: Callable[[], bool], seconds: float = 8.0) -> bool:
    """Wait a little for something to become so."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if is_so():
            return True
        time.sleep(0.01)
    return False


@contextmanager
def running(find: Callable[[], Address]) -> Iterator[Feed]:
    """Run a feed."""
    feed = Feed(find, "test")
    feed.start()
    try:
        yield feed
    finally:
        feed.stop()


def at(port: int, token: str = TOKEN) -> Callable[[], Address]:
    """Give an address that stays."""
    return lambda: Address("127.0.0.1", port, token)


def free_port() -> int:
    """Find a port on which nothing listens."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


def stage(feed: Feed) -> Stage:
    """Tell how the connection stands."""
    return feed.connection().stage


def counts(feed: Feed) -> dict[str, int]:
    """Give the counters."""
    return dict(feed.connection().counts)


@contextmanager
def peer(talk: Callable[[ServerConnection], Awaitable[None]]) -> Iterator[int]:
    """Run a server that talks as it likes; give its port."""
    loop, ports = asyncio.new_event_loop(), list[int]()
    ready, stopping = threading.Event(), asyncio.Event()

    async def main() -> None:
        async with serve(talk, "127.0.0.1", 0) as server:
            ports.append(next(iter(server.sockets)).getsockname()[1])
            ready.set()
            await stopping.wait()

    thread = threading.Thread(target=lambda: loop.run_until_complete(main()), name="peer")
    thread.start()
    assert ready.wait(5)
    try:
        yield ports[0]
    finally:
        loop.call_soon_threadsafe(stopping.set)
        thread.join(10)
        loop.close()


def test_it_connects_takes_the_snapshot_and_gets_changes_when_it_says_ready() -> None:
    with FakeEngine() as engine, running(at(engine.port)) as feed:
        mail: list[object] = []

        def take(kind: type) -> bool:
            mail.extend(letter.message for letter in feed.take())
            return any(isinstance(one, kind) for one in mail)

        assert until(lambda: take(Snapshot))
        assert stage(feed) is Stage.CONNECTED
        feed.send(Ready(1))

        assert until(lambda: take(Change))
        assert feed.connection().where == f"127.0.0.1:{engine.port}"


def test_a_wrong_token_is_refused_with_the_engines_reason() -> None:
    with FakeEngine() as engine, running(at(engine.port, "wrong")) as feed:
        assert until(lambda: stage(feed) is Stage.REFUSED)
        assert "token" in feed.connection().why


def test_it_stops_even_when_a_failing_connection_swallows_the_cancellation(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    is_inside = threading.Event()

    async def swallow(self: Feed, address: Address) -> None:
        is_inside.set()
        try:
            await asyncio.sleep(60)
        except asyncio.CancelledError:
            raise ConnectionResetError("failed in the instant of the cancellation") from None

    monkeypatch.setattr(Feed, "_one_connection", swallow)
    with running(at(free_port())) as feed:
        assert is_inside.wait(5)

    assert not feed.is_alive()


def test_it_waits_for_an_engine_and_finds_it_when_it_comes() -> None:
    port = free_port()
    with running(at(port)) as feed:
        assert until(lambda: feed.connection().attempts >= 2)
        assert stage(feed) is Stage.SEARCHING
        assert feed.connection().why == "nothing listens there"

        with FakeEngine(port=port):
            assert until(lambda: stage(feed) is Stage.CONNECTED)


def test_an_engine_that_was_started_again_elsewhere_is_found() -> None:
    addresses = [at(free_port())()]
    with running(lambda: addresses[-1]) as feed, FakeEngine() as engine:
        assert until(lambda: feed.connection().attempts >= 1)

        addresses.append(at(engine.port)())

        assert until(lambda: stage(feed) is Stage.CONNECTED)


def test_no_engine_on_this_machine_is_said_in_the_words_of_who_looked() -> None:
    def find() -> Address:
        raise LinkError("no watch runs here")

    with running(find) as feed:
        assert until(lambda: feed.connection().why == "no watch runs here")
        assert stage(feed) is Stage.SEARCHING


def test_a_cut_connection_is_lost_and_made_again_with_a_fresh_snapshot() -> None:
    with FakeEngine() as engine, running(at(engine.port)) as feed:
        assert until(lambda: any(isinstance(m.message, Snapshot) for m in feed.take()))

        engine.cut()

        assert until(lambda: counts(feed).get("connections lost") == 1)
        assert until(lambda: any(isinstance(m.message, Snapshot) for m in feed.take()))
        assert counts(feed)["connections made"] == 2


def test_an_engine_that_falls_silent_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(feed_module, "SILENT_AFTER_NS", 400_000_000)
    with FakeEngine() as engine, running(at(engine.port)) as feed:
        assert until(lambda: stage(feed) is Stage.CONNECTED)

        engine.is_silent = True

        assert until(lambda: stage(feed) is Stage.LOST)
        assert feed.connection().why == "the watch did not answer in time"
        engine.is_silent = False
        assert until(lambda: stage(feed) is Stage.CONNECTED)


def test_a_window_that_does_not_take_its_mail_costs_memory_for_so_much_and_no_more(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(feed_module, "MOST_MAIL", 5)

    async def talk(link: ServerConnection) -> None:
        await link.recv()
        await link.send(encode(Welcome(LINK_VERSION, "run")))
        for seq in range(100):
            await link.send(encode(Change(seq, 0)))

    with peer(talk) as port, running(at(port)) as feed:
        assert until(lambda: counts(feed).get("messages dropped, mailbox full", 0) >= 5)
        assert until(lambda: counts(feed).get("connections lost", 0) >= 1)
        assert len(feed.take()) <= 5


def test_beats_and_what_a_snapshot_makes_needless_do_not_pile_up() -> None:
    async def talk(link: ServerConnection) -> None:
        await link.recv()
        await link.send(encode(Welcome(LINK_VERSION, "run")))
        for message in (Change(1, 0), snapshot(), Beat(1), Beat(2), Beat(3)):
            await link.send(encode(message))
        await link.wait_closed()

    with peer(talk) as port, running(at(port)) as feed:
        assert until(lambda: counts(feed).get("messages taken") == 5)
        kinds = [type(letter.message).__name__ for letter in feed.take()]

    assert kinds == ["Snapshot", "Beat"]


@pytest.mark.parametrize("answer", ["text", b"\x81\xa4type\xa3xxx", b"", b"\xff" * 40])
def test_an_answer_that_makes_no_sense_is_survived(answer: str | bytes) -> None:
    async def talk(link: ServerConnection) -> None:
        await link.recv()
        await link.send(answer)
        await link.wait_closed()

    with peer(talk) as port, running(at(port)) as feed:
        assert until(lambda: feed.connection().attempts >= 2)
        assert stage(feed) is Stage.SEARCHING
        assert feed.is_alive()


def test_a_peer_that_is_no_engine_is_told_from_one() -> None:
    async def talk(link: ServerConnection) -> None:
        await link.recv()
        await link.send(encode(Beat(1)))
        await link.wait_closed()

    with peer(talk) as port, running(at(port)) as feed:
        assert until(lambda: feed.connection().attempts >= 1)
        assert "no watch" in feed.connection().why


def test_what_waits_to_be_sent_is_bounded_and_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(feed_module, "MOST_OUT", 2)
    feed = Feed(at(free_port()), "test")

    for _ in range(5):
        feed.send(Act("1", "note", "", "x"))

    assert counts(feed) == {"messages to the watch dropped, outbox full": 3}


def test_acts_reach_the_engine() -> None:
    with FakeEngine() as engine, running(at(engine.port)) as feed:
        assert until(lambda: stage(feed) is Stage.CONNECTED)

        feed.send(Act("d-1", "note", "", "K. Vale", "door open"))

        assert until(lambda: bool(engine.acts))
        assert engine.acts[0] == Act("d-1", "note", "", "K. Vale", "door open")


def test_it_stops_at_once_whatever_it_is_doing() -> None:
    feed = Feed(at(free_port()), "test")
    feed.start()
    started = time.monotonic()

    feed.stop()

    assert not feed.is_alive()
    assert time.monotonic() - started < 2.0


def test_a_feed_that_was_never_started_stops() -> None:
    feed = Feed(at(free_port()), "test")

    feed.stop()

    assert not feed.is_alive()


def test_reasons_are_in_words_of_the_trade() -> None:
    assert reason_text(OSError()) == "OSError"
    assert reason_text(LinkError("x")) == "x"
    assert reason_text(ConnectionRefusedError(111, "x")) == "nothing listens there"


def test_it_stops_at_once_while_messages_pour_in() -> None:
    """Once a stop in a hundred hung: wait_for of Python 3.11 swallowed the cancellation."""

    async def talk(link: ServerConnection) -> None:
        await link.recv()
        await link.send(encode(Welcome(LINK_VERSION, "run")))
        while True:
            await link.send(encode(Beat(1)))

    with peer(talk) as port:
        for _ in range(8):
            with running(at(port)) as feed:
                assert until(lambda feed=feed: counts(feed).get("messages taken", 0) > 50)
            assert not feed.is_alive()
