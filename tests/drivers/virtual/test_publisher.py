"""Tests for drivers.virtual.publisher.

Source: hand-worked here; messages go through a real broker.
"""

from __future__ import annotations

import asyncio

import aiomqtt
import pytest

from drivers.virtual import publisher as module
from drivers.virtual.broker import running_broker
from drivers.virtual.panels import Published
from drivers.virtual.publisher import Publisher

pytestmark = pytest.mark.usefixtures("executor_ended")


async def test_messages_arrive_in_order() -> None:
    async with running_broker() as port, aiomqtt.Client("127.0.0.1", port) as client:
        await client.subscribe("t/#")
        publisher = Publisher("127.0.0.1", port)
        for number in range(20):
            publisher.put(Published("t/x", b"%d" % number))
        task = asyncio.create_task(publisher.run())
        got = []
        async with asyncio.timeout(5):
            async for message in client.messages:
                got.append(int(message.payload))
                if len(got) == 20:
                    break
        task.cancel()
        await asyncio.wait([task])

    assert got == list(range(20))
    assert publisher.dropped == 0


async def test_a_full_queue_drops_the_oldest_and_counts(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "_MOST_WAITING", 3)
    publisher = Publisher("127.0.0.1", 1)
    for number in range(5):
        publisher.put(Published("t", b"%d" % number))

    assert publisher.dropped == 2
    assert publisher._waiting.get_nowait().payload == b"2"


async def test_without_a_broker_it_tries_again(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_RETRY_S", 0.01)
    publisher = Publisher("127.0.0.1", 1)
    task = asyncio.create_task(publisher.run())
    await asyncio.sleep(0.3)
    assert not task.done()
    task.cancel()
    await asyncio.wait([task])
    assert publisher.dropped >= 2
