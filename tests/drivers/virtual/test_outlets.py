"""Tests for drivers.virtual.outlets.

Source: hand-worked here: the gas panel streams at 10 Hz, the cabin node sends 2 packs a second,
each analyser one number a second.
"""

from __future__ import annotations

from collections import Counter

import pytest

from drivers.virtual.faults import Fault
from drivers.virtual.outlets import Outlets, Sent
from drivers.virtual.rig import Rig


def ten_seconds(rig: Rig) -> tuple[Outlets, list[Sent]]:
    outlets = Outlets(rig)
    return outlets, [outlets.tick() for _ in range(100)]


def test_every_instrument_speaks_at_its_rate() -> None:
    outlets, sent = ten_seconds(Rig())
    topics = Counter(message.topic for one in sent for message in one.published)

    assert sum(one.line.startswith(b"$GAS,") for one in sent) == 100
    assert topics["gondola/cabin/pack"] == 20
    assert topics["gondola/analyser/loop_co2/kpa"] == 10
    assert outlets.rig.at_s == 10.0
    assert outlets.answer(b"ALL?").startswith(b"ALL,")


def heard(name: str, outlets: Outlets, sent: list[Sent]) -> bool:
    """Tell whether anything came from an instrument."""
    topics = [message.topic for one in sent for message in one.published]
    return {
        "gas_panel": any(one.line for one in sent),
        "cooling_panel": outlets.answer(b"ALL?") != b"",
        "cabin_node": any("cabin/" in topic for topic in topics),
        "analysers": any("analyser/" in topic for topic in topics),
    }[name]


@pytest.mark.parametrize("name", ["gas_panel", "cooling_panel", "cabin_node", "analysers"])
def test_an_unplugged_wire_goes_dead(name: str) -> None:
    assert heard(name, *ten_seconds(Rig()))
    assert not heard(name, *ten_seconds(Rig(faults=[Fault("wire_unplugged", name)])))


def test_a_rig_that_stands_still_speaks_all_the_same() -> None:
    outlets = Outlets(Rig())
    sent = [outlets.tick(is_running=False) for _ in range(20)]

    assert outlets.rig.at_s == 0.0
    assert all(one.line for one in sent)


def test_the_same_seed_sends_the_same_bytes() -> None:
    assert ten_seconds(Rig(7))[1] == ten_seconds(Rig(7))[1]
    assert ten_seconds(Rig(7))[1] != ten_seconds(Rig(8))[1]
