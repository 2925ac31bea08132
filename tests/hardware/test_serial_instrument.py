"""Tests for drivers.instruments.serial_lines.

Source: An instrument on a real port: ``pytest tests/hardware --port=/dev/ttyUSB0``. It must
stream lines of comma-separated numbers at 9600 baud; what they mean does not matter.
"""

from __future__ import annotations

import asyncio
import time

import pytest

from drivers.instruments.serial_lines import SerialLines, SerialLinesSettings
from drivers.reading import Block


class RealTime:
    """Real time as data time."""

    speed = 1.0

    def now_ns(self) -> int:
        """Give the present time."""
        return time.time_ns()


class Catch:
    """Keeps what comes."""

    def __init__(self) -> None:
        self.blocks: list[Block] = []

    def take(self, block: Block) -> None:
        """Keep a block."""
        self.blocks.append(block)

    def opened(self, why: str) -> None:
        """Nothing to do."""

    def count(self, what: str, number: int = 1, example: str = "") -> None:
        """Say it: a person is watching."""
        print(what, number, example)


@pytest.mark.hardware
async def test_an_instrument_on_a_real_port_delivers_rows_in_time_order(port: str) -> None:
    sink = Catch()
    settings = SerialLinesSettings(port=port, baud=9600, fields=("first",))
    one = SerialLines("bench", settings)

    with pytest.raises(TimeoutError):
        await asyncio.wait_for(one.run(sink, RealTime()), timeout=5)

    times = [t for block in sink.blocks for t in block.t_ns.tolist()]
    assert len(times) > 1
    assert times == sorted(set(times))
