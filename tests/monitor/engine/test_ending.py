"""Tests for monitor.engine.ending.

Source: hand-worked here.
"""

from __future__ import annotations

import asyncio
import os
import signal

import pytest

from monitor.engine.ending import Ending, uncancel


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
async def test_a_signal_asks_for_the_end(number: int) -> None:
    ending = Ending(asyncio.Event())
    with ending.by_signals():
        os.kill(os.getpid(), number)
        await asyncio.wait_for(ending.wait(), 2)

    assert not ending.hurry.is_set()


async def test_a_second_signal_asks_for_hurry() -> None:
    ending = Ending(asyncio.Event())
    with ending.by_signals():
        os.kill(os.getpid(), signal.SIGINT)
        await asyncio.wait_for(ending.wait(), 2)
        os.kill(os.getpid(), signal.SIGTERM)
        await asyncio.wait_for(ending.hurry.wait(), 2)

    assert ending.stop.is_set()


async def test_who_started_the_watch_may_ask_for_the_end() -> None:
    stop = asyncio.Event()
    ending = Ending(stop)

    stop.set()
    await asyncio.wait_for(ending.wait(), 2)

    assert ending.stop is stop


async def test_afterwards_a_signal_does_what_it_did_before() -> None:
    ending = Ending(asyncio.Event())
    with ending.by_signals():
        during = signal.getsignal(signal.SIGINT)
    after = signal.getsignal(signal.SIGINT)

    assert after is signal.default_int_handler
    assert during is not after


async def test_a_cancellation_can_be_taken_back() -> None:
    async def stubborn() -> str:
        try:
            await asyncio.sleep(5)
        except asyncio.CancelledError:
            uncancel()
        async with asyncio.timeout(5):
            await asyncio.sleep(0)
        return "went on"

    task = asyncio.create_task(stubborn())
    await asyncio.sleep(0.01)
    task.cancel()

    assert await task == "went on"
    assert task.cancelling() == 0
