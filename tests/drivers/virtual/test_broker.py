"""Tests for drivers.virtual.broker.

Source: hand-worked here; a real MQTT client talks to each kind of broker.
"""

from __future__ import annotations

import asyncio
import importlib.util
import shutil

import aiomqtt
import pytest

from drivers.virtual import broker
from drivers.virtual.broker import NoBrokerError, running_broker

pytestmark = pytest.mark.usefixtures("executor_ended")


def _no_module(_name: str) -> None:
    """Answer like an installation without the demo extra."""


async def assert_it_delivers(port: int) -> None:
    async with aiomqtt.Client("127.0.0.1", port) as client:
        await client.subscribe("gondola/#")
        await client.publish("gondola/x", b"12.5")
        async with asyncio.timeout(5):
            message = await anext(aiter(client.messages))
    assert message.payload == b"12.5"


async def test_the_embedded_broker_delivers() -> None:
    if importlib.util.find_spec("amqtt") is None:
        pytest.skip("needs the demo extra amqtt")
    async with running_broker() as port:
        await assert_it_delivers(port)


async def test_without_amqtt_a_mosquitto_process_serves(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    if shutil.which("mosquitto", path=broker._SEARCH) is None:
        pytest.skip("needs the Debian package mosquitto")
    monkeypatch.setattr(importlib.util, "find_spec", _no_module)
    async with running_broker() as port:
        await assert_it_delivers(port)


async def test_without_any_broker_it_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", _no_module)
    monkeypatch.setattr(broker, "_SEARCH", "/nonexistent")
    with pytest.raises(NoBrokerError, match="mosquitto"):
        async with running_broker():
            pytest.fail("there is no broker")


async def test_a_broker_that_will_not_start_is_an_error(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", _no_module)
    monkeypatch.setattr(shutil, "which", lambda _name, **_path: "/bin/false")
    with pytest.raises(NoBrokerError, match="does not listen"):
        async with running_broker():
            pytest.fail("false is no broker")


async def test_an_embedded_broker_that_does_not_end_is_not_waited_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """It was seen to wait for ever for a client that was cut off while it connected."""
    if importlib.util.find_spec("amqtt") is None:
        pytest.skip("needs the demo extra amqtt")
    from amqtt.broker import Broker

    whole, asked = Broker.shutdown, list[Broker]()

    async def never(self: Broker) -> None:
        asked.append(self)
        await asyncio.Event().wait()

    monkeypatch.setattr(Broker, "shutdown", never)
    monkeypatch.setattr(broker, "_STOP_S", 0.05)
    async with asyncio.timeout(5):
        async with running_broker():
            pass

    assert len(asked) == 1
    await whole(asked[0])
