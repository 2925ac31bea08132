"""Tests for drivers.instruments.mqtt.

Source: hand-worked here. A real broker is in test_mqtt_with_broker.py.
"""

from __future__ import annotations

import msgspec
import numpy as np
import pytest

from drivers.instruments.mqtt import MqttCore
from drivers.instruments.mqtt_settings import MqttSettings
from drivers.reading import Block
from tests.peers import MemorySink

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
