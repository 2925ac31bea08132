"""A small stand without wires, for tests of the engine: one instrument that a test feeds."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence

import msgspec
import numpy as np

from drivers.errors import PortLostError
from drivers.reading import Block, Clock, Instrument, Sink
from drivers.registry import InstrumentKind
from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.channels.plan import ChannelsPlan, Linear, Measured, System
from monitor.limits.plan import Kind, Limit
from monitor.pipeline import Plan
from monitor.stand.model import ChannelEntry, InstrumentEntry, PhaseEntry, Stand

SECOND_NS = 1_000_000_000


class NoSettings(msgspec.Struct, frozen=True):
    """An instrument that needs none."""


class Fed:
    """An instrument that a test feeds.

    Attributes:
        signals: Its signals.
    """

    def __init__(self, name: str, signals: Sequence[str] = ("a", "b")) -> None:
        self.name = name
        self.signals = tuple(signals)
        self._rows: asyncio.Queue[Sequence[float] | Exception] = asyncio.Queue()

    def feed(self, *values: float) -> None:
        """Have a row sent, stamped when it is sent."""
        self._rows.put_nowait(values)

    def unplug(self, why: str = "unplugged") -> None:
        """Have the link lost."""
        self._rows.put_nowait(PortLostError(why, "plug it in"))

    def fail(self, error: Exception) -> None:
        """Have the driver fail."""
        self._rows.put_nowait(error)

    async def run(self, sink: Sink, clock: Clock) -> None:
        """Deliver what is fed."""
        sink.opened("a test feeds it")
        while True:
            row = await self._rows.get()
            if isinstance(row, Exception):
                raise row
            t_ns = np.array([clock.now_ns()], np.int64)
            sink.take(Block(self.name, self.signals, t_ns, np.array([row], np.float64)))


def kinds(instruments: Mapping[str, Instrument]) -> dict[str, InstrumentKind]:
    """Give a registry with one kind, ``fed``, that hands out *instruments* by name."""
    kind = InstrumentKind(
        name="fed",
        title="fed by a test",
        settings=NoSettings,
        check=lambda _: None,
        signals=lambda _: ("a", "b"),
        make=lambda name, _: instruments[name],
    )
    return {"fed": kind}


def stand(lag_s: float = 0.0, stale_after_s: float = 5.0, on_delay_s: float = 0.0) -> Stand:
    """Give a stand with two channels: ``PT-1`` is high above 50; its link and the recording."""
    stale_ns = int(stale_after_s * SECOND_NS)
    channels = ChannelsPlan(
        measured=(
            Measured("PT-1", "panel", "a", Linear(), stale_ns),
            Measured("PT-2", "panel", "b", Linear(2.0, 1.0), stale_ns),
        ),
        system=(System("link:panel"), System("host:recording")),
    )
    limits = (
        Limit(
            "PT-1.high", 0, Kind.HIGH, 50.0, {"climb": 80.0}, 2.0, int(on_delay_s * SECOND_NS)
        ),
        Limit("PT-1.stale", 0, Kind.STALE),
        Limit("link:panel.high", 2, Kind.HIGH, 0.5),
        Limit("host:recording.high", 3, Kind.HIGH, 0.5),
    )
    alarms = (
        Alarm("PT-1.high", "PT-1", Priority.HIGH, "High", "Vent it"),
        Alarm("PT-1.stale", "PT-1", Priority.MEDIUM, "No value"),
        Alarm("link:panel.high", "link:panel", Priority.HIGH, "Panel lost"),
        Alarm("host:recording.high", "host:recording", Priority.TOP, "Nothing is recorded"),
    )
    return Stand(
        name="bench",
        title="Bench",
        lag_ns=int(lag_s * SECOND_NS),
        instruments=(InstrumentEntry("panel", "fed", NoSettings()),),
        channels=(
            ChannelEntry("PT-1", "One", "bar", 1, 0.0, 100.0, "", "panel", "", 0),
            ChannelEntry("PT-2", "Two", "bar", 1, 0.0, 100.0, "", "panel", "", 1),
        ),
        phases=(PhaseEntry("ground", "Ground", ""), PhaseEntry("climb", "Climb", "")),
        charts=(),
        plan=Plan(channels, limits, AlarmsPlan(alarms, ("ground", "climb"))),
        text="# a stand that tests make by hand\n",
        warnings=(),
    )
