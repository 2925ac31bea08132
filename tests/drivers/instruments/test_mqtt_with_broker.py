"""Tests for drivers.instruments.mqtt.

Source: hand-worked here. The broker is mosquitto, the publisher its mosquitto_pub. What becomes
of messages is tested in test_mqtt.py.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import msgspec
import pytest

from drivers.errors import PortLostError, RefusedError
from drivers.instruments.mqtt import Mqtt
from drivers.instruments.mqtt_settings import MqttSettings
from drivers.transports import mqtt_session
from drivers.transports.inbox import Arrived, Batch
from tests.peers import MemorySink, Mosquitto, running, until

P = {"topic": "cabin/p", "signal": "p"}
NODES = {"topic": "node/+/t", "signals": ["n1", "n2"]}
PACK = {"topic": "pack", "signal": "v", "pointer": "/v", "times": "/t", "time_unit": "ms"}


def settings(*topics: dict[str, object], **given_settings: object) -> MqttSettings:
    """Make settings with these topics."""
    return msgspec.convert({"host": "h", "topics": topics, **given_settings}, MqttSettings)


def at(peer: Mosquitto, *topics: dict[str, object], **given_settings: object) -> Mqtt:
    """Make an instrument at a broker."""
    entry = {"host": "127.0.0.1", "port": peer.port, **given_settings}
    return Mqtt("node", settings(*topics, **entry))


@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
async def test_numbers_published_with_a_real_publisher_arrive(
    broker: Mosquitto, sink: MemorySink, protocol: str
) -> None:
    instrument = at(broker, P, NODES, PACK, protocol=protocol)
    async with running(instrument, sink):
        await until(lambda: sink.opens)
        await asyncio.to_thread(broker.publish, "cabin/p", "37.9")
        await asyncio.to_thread(broker.publish, "node/n2/t", "21.5", "-q", "1")
        await asyncio.to_thread(broker.publish, "pack", '{"v":[1,2],"t":[0,10]}')
        await until(lambda: len(sink.blocks) == 3)

    assert instrument.signals == ("p", "n1", "n2", "v")
    assert sink.opens == [f"connected to 127.0.0.1:{broker.port} and subscribed"]
    assert [block.signals for block in sink.blocks] == [("p",), ("n2",), ("v",)]
    assert sink.rows() == [[37.9], [21.5], [1.0], [2.0]]
    assert not any(block.is_old for block in sink.blocks)
    assert sink.counts == {}


@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
async def test_what_the_broker_kept_is_old_and_what_comes_then_is_not(
    broker: Mosquitto, sink: MemorySink, protocol: str
) -> None:
    broker.publish("cabin/p", "1", "-r")
    async with running(at(broker, P, protocol=protocol), sink):
        await until(lambda: sink.blocks)
        await asyncio.to_thread(broker.publish, "cabin/p", "2", "-r")
        await until(lambda: len(sink.blocks) == 2)

    assert [(block.values[0, 0], block.is_old) for block in sink.blocks] == [
        (1.0, True),
        (2.0, False),
    ]


async def test_bad_payloads_of_a_real_publisher_crash_nothing(
    broker: Mosquitto, sink: MemorySink
) -> None:
    async with running(at(broker, P, PACK, max_payload=1000), sink):
        await until(lambda: sink.opens)
        for topic, payload in [
            ("cabin/p", b" "),
            ("cabin/p", b"\x00\xff"),
            ("cabin/p", b"9" * 100_000),
            ("pack", b"[" * 1000),
            ("cabin/p", b"5"),
        ]:
            await asyncio.to_thread(broker.publish, topic, payload)
        await until(lambda: sink.blocks)

    assert sink.rows() == [[5.0]]
    assert sink.counts == {"not a number": 2, "payload too long": 1, "not JSON": 1}


async def test_a_broker_that_dies_and_comes_back_is_found_again(
    broker: Mosquitto, sink: MemorySink
) -> None:
    instrument = at(broker, P)
    async with running(instrument, sink) as task:
        await until(lambda: sink.opens)
        await asyncio.to_thread(broker.publish, "cabin/p", "1")
        await until(lambda: sink.blocks)
        broker.kill()
        await asyncio.wait({task}, timeout=5)
        assert isinstance(task.exception(), PortLostError)
        assert "is gone" in str(task.exception())

    async with running(instrument, sink) as task:
        await asyncio.wait({task}, timeout=5)
        assert "is not there" in str(task.exception())

    broker.start()
    async with running(instrument, sink):
        await until(lambda: len(sink.opens) == 2)
        await asyncio.to_thread(broker.publish, "cabin/p", "2")
        await until(lambda: len(sink.blocks) == 2)

    assert sink.of("p") == [1.0, 2.0]
    assert sink.blocks[0].t_ns[0] < sink.blocks[1].t_ns[0]


async def test_messages_that_a_slow_engine_lost_are_counted(
    broker: Mosquitto, sink: MemorySink, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def losing(session: mqtt_session.MqttSession) -> AsyncIterator[Batch]:
        yield Batch([Arrived("cabin/p", b"1", is_retained=False, t_ns=1)], dropped=7)
        await asyncio.Event().wait()

    monkeypatch.setattr(mqtt_session.MqttSession, "batches", losing)
    async with running(at(broker, P), sink):
        await until(lambda: sink.blocks)

    assert sink.counts == {"unread messages dropped": 7}


async def test_values_published_while_we_were_away_are_not_taken_for_new(
    broker: Mosquitto, sink: MemorySink
) -> None:
    instrument = at(broker, {**P, "qos": 1}, client_id="stand")
    async with running(instrument, sink):
        await until(lambda: sink.opens)
    broker.publish("cabin/p", "1", "-q", "1")
    async with running(instrument, sink):
        await until(lambda: len(sink.opens) == 2)
        await asyncio.to_thread(broker.publish, "cabin/p", "2", "-q", "1")
        await until(lambda: sink.blocks)

    assert sink.of("p") == [2.0]


@pytest.fixture
def strict_broker(tmp_path: Path, end_of_pool: None) -> Iterator[Mosquitto]:
    """Give a broker that lets user 'panel' with password 'right' read 'cabin/#' only."""
    (tmp_path / "acl").write_text("user panel\ntopic readwrite cabin/#\n")
    # What mosquitto_passwd makes is salted: the plain file is turned into it in place.
    (tmp_path / "passwords").write_text("panel:right\n")
    peer = Mosquitto(
        tmp_path,
        f"password_file {tmp_path / 'passwords'}",
        f"acl_file {tmp_path / 'acl'}",
        is_open=False,
    )
    peer.hash_passwords(tmp_path / "passwords")
    peer.start()
    yield peer
    peer.kill()


@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
async def test_user_and_password_open_the_door(
    strict_broker: Mosquitto, sink: MemorySink, protocol: str, tmp_path: Path
) -> None:
    secret = tmp_path / "secret"
    secret.write_text("right\n")
    instrument = at(
        strict_broker, P, user="panel", password_file=str(secret), protocol=protocol
    )
    async with running(instrument, sink):
        await until(lambda: sink.opens)
        await asyncio.to_thread(
            strict_broker.publish, "cabin/p", "3", "-u", "panel", "-P", "right"
        )
        await until(lambda: sink.blocks)

    assert sink.rows() == [[3.0]]


@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
async def test_a_wrong_password_is_a_refusal_with_its_cure(
    strict_broker: Mosquitto, sink: MemorySink, protocol: str
) -> None:
    instrument = at(strict_broker, P, user="panel", password="wrong", protocol=protocol)
    async with running(instrument, sink) as task:
        await asyncio.wait({task}, timeout=5)
        error = task.exception()

    assert isinstance(error, RefusedError)
    assert "check user and password" in error.cure
    assert sink.opens == []
