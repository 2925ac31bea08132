"""What the virtual instruments put on their wires: pure, bytes and topics only."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from drivers.virtual.rig import Rig
from drivers.virtual.sensors import Sensor, SensorPlan

#: What a gas panel's line begins with, after the ``$``.
GAS_PREFIX = "GAS,"
#: What the cooling panel is asked, and what its answer begins with.
ASK = b"ALL?"
ANSWER_PREFIX = "ALL,"
REFUSAL = b"ERR,unknown request\r\n"

#: Topic of the cabin node's packs, and of each analyser (``+`` its signal).
CABIN_TOPIC = "gondola/cabin/pack"
ANALYSER_TOPIC = "gondola/analyser/{signal}/kpa"
#: Samples in a pack, and their spacing in ms.
PACK = 5
PERIOD_MS = 100


class Bench:
    """The sensors of one instrument, always up to date, and whether its wire is plugged.

    Attributes:
        name: Name of the instrument.
        sensors: In the order of the wire.
    """

    def __init__(self, name: str, plans: Sequence[SensorPlan], rig: Rig) -> None:
        """Put the sensors into *rig*."""
        self.name = name
        self.sensors = [Sensor(plan, rig) for plan in plans]
        self._rig = rig

    @property
    def is_plugged(self) -> bool:
        """Whether anything at all comes out of its wire."""
        return not self._rig.faults.has("wire_unplugged", self.name)

    def advance(self, dt_s: float) -> None:
        """Let every sensor see the truth of now."""
        for sensor in self.sensors:
            sensor.advance(dt_s)

    def texts(self) -> list[str]:
        """Read every sensor once, as text with as many decimals as it resolves."""
        return [text_of(sensor.read(), sensor.plan.step) for sensor in self.sensors]


def text_of(raw: float, step: float) -> str:
    """Write a raw number with the decimals of its step (4 where it has none)."""
    if step >= 1.0:
        return str(round(raw))
    decimals = 4
    for places in (1, 2, 3):
        if 0.0 < 10.0**-places <= step * 1.001:
            decimals = places
            break
    return f"{raw:.{decimals}f}"


def gas_line(texts: Sequence[str]) -> bytes:
    r"""Write a line of the gas panel: ``$GAS,1,2*HH\r\n``, HH the exclusive or (NMEA 0183)."""
    body = (GAS_PREFIX + ",".join(texts)).encode("ascii")
    checksum = 0
    for byte in body:
        checksum ^= byte
    return b"$%s*%02X\r\n" % (body, checksum)


def answer_to(request: bytes, texts: Sequence[str]) -> bytes:
    """Answer a line of the cooling panel's master, without its end."""
    if request.strip().upper() != ASK:
        return REFUSAL
    return (ANSWER_PREFIX + ",".join(texts)).encode("ascii") + b"\r\n"


@dataclass(frozen=True, slots=True)
class Published:
    """A message for the broker."""

    topic: str
    payload: bytes


class CabinNode:
    """Collects samples of the cabin and sends them in packs."""

    def __init__(self, bench: Bench) -> None:
        """Begin with an empty pack."""
        self._bench = bench
        self._rows: list[list[float]] = []
        self._number = 0

    def tick(self) -> Published | None:
        """Take a sample; give the pack when it is full."""
        row = [round(sensor.read(), 4) for sensor in self._bench.sensors]
        self._rows.append(row)
        if len(self._rows) < PACK:
            return None
        columns = {
            sensor.plan.signal: [row[place] for row in self._rows]
            for place, sensor in enumerate(self._bench.sensors)
        }
        pack = {"pack": self._number, "period_ms": PERIOD_MS, "samples": columns}
        self._number += 1
        self._rows = []
        payload = json.dumps(pack, separators=(",", ":")).encode("ascii")
        return Published(CABIN_TOPIC, payload)


def analyser_messages(bench: Bench) -> list[Published]:
    """Give a plain number for each analyser, each on its own topic."""
    return [
        Published(ANALYSER_TOPIC.format(signal=sensor.plan.signal), text.encode("ascii"))
        for sensor, text in zip(bench.sensors, bench.texts(), strict=True)
    ]
