"""Tests for drivers.transports.mqtt_session.

Source: hand-worked here. The broker is mosquitto; where a broker must misbehave it is a few
bytes written by hand after MQTT Version 3.1.1 (OASIS), 3.2 (CONNACK), 3.3 (PUBLISH) and 3.9
(SUBACK).
"""

from __future__ import annotations

import asyncio
import contextlib
import time
from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import pytest

from drivers.errors import PortLostError, RefusedError
from drivers.transports import mqtt_session
from drivers.transports.broker_settings import BrokerSettings
from drivers.transports.inbox import Arrived, Inbox
from drivers.transports.mqtt_session import MqttSession
from tests.peers import Certificates, Mosquitto, PlainClock, free_port, make_certificates, until

pytestmark = pytest.mark.usefixtures("end_of_pool")

CONNACK = b"\x20\x02\x00\x00"


def session_at(port: int, **given: object) -> MqttSession:
    """Make a session with a broker on this machine."""
    return MqttSession(BrokerSettings(host="127.0.0.1", port=port, **given), PlainClock())


def tasks_of_sessions() -> list[str]:
    """Name the tasks that sessions have left running."""
    names = [task.get_name() for task in asyncio.all_tasks()]
    return [name for name in names if name.endswith("broker")]


async def receive(session: MqttSession, number: int) -> list[Arrived]:
    """Take so many messages."""
    messages: list[Arrived] = []
    async with asyncio.timeout(5):
        async for batch in session.batches():
            messages += batch.messages
            if len(messages) >= number:
                break
    return messages


