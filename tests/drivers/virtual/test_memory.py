"""Tests for drivers.virtual.memory.

Source: hand-worked here; rates as in the stand file configs/gondola.toml.
"""

from __future__ import annotations

import itertools
import tomllib
from dataclasses import replace
from pathlib import Path

import msgspec
import numpy as np
import pytest

from drivers.reading import Block
from drivers.registry import instrument_kinds
from drivers.virtual.faults import Fault
from drivers.virtual.memory import CountingSink, MemoryWires, Moment
from drivers.virtual.scenario import load_scenario

STAND = Path(__file__).parents[3] / "configs" / "gondola.toml"
START_NS = 1_800_000_000_000_000_000


def settings() -> dict[str, msgspec.Struct]:
    tables = tomllib.loads(STAND.read_text(encoding="utf-8"))["instruments"]
    kinds = instrument_kinds()
    found: dict[str, msgspec.Struct] = {}
    for name, table in tables.items():
        own = {key: value for key, value in table.items() if key not in ("kind", "alarm")}
        found[name] = msgspec.convert(own, kinds[table["kind"]].settings)
    return found


def wires(seed: int = 1) -> MemoryWires:
    return MemoryWires(settings(), load_scenario("gondola"), seed, START_NS)


def take(source: MemoryWires, ticks: int) -> list[Moment]:
    return list(itertools.islice(iter(source), ticks))


def rows_of(moments: list[Moment], instrument: str) -> list[Block]:
    return [b for m in moments for b in m.blocks if b.instrument == instrument]


def test_every_instrument_delivers_at_its_rate() -> None:
    source = wires()
    moments = take(source, 600)
    rows = {
        name: sum(len(block.t_ns) for block in rows_of(moments, name)) for name in settings()
    }

    assert rows["gas_panel"] == 600
    assert rows["cooling_panel"] == pytest.approx(60, abs=1)
    assert rows["cabin_node"] == 600
    assert rows["analysers"] == 60 * 4
    assert source.sink.counts == {}


def test_time_is_data_time_from_the_start() -> None:
    moments = take(wires(), 20)

    assert [m.t_ns - START_NS for m in moments] == [n * 100_000_000 for n in range(1, 21)]
    for block in (b for m in moments for b in m.blocks):
        assert START_NS < block.t_ns[0] <= block.t_ns[-1] <= moments[-1].t_ns


def test_values_come_through_as_the_sensors_sent_them() -> None:
    source = wires()
    block = rows_of(take(source, 300), "cabin_node")[-1]
    pressure = block.values[-1, block.signals.index("pressure")]

    assert pressure == pytest.approx(source.rig.cabin.gas.pressure_pa / 1e3, abs=0.1)


def test_the_script_asks_for_the_operator_at_its_times() -> None:
    moments = take(wires(), 3010)
    asked = [(m.t_ns - START_NS, s.enter_phase) for m in moments for s in m.steps]

    assert asked[-1] == (300_100_000_000, "climb")
    assert len(asked) == 3


def test_the_same_seed_gives_the_same_bits() -> None:
    one, two = take(wires(3), 400), take(wires(3), 400)
    for first, second in zip(one, two, strict=True):
        assert len(first.blocks) == len(second.blocks)
        for a, b in zip(first.blocks, second.blocks, strict=True):
            assert a.signals == b.signals
            assert a.t_ns.tobytes() == b.t_ns.tobytes()
            assert a.values.tobytes() == b.values.tobytes()


def test_another_seed_gives_other_noise() -> None:
    one, two = (rows_of(take(wires(seed), 5), "gas_panel") for seed in (1, 2))

    assert not np.array_equal(one[0].values, two[0].values)


def test_an_unplugged_wire_delivers_nothing() -> None:
    source = wires()
    source.rig.faults.set(Fault("wire_unplugged", "gas_panel"))

    assert rows_of(take(source, 50), "gas_panel") == []


def test_a_poll_without_answer_is_counted() -> None:
    source = wires()
    take(source, 20)
    source.rig.faults.set(Fault("wire_unplugged", "cooling_panel"))
    take(source, 15)

    assert any("no reply" in what for what in source.sink.counts)


def test_it_ends_with_the_script() -> None:
    short = replace(load_scenario("gondola"), end_s=2.0)
    moments = list(MemoryWires(settings(), short, 1))

    assert len(moments) == 20


def test_settings_of_no_known_kind_are_refused() -> None:
    class Other(msgspec.Struct):
        pass

    with pytest.raises(TypeError, match="no memory wire"):
        MemoryWires({"x": Other()}, load_scenario("gondola"), 1)


def test_the_sink_refuses_blocks_and_counts_the_rest() -> None:
    sink = CountingSink()
    sink.opened("open")
    sink.count("garbled", 2, "xx")
    assert sink.counts == {"open": 1, "garbled: xx": 2}
    with pytest.raises(TypeError, match="wrong way"):
        sink.take(Block("a", (), np.zeros(0, np.int64), np.zeros((0, 0))))
