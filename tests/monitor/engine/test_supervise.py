"""Tests for monitor.engine.supervise.

Source: hand-worked here.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager, suppress
from random import Random

import numpy as np
import pytest

from drivers.errors import PortLostError, RefusedError, SettingsError
from drivers.reading import Block, Clock, Sink
from monitor.engine.supervise import LinkRecord, Patience, Supervisor
from monitor.events import LinkChange

QUICK = Patience(first_s=0.001, longest_s=0.004, refused_s=0.2, proven_s=0.05)


class Hands:
    """A clock that a test sets."""

    speed = 1.0

    def __init__(self) -> None:
        self.t_ns = 1_000

    def now_ns(self) -> int:
        return self.t_ns


class Kept:
    """Keeps what a supervised instrument gave."""

    def __init__(self) -> None:
        self.blocks: list[Block] = []
        self.changes: list[LinkChange] = []
        self.to_count: dict[str, int] = {}

    def take(self, block: Block) -> dict[str, int]:
        self.blocks.append(block)
        return self.to_count

    def change_link(self, change: LinkChange) -> None:
        self.changes.append(change)


class Scripted:
    """An instrument whose attempts end as a test says; the last one repeats."""

    signals = ("a", "b")

    def __init__(self, *ends: Exception | float | None) -> None:
        self.ends = ends
        self.attempts = 0

    async def run(self, sink: Sink, clock: Clock) -> None:
        end = self.ends[min(self.attempts, len(self.ends) - 1)]
        self.attempts += 1
        if isinstance(end, float):
            sink.opened("port opened")
            await asyncio.sleep(end)
            raise PortLostError("unplugged", "plug it in")
        if end is not None:
            raise end


@pytest.fixture
def kept() -> Kept:
    return Kept()


@pytest.fixture
def hands() -> Hands:
    return Hands()


@pytest.fixture
def record(kept: Kept, hands: Hands) -> LinkRecord:
    return LinkRecord("bench", kept, hands.now_ns)


@asynccontextmanager
async def running(
    instrument: Scripted, record: LinkRecord, patience: Patience = QUICK
) -> AsyncIterator[None]:
    task = asyncio.create_task(
        Supervisor(instrument, record, Hands(), Random(1), patience).run(), name="supervisor"
    )
    try:
        yield
    finally:
        task.cancel()
        with suppress(asyncio.CancelledError):
            await task


async def attempts(instrument: Scripted, number: int) -> None:
    for _ in range(5_000):
        if instrument.attempts >= number:
            return
        await asyncio.sleep(0.001)
    raise AssertionError(f"only {instrument.attempts} attempts")


def states(changes: Sequence[LinkChange]) -> list[tuple[bool, str]]:
    return [(change.is_up, change.why) for change in changes]


async def test_a_port_that_never_opens_is_told_once(kept: Kept, record: LinkRecord) -> None:
    instrument = Scripted(PortLostError("no such port", "check the cable"))

    async with running(instrument, record):
        await attempts(instrument, 5)

    assert kept.changes == [LinkChange("bench", False, "no such port", "check the cable")]


async def test_another_reason_is_told_again(kept: Kept, record: LinkRecord) -> None:
    instrument = Scripted(PortLostError("no such port"), PortLostError("busy"))

    async with running(instrument, record):
        await attempts(instrument, 4)

    assert states(kept.changes) == [(False, "no such port"), (False, "busy")]


async def test_a_lost_link_comes_back_by_itself(kept: Kept, record: LinkRecord) -> None:
    instrument = Scripted(0.001)

    async with running(instrument, record):
        await attempts(instrument, 3)

    assert states(kept.changes)[:3] == [
        (True, "port opened"),
        (False, "unplugged"),
        (True, "port opened"),
    ]


async def test_a_fault_in_a_driver_becomes_a_fault_of_its_link(
    kept: Kept, record: LinkRecord, caplog: pytest.LogCaptureFixture
) -> None:
    instrument = Scripted(ZeroDivisionError("of mine"), 10.0)

    async with running(instrument, record):
        await attempts(instrument, 2)

    assert states(kept.changes) == [
        (False, "the driver failed: ZeroDivisionError: of mine"),
        (True, "port opened"),
    ]
    assert record.counts == {"faults of the driver": 1}
    assert "Traceback" in caplog.text


async def test_it_ends_even_when_a_failing_port_hides_the_cancellation(
    record: LinkRecord,
) -> None:
    class Clinging:
        signals = ()

        async def run(self, sink: Sink, clock: Clock) -> None:
            try:
                await asyncio.sleep(60)
            finally:
                raise PortLostError("failed while it was let go", "")

    running = asyncio.create_task(
        Supervisor(Clinging(), record, Hands(), Random(1), QUICK).run()
    )
    await asyncio.sleep(0.01)
    running.cancel()
    done, _ = await asyncio.wait({running}, timeout=1)

    assert done == {running}
    running.cancel()


async def test_a_driver_that_just_ends_is_a_fault_too(kept: Kept, record: LinkRecord) -> None:
    instrument = Scripted(None)

    async with running(instrument, record):
        await attempts(instrument, 2)

    assert states(kept.changes) == [(False, "the driver ended without a reason")]


async def test_any_other_error_of_a_driver_is_told_in_its_words(
    kept: Kept, record: LinkRecord
) -> None:
    instrument = Scripted(SettingsError("baud", "zero"))

    async with running(instrument, record):
        await attempts(instrument, 2)

    assert states(kept.changes) == [(False, "baud: zero")]


async def test_a_refusal_is_retried_slowly(kept: Kept, record: LinkRecord) -> None:
    refused = Scripted(RefusedError("wrong password", "ask for it"))

    async with running(refused, record):
        await asyncio.sleep(0.08)

    assert refused.attempts == 1
    assert kept.changes[0].cure == "ask for it"


@pytest.mark.parametrize("seed", range(3))
async def test_waits_double_up_to_the_longest_and_are_spread(
    record: LinkRecord, monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    waits: list[float] = []
    random = Random(seed)

    async def note(seconds: float) -> None:
        waits.append(seconds)
        if len(waits) == 8:
            raise asyncio.CancelledError

    monkeypatch.setattr(asyncio, "sleep", note)
    with pytest.raises(asyncio.CancelledError):
        await Supervisor(Scripted(PortLostError("gone")), record, Hands(), random).run()

    plain = [0.5, 1.0, 2.0, 4.0, 8.0, 15.0, 15.0, 15.0]
    ratios = [wait / whole for wait, whole in zip(waits, plain, strict=True)]
    assert all(0.5 <= ratio < 1.5 for ratio in ratios)
    assert len(set(ratios)) == 8


async def test_after_a_link_that_held_the_wait_is_short_again(record: LinkRecord) -> None:
    gone = PortLostError("gone")
    patience = Patience(first_s=0.001, longest_s=5.0, refused_s=1.0, proven_s=0.05)
    instrument = Scripted(gone, gone, gone, gone, 0.06, gone, gone)

    async with running(instrument, record, patience):
        # Without starting afresh the waits after the good link would be 0.016 s and more.
        await asyncio.wait_for(attempts(instrument, 5), 1)
        began = asyncio.get_running_loop().time()
        await attempts(instrument, 7)
        took = asyncio.get_running_loop().time() - began

    assert took < 0.06 + 0.016


def test_numbers_are_counted_and_passed_on(kept: Kept, record: LinkRecord) -> None:
    values = np.array([[1.0, np.nan], [2.0, 3.0]])
    record.take(Block("bench", ("a", "b"), np.array([5, 9]), values))

    assert record.readings == 3
    assert record.last_reading_ns == 9
    assert len(kept.blocks) == 1


def test_rows_that_are_not_evaluated_are_counted_with_their_link(
    kept: Kept, record: LinkRecord
) -> None:
    kept.to_count = {"rows too late": 2}
    for _ in range(2):
        record.take(Block("bench", ("a",), np.array([5, 9]), np.ones((2, 1))))

    assert record.counts == {"rows too late": 4}


def test_a_block_without_rows_leaves_the_last_time_alone(
    kept: Kept, record: LinkRecord
) -> None:
    record.take(Block("bench", ("a",), np.array([], np.int64), np.empty((0, 1))))

    assert (record.readings, record.last_reading_ns) == (0, 0)


def test_counters_add_up_and_keep_the_newest_example(record: LinkRecord) -> None:
    record.count("line without number", 2, "abc")
    record.count("line without number", 1, "x" * 500)
    record.count("line without number")

    assert record.counts == {"line without number": 4}
    assert record.examples == {"line without number": "x" * 200}


def test_the_number_of_counters_is_bounded_and_nothing_is_lost(record: LinkRecord) -> None:
    for number in range(100):
        record.count(f"reason {number}")

    assert len(record.counts) == 65
    assert sum(record.counts.values()) == 100


def test_since_when_a_link_is_as_it_is(record: LinkRecord, hands: Hands) -> None:
    hands.t_ns = 2_000
    record.opened("port opened")
    hands.t_ns = 3_000
    record.opened("still open")
    up_since = record.since_ns
    record.lost("gone", "")
    hands.t_ns = 4_000
    record.lost("busy", "")

    assert up_since == 2_000
    assert record.since_ns == 3_000
    assert record.why == "busy"
