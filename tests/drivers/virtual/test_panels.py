"""Tests for drivers.virtual.panels.

Source: NMEA 0183 checksum of ``GPRMC,...`` style lines worked out by hand; JSON by RFC 8259.
"""

from __future__ import annotations

import json

import pytest

from drivers.virtual.faults import Fault
from drivers.virtual.panels import (
    Bench,
    CabinNode,
    analyser_messages,
    answer_to,
    gas_line,
    text_of,
)
from drivers.virtual.rig import Rig
from drivers.virtual.signals import ANALYSERS, CABIN_NODE, COOLING_PANEL


def test_a_gas_line_ends_with_the_exclusive_or_of_its_body() -> None:
    # G A S , 1 , 2 : 0x47 ^ 0x41 ^ 0x53 ^ 0x2C ^ 0x31 ^ 0x2C ^ 0x32 = 0x56, by hand.
    assert gas_line(["1", "2"]) == b"$GAS,1,2*56\r\n"


@pytest.mark.parametrize(
    ("raw", "step", "text"),
    [
        (1.0, 1.0, "1"),
        (12.3456, 0.001, "12.346"),
        (107.7381, 0.002, "107.738"),
        (200.04, 0.1, "200.0"),
        (21.5, 0.01, "21.50"),
        (1.23456789, 0.0, "1.2346"),
        (1.23456789, 1e-4, "1.2346"),
    ],
)
def test_text_has_as_many_decimals_as_the_sensor_resolves(
    raw: float, step: float, text: str
) -> None:
    assert text_of(raw, step) == text


def test_the_cooling_panel_answers_its_request_in_any_case() -> None:
    assert answer_to(b"all?\r", ["1.5", "0"]) == b"ALL,1.5,0\r\n"


def test_the_cooling_panel_refuses_what_it_does_not_know() -> None:
    assert answer_to(b"*IDN?", ["1"]) == b"ERR,unknown request\r\n"


def test_the_cabin_node_sends_five_samples_at_a_time() -> None:
    rig = Rig()
    bench = Bench("cabin_node", CABIN_NODE, rig)
    node = CabinNode(bench)
    sent = []
    for _ in range(10):
        rig.step(0.1)
        bench.advance(0.1)
        sent.append(node.tick())
    packs = [json.loads(one.payload) for one in sent if one is not None]

    assert [one is not None for one in sent] == ([False] * 4 + [True]) * 2
    assert [pack["pack"] for pack in packs] == [0, 1]
    assert packs[0]["period_ms"] == 100
    assert set(packs[0]["samples"]) == {plan.signal for plan in CABIN_NODE}
    assert all(len(column) == 5 for column in packs[0]["samples"].values())
    assert packs[0]["samples"]["pressure"][0] == pytest.approx(101.3, abs=0.3)


def test_each_analyser_has_its_own_topic_and_a_plain_number() -> None:
    messages = analyser_messages(Bench("analysers", ANALYSERS, Rig()))

    assert [m.topic for m in messages] == [
        "gondola/analyser/loop_co2/kpa",
        "gondola/analyser/loop_h2o/kpa",
        "gondola/analyser/cabin_o2/kpa",
        "gondola/analyser/cabin_co2/kpa",
    ]
    assert float(messages[2].payload) == pytest.approx(94.2, abs=0.5)


def test_an_unplugged_wire_is_known_by_its_instrument() -> None:
    rig = Rig()
    bench = Bench("cooling_panel", COOLING_PANEL, rig)
    assert bench.is_plugged
    rig.faults.set(Fault("wire_unplugged", "gas_panel"))
    assert bench.is_plugged
    rig.faults.set(Fault("wire_unplugged", "cooling_panel"))
    assert not bench.is_plugged