@contextlib.asynccontextmanager
async def crooked_broker(*answers: bytes, then_close: bool = False) -> AsyncIterator[int]:
    """Run a broker that answers each packet with the next of these bytes; give its port."""

    async def serve(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        with contextlib.suppress(ConnectionError):
            for answer in answers:
                await reader.read(1000)
                writer.write(answer)
                await writer.drain()
            while not then_close and await reader.read(1000):
                pass
        writer.close()

    server = await asyncio.start_server(serve, "127.0.0.1", 0)
    async with server:
        yield server.sockets[0].getsockname()[1]


async def test_messages_come_with_topic_payload_and_time(broker: Mosquitto) -> None:
    clock = PlainClock()
    async with MqttSession(
        BrokerSettings(host="127.0.0.1", port=broker.port), clock
    ) as session:
        await session.subscribe([("a/#", 0), ("b", 1)])
        before_ns = clock.now_ns()
        await asyncio.to_thread(broker.publish, "a/x", "1")
        await asyncio.to_thread(broker.publish, "b", b"\xff\x00")
        messages = await receive(session, 2)

        assert [(row.topic, row.payload, row.is_retained) for row in messages] == [
            ("a/x", b"1", False),
            ("b", b"\xff\x00", False),
        ]
        assert before_ns <= messages[0].t_ns < messages[1].t_ns <= clock.now_ns()


async def test_messages_that_wait_come_in_one_batch(broker: Mosquitto) -> None:
    async with session_at(broker.port) as session:
        await session.subscribe([("a", 0)])
        await asyncio.to_thread(broker.publish_lines, "a", range(500))
        await asyncio.sleep(0.3)
        batch = await anext(session.batches())

    assert [int(row.payload) for row in batch.messages] == list(range(500))
    assert batch.dropped == 0


async def test_a_slow_reader_loses_the_oldest_messages_and_is_told(
    broker: Mosquitto, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(mqtt_session, "Inbox", lambda: Inbox(most_messages=10))
    async with session_at(broker.port) as session:
        await session.subscribe([("a", 0)])
        await asyncio.to_thread(broker.publish_lines, "a", range(500))
        await asyncio.sleep(0.3)
        batch = await anext(session.batches())

    assert [int(row.payload) for row in batch.messages] == list(range(490, 500))
    assert batch.dropped == 490


async def test_a_broker_that_is_not_there_is_lost(tmp_path: Path) -> None:
    port = free_port()

    with pytest.raises(PortLostError, match=f"broker 127.0.0.1:{port} is not there") as lost:
        await session_at(port).__aenter__()
    assert not isinstance(lost.value, RefusedError)
    assert "that the broker runs" in lost.value.cure


async def test_a_name_that_nobody_knows_is_lost() -> None:
    session = MqttSession(BrokerSettings(host="no such host.invalid"), PlainClock())

    with pytest.raises(PortLostError, match="is not there"):
        await session.__aenter__()


async def test_a_broker_that_never_answers_is_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mqtt_session, "_ANSWER_S", 0.2)
    async with crooked_broker() as port:
        with pytest.raises(PortLostError, match="does not answer"):
            await session_at(port).__aenter__()


@pytest.mark.parametrize(
    ("code", "cure"), [(4, "user and password"), (5, "what the broker lets")]
)
async def test_a_refusal_has_its_cure(code: int, cure: str) -> None:
    async with crooked_broker(b"\x20\x02\x00" + bytes([code]), then_close=True) as port:
        with pytest.raises(RefusedError) as refused:
            await session_at(port).__aenter__()

    assert cure in refused.value.cure


async def test_a_broker_that_is_busy_is_no_refusal() -> None:
    async with crooked_broker(b"\x20\x02\x00\x03", then_close=True) as port:
        with pytest.raises(PortLostError, match="refused us") as lost:
            await session_at(port).__aenter__()

    assert not isinstance(lost.value, RefusedError)


async def test_a_topic_that_is_not_given_is_a_refusal() -> None:
    suback = b"\x90\x04\x00\x01\x00\x80"
    async with crooked_broker(CONNACK, suback) as port, session_at(port) as session:
        with pytest.raises(RefusedError, match="does not give us 'secret'"):
            await session.subscribe([("a", 0), ("secret", 0)])


async def test_a_broker_that_is_gone_before_it_gives_a_topic_is_lost(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(mqtt_session, "_ANSWER_S", 0.3)
    answers = (CONNACK, b"")
    async with crooked_broker(*answers, then_close=True) as port, session_at(port) as session:
        with pytest.raises(PortLostError, match="is gone"):
            await session.subscribe([("a", 0)])


async def test_what_came_before_the_end_is_given_before_the_loss_is_told() -> None:
    published = b"".join(b"\x30\x04\x00\x01a" + bytes([48 + n]) for n in range(5))
    suback = b"\x90\x03\x00\x01\x00"
    messages: list[bytes] = []

    async def take_all(session: MqttSession) -> None:
        async for batch in session.batches():
            messages.extend(row.payload for row in batch.messages)

    answers = (CONNACK, suback + published)
    async with crooked_broker(*answers, then_close=True) as port, session_at(port) as session:
        await session.subscribe([("a", 0)])
        with pytest.raises(PortLostError, match="is gone"):
            await take_all(session)

    assert messages == [b"0", b"1", b"2", b"3", b"4"]


async def test_bytes_that_are_no_mqtt_end_the_session_and_nothing_else() -> None:
    suback = b"\x90\x03\x00\x01\x00"
    answers = (CONNACK, suback + b"\x00\xff\xff\xff\xff\xff\x7f")
    async with crooked_broker(*answers) as port, session_at(port) as session:
        await session.subscribe([("a", 0)])
        with pytest.raises(PortLostError, match="is gone"):
            await anext(session.batches())


async def test_a_broker_that_falls_silent_is_lost_after_its_time() -> None:
    suback = b"\x90\x03\x00\x01\x00"
    answers = (CONNACK, suback)
    async with crooked_broker(*answers) as port, session_at(port, keepalive_s=1) as session:
        await session.subscribe([("a", 0)])
        start = time.monotonic()
        with pytest.raises(PortLostError, match="is gone"):
            await anext(session.batches())

    assert time.monotonic() - start < 5


async def test_one_who_stops_waiting_for_a_connection_is_not_held_up(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # What is left behind ends by itself when the answer is overdue.
    monkeypatch.setattr(mqtt_session, "_ANSWER_S", 1.0)
    async with crooked_broker() as port:
        task = asyncio.create_task(session_at(port).__aenter__())
        await asyncio.sleep(0.1)
        start = time.monotonic()
        task.cancel()
        await asyncio.wait({task})

        assert time.monotonic() - start < 0.6
        assert task.cancelled()
        assert tasks_of_sessions() == ["connect to broker"]
        await until(lambda: tasks_of_sessions() == ["leave broker"], 2)
        await until(lambda: tasks_of_sessions() == [], 2)


async def test_a_connection_that_comes_too_late_is_undone(broker: Mosquitto) -> None:
    task = asyncio.create_task(session_at(broker.port).__aenter__())
    # Look at every turn of the loop: on this machine a broker answers within milliseconds.
    while not tasks_of_sessions():  # noqa: ASYNC110 - each turn of the loop is the point
        await asyncio.sleep(0)
    task.cancel()
    await asyncio.wait({task})

    assert task.cancelled()
    assert tasks_of_sessions() == []


@pytest.fixture(scope="module")
def certificates(tmp_path_factory: pytest.TempPathFactory) -> Certificates:
    """Give certificates for this machine."""
    return make_certificates(tmp_path_factory.mktemp("certificates"))


@pytest.fixture
def tls_broker(tmp_path: Path, certificates: Certificates) -> Iterator[Mosquitto]:
    """Give a broker that talks TLS only, to clients with a certificate."""
    peer = Mosquitto(
        tmp_path,
        f"cafile {certificates.ca}",
        f"certfile {certificates.server}",
        f"keyfile {certificates.server_key}",
        "require_certificate true",
    )
    peer.start()
    yield peer
    peer.kill()


@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
async def test_with_certificates_on_both_sides_messages_arrive(
    tls_broker: Mosquitto, certificates: Certificates, protocol: str
) -> None:
    mine = {"cert_file": str(certificates.client), "key_file": str(certificates.client_key)}
    session = session_at(
        tls_broker.port, tls=True, ca_file=str(certificates.ca), protocol=protocol, **mine
    )
    async with session:
        await session.subscribe([("a", 0)])
        options = ["--cafile", certificates.ca]
        options += ["--cert", certificates.client, "--key", certificates.client_key]
        await asyncio.to_thread(tls_broker.publish, "a", "7", *map(str, options))

        assert [row.payload for row in await receive(session, 1)] == [b"7"]


async def test_many_messages_over_tls_all_arrive(
    tls_broker: Mosquitto, certificates: Certificates
) -> None:
    mine = {"cert_file": str(certificates.client), "key_file": str(certificates.client_key)}
    async with session_at(
        tls_broker.port, tls=True, ca_file=str(certificates.ca), **mine
    ) as session:
        await session.subscribe([("a", 0)])
        options = ["--cafile", certificates.ca]
        options += ["--cert", certificates.client, "--key", certificates.client_key]
        await asyncio.to_thread(tls_broker.publish_lines, "a", range(300), *map(str, options))
        messages = await receive(session, 300)

    assert [int(row.payload) for row in messages] == list(range(300))


async def test_a_broker_that_nobody_vouches_for_is_a_refusal(tls_broker: Mosquitto) -> None:
    with pytest.raises(RefusedError, match="no trusted connection") as refused:
        await session_at(tls_broker.port, tls=True).__aenter__()

    assert "ca_file" in refused.value.cure


async def test_a_broker_of_another_name_is_a_refusal(
    tls_broker: Mosquitto, certificates: Certificates
) -> None:
    settings = BrokerSettings(
        host="localhost", port=tls_broker.port, tls=True, ca_file=str(certificates.ca)
    )

    with pytest.raises(RefusedError, match="no trusted connection"):
        await MqttSession(settings, PlainClock()).__aenter__()


async def test_tls_to_a_broker_without_it_is_an_error_for_a_person(
    broker: Mosquitto, certificates: Certificates, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(mqtt_session, "_ANSWER_S", 1.0)

    with pytest.raises(PortLostError):
        await session_at(broker.port, tls=True, ca_file=str(certificates.ca)).__aenter__()


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ({"user": "u", "password_file": "/no/such"}, "password_file /no/such: No such file"),
        ({"tls": True, "ca_file": "/no/such"}, "ca_file /no/such: No such file"),
        (
            {"tls": True, "cert_file": "/no/c", "key_file": "/no/k"},
            "cert_file /no/c with /no/k",
        ),
    ],
)
async def test_a_file_that_is_not_there_is_named(given: dict[str, object], why: str) -> None:
    with pytest.raises(RefusedError, match=why):
        await session_at(1, **given).__aenter__()


async def test_a_password_file_that_is_no_text_is_named(tmp_path: Path) -> None:
    secret = tmp_path / "secret"
    secret.write_bytes(b"\xff\xfe")

    with pytest.raises(RefusedError, match="password_file"):
        await session_at(1, user="u", password_file=str(secret)).__aenter__()
