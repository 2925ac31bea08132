"""All virtual instruments of a rig together: what leaves on which wire at each tick."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from drivers.virtual.panels import (
    Bench,
    CabinNode,
    Published,
    analyser_messages,
    answer_to,
    gas_line,
)
from drivers.virtual.rig import Rig
from drivers.virtual.sensors import SensorPlan
from drivers.virtual.signals import INSTRUMENTS

#: How often the gas panel streams and the cabin node samples, in s of rig time.
TICK_S = 0.1
#: Ticks between two messages of an analyser, and the tick of the first one.
_ANALYSER_EVERY, _ANALYSER_FIRST = 10, 3


@dataclass(frozen=True, slots=True)
class Sent:
    """What one tick put on the wires.

    Attributes:
        line: From the gas panel; empty where its wire is unplugged.
        published: To the broker.
    """

    line: bytes
    published: tuple[Published, ...]


class Outlets:
    """Steps the rig and lets its instruments speak.

    Attributes:
        rig: The rig behind them.
        ticks: Ticks so far; one is ``TICK_S`` of rig time.
    """

    def __init__(
        self, rig: Rig, instruments: Mapping[str, tuple[SensorPlan, ...]] = INSTRUMENTS
    ) -> None:
        """Put every sensor in."""
        self.rig = rig
        self.ticks = 0
        self._gas = Bench("gas_panel", instruments["gas_panel"], rig)
        self._cooling = Bench("cooling_panel", instruments["cooling_panel"], rig)
        self._cabin = Bench("cabin_node", instruments["cabin_node"], rig)
        self._analysers = Bench("analysers", instruments["analysers"], rig)
        self._benches = (self._gas, self._cooling, self._cabin, self._analysers)
        self._node = CabinNode(self._cabin)

    def tick(self, *, is_running: bool = True) -> Sent:
        """Go on by one tick; give what the instruments sent at its end.

        Args:
            is_running: Whether time goes on in the rig; if not, its instruments still speak.
        """
        if is_running:
            self.rig.step(TICK_S)
        self.ticks += 1
        for bench in self._benches:
            bench.advance(TICK_S)
        line = gas_line(self._gas.texts())
        published: list[Published] = []
        pack = self._node.tick()
        if pack is not None and self._cabin.is_plugged:
            published.append(pack)
        if self.ticks % _ANALYSER_EVERY == _ANALYSER_FIRST:
            messages = analyser_messages(self._analysers)
            published += messages if self._analysers.is_plugged else []
        return Sent(line if self._gas.is_plugged else b"", tuple(published))

    def answer(self, request: bytes) -> bytes:
        """Answer the cooling panel's master; nothing where the wire is unplugged."""
        if not self._cooling.is_plugged:
            return b""
        return answer_to(request, self._cooling.texts())
