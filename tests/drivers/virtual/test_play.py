"""Tests for drivers.virtual.play.

Source: hand-worked here; wires are opened by pyserial and a real MQTT client.
"""

from __future__ import annotations

import asyncio
from dataclasses import replace
from typing import Any, Self

import aiomqtt
import pytest
import serial

from drivers.virtual.play import Settings, play, scene_of
from drivers.virtual.scenario import Scenario, load_scenario, scenario_from

pytestmark = pytest.mark.usefixtures("executor_ended")

SHORT = scenario_from(
    {
        "title": "short",
        "end_s": 20.0,
        "steps": [
            {"at_s": 2.0, "set": {"vent_open": True}},
            {"at_s": 5.0, "enter_phase": "climb", "note": "up"},
        ],
    }
)


class Played:
    """A rig being played in a task, and what it has said."""

    def __init__(self, speed: float, scenario: Scenario = SHORT) -> None:
        self.said: list[dict[str, Any]] = []
        self._news = asyncio.Event()
        self.go, self.end = asyncio.Event(), asyncio.Event()
        settings = Settings(scenario, speed, seed=1)
        self.task = asyncio.create_task(play(settings, self.go, self.end, self._hear))

    def _hear(self, line: dict[str, Any]) -> None:
        self.said.append(line)
        self._news.set()

    async def until(self, word: str) -> dict[str, Any]:
        async with asyncio.timeout(20):
            while not any(word in line for line in self.said):
                self._news.clear()
                await self._news.wait()
        return next(line[word] for line in self.said if word in line)

    async def __aenter__(self) -> Self:
        return self

    async def __aexit__(self, *_error: object) -> None:
        self.end.set()
        async with asyncio.timeout(10):
            await self.task


async def test_it_says_where_its_wires_are_and_stands_still_until_go() -> None:
    async with Played(200.0) as played:
        overrides = (await played.until("ready"))["overrides"]
        with serial.Serial(overrides["gas_panel"]["port"], timeout=0) as port:
            await asyncio.sleep(0.5)
            lines = port.read(100_000).splitlines()

    assert list(overrides) == ["gas_panel", "cooling_panel", "cabin_node", "analysers"]
    # 100 s of rig time would have brought the script to its end.
    assert len(played.said) == 1
    assert len(lines) > 10


async def test_everything_arrives_on_its_wire() -> None:
    topics = set()
    async with Played(20.0) as played:
        overrides = (await played.until("ready"))["overrides"]
        broker = overrides["cabin_node"]
        with (
            serial.Serial(overrides["gas_panel"]["port"], timeout=2) as gas,
            serial.Serial(overrides["cooling_panel"]["port"], timeout=2) as cooling,
        ):
            async with aiomqtt.Client(broker["host"], int(broker["port"])) as client:
                await client.subscribe("gondola/#")
                played.go.set()
                async with asyncio.timeout(10):
                    async for message in client.messages:
                        topics.add(str(message.topic))
                        if len(topics) == 5:
                            break
            cooling.write(b"ALL?\r\n")
            await asyncio.sleep(0.2)
            answer = cooling.readline()
            lines = gas.read(gas.in_waiting).splitlines()

    assert answer.startswith(b"ALL,")
    assert len(lines) > 10
    assert all(line.startswith(b"$GAS,") for line in lines[1:-1])
    assert "gondola/cabin/pack" in topics


async def test_the_script_asks_for_the_operator_then_ends_and_the_rig_goes_on() -> None:
    async with Played(50.0) as played:
        port = (await played.until("ready"))["overrides"]["gas_panel"]["port"]
        played.go.set()
        scene = await played.until("scenario")
        await played.until("end")
        with serial.Serial(port, timeout=0) as reader:
            reader.reset_input_buffer()
            await asyncio.sleep(0.3)
            after = reader.read(100)

    assert scene == {"at_s": 5.0, "enter_phase": "climb", "note": "up"}
    assert [next(iter(line)) for line in played.said] == ["ready", "scenario", "end"]
    assert len(after) == 100


async def test_a_speed_that_no_machine_can_keep_is_said() -> None:
    async with Played(1e6, replace(SHORT, end_s=1e9)) as played:
        await played.until("ready")
        played.go.set()
        behind = await played.until("behind")

    assert behind["lost_s"] > 0.0
    assert behind["speed"] == 1e6


def test_a_scene_is_what_the_operator_must_do() -> None:
    climb = next(s for s in load_scenario("gondola").steps if s.enter_phase == "climb")

    assert scene_of(climb) == {
        "at_s": 300.0,
        "enter_phase": "climb",
        "note": "Ground cooling disconnected, pump on.",
    }
