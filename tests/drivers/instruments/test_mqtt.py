"""Tests for drivers.instruments.mqtt.

Source: hand-worked here. The broker is mosquitto, the publisher its mosquitto_pub.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import msgspec
import numpy as np
import pytest

from drivers.errors import PortLostError, RefusedError
from drivers.instruments.mqtt import Mqtt, MqttCore
from drivers.instruments.mqtt_settings import MqttSettings
from drivers.reading import Block
from drivers.transports import mqtt_session
from drivers.transports.inbox import Arrived, Batch
from tests.peers import MemorySink, Mosquitto, running, until

SECOND = 1_000_000_000
MS = 1_000_000
P = {"topic": "cabin/p", "signal": "p"}
NODES = {"topic": "node/+/t", "signals": ["n1", "n2"]}
PACK = {"topic": "pack", "signal": "v", "pointer": "/v", "times": "/t", "time_unit": "ms"}


def settings(*topics: dict[str, object], **given_settings: object) -> MqttSettings:
    """Make settings with these topics."""
    return msgspec.convert({"host": "h", "topics": topics, **given_settings}, MqttSettings)


def core(*topics: dict[str, object], **given_settings: object) -> MqttCore:
    """Make a core with these topics."""
    return MqttCore("node", settings(*topics, **given_settings))


def send(
    made: MqttCore, sink: MemorySink, topic: str, payload: bytes, at_ns: int = SECOND
) -> list[Block]:
    """Let a message arrive."""
    return made.message(topic, payload, at_ns, False, sink)


def test_a_number_becomes_a_block_with_the_time_of_its_arrival(sink: MemorySink) -> None:
    (block,) = send(core(P), sink, "cabin/p", b"37.9")

    assert (block.instrument, block.signals) == ("node", ("p",))
    assert (block.t_ns.tolist(), block.values.tolist()) == ([SECOND], [[37.9]])
    assert (block.t_ns.dtype, block.values.dtype) == (np.int64, np.float64)
    assert (block.device_ns, block.is_old) == (None, False)
    assert sink.counts == {}


def test_a_retained_value_is_marked_as_old(sink: MemorySink) -> None:
    (block,) = core(P).message("cabin/p", b"37.9", SECOND, True, sink)

    assert block.is_old


def test_a_wildcard_names_the_signal(sink: MemorySink) -> None:
    made = core(NODES)

    assert send(made, sink, "node/n2/t", b"21")[0].signals == ("n2",)
    assert send(made, sink, "node/n1/t", b"22")[0].signals == ("n1",)


def test_a_topic_that_is_not_listed_is_counted(sink: MemorySink) -> None:
    assert send(core(NODES), sink, "node/n3\x1b/t", b"21") == []
    assert sink.counts == {"topic not listed": 1}
    assert sink.examples["topic not listed"] == "node/n3\\x1b/t"


def test_a_topic_that_no_filter_matches_is_counted(sink: MemorySink) -> None:
    assert send(core(NODES), sink, "elsewhere", b"21") == []
    assert sink.counts == {"topic not listed": 1}


def test_several_values_of_a_payload_are_columns(sink: MemorySink) -> None:
    made = core({"topic": "n/+", "signals": ["a"], "pointers": {"p": "/p", "t": "/t"}})

    (block,) = send(made, sink, "n/a", b'{"t":20,"p":37.9}')

    assert (block.signals, block.values.tolist()) == (("a/p", "a/t"), [[37.9, 20.0]])


def test_an_array_is_spread_by_its_times_and_ends_with_the_arrival(sink: MemorySink) -> None:
    (block,) = send(core(PACK), sink, "pack", b'{"v":[1,2,3],"t":[500,520,550]}')

    assert block.t_ns.tolist() == [SECOND - 50 * MS, SECOND - 30 * MS, SECOND]
    assert block.device_ns is not None
    assert block.device_ns.tolist() == [500 * MS, 520 * MS, 550 * MS]
    assert block.values.tolist() == [[1], [2], [3]]


def test_an_array_without_times_is_spread_by_the_period(sink: MemorySink) -> None:
    made = core({"topic": "pack", "signal": "v", "pointer": "", "period_s": 0.1})

    (block,) = send(made, sink, "pack", b"[1,2,3]")

    assert block.t_ns.tolist() == [SECOND - 200 * MS, SECOND - 100 * MS, SECOND]
    assert block.device_ns is None


def test_an_array_that_nothing_spreads_is_counted(sink: MemorySink) -> None:
    made = core({"topic": "pack", "signal": "v", "pointer": ""})

    assert send(made, sink, "pack", b"[1,2]") == []
    assert sink.counts == {"array without times or period_s": 1}
    assert send(made, sink, "pack", b"[1]")[0].values.tolist() == [[1]]


def test_packs_that_come_too_early_are_squeezed_behind_the_one_before(sink: MemorySink) -> None:
    made = core({"topic": "pack", "signal": "v", "pointer": "", "period_s": 0.1})
    send(made, sink, "pack", b"[1,2]", SECOND)

    (block,) = send(made, sink, "pack", b"[3,4]", SECOND + 100 * MS)

    assert block.t_ns.tolist() == [SECOND + 50 * MS, SECOND + 100 * MS]


def test_each_topic_has_a_time_of_its_own(sink: MemorySink) -> None:
    made = core(NODES)

    (first,) = send(made, sink, "node/n1/t", b"1")
    (second,) = send(made, sink, "node/n2/t", b"2")
    (third,) = send(made, sink, "node/n1/t", b"3")

    assert [row.t_ns.tolist() for row in (first, second, third)] == [
        [SECOND],
        [SECOND],
        [SECOND + 1],
    ]


@pytest.mark.parametrize(
    ("payload", "what"),
    [
        (b"hello", "not JSON"),
        (b"\xff\xfe", "not JSON"),
        (b'{"v":NaN}', "not JSON"),
        (b'{"w":1}', "pointer leads nowhere"),
        (b'{"v":"12"}', "not a number"),
        (b'{"v":1e999}', "not a number"),
        (b'{"v":[]}', "empty array"),
        (b'{"v":[1,2],"t":[2,1]}', "times do not fit the values"),
        (b" " * 101, "payload too long"),
    ],
)
def test_each_kind_of_bad_payload_is_counted_and_gives_no_block(
    sink: MemorySink, payload: bytes, what: str
) -> None:
    assert send(core(PACK, max_payload=100), sink, "pack", payload) == []
    assert sink.counts == {what: 1}
    assert sink.examples[what].startswith("pack ")


def test_unlisted_topics_without_end_take_no_memory(sink: MemorySink) -> None:
    made = core(NODES)

    for number in range(10_000):
        send(made, sink, f"node/{number}/t", b"1")

    assert sink.counts == {"topic not listed": 10_000}
    assert len(made._known) == 0


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
