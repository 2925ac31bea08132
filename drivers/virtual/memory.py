"""The rig on wires made of memory: the real drivers' cores, a virtual clock, no loop.

Everything that leaves the rig is encoded as on the real wires and decoded by the same code.
The same seed gives the same blocks to the last bit, on any machine with the same numpy.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Protocol

import msgspec

from drivers.framing.topics import wildcard_text
from drivers.instruments.mqtt import MqttCore
from drivers.instruments.mqtt_settings import MqttSettings
from drivers.instruments.polled_settings import SerialPolledSettings
from drivers.instruments.polling import PolledCore
from drivers.instruments.serial_lines import SerialLinesCore, SerialLinesSettings
from drivers.reading import Block
from drivers.virtual.outlets import TICK_S, Outlets, Sent
from drivers.virtual.rig import Rig
from drivers.virtual.scenario import Scenario, Script, Step

_TICK_NS = round(TICK_S * 1e9)


@dataclass(frozen=True, slots=True)
class Moment:
    """What happened in one tick of 0.1 s.

    Attributes:
        t_ns: Data time at its end.
        blocks: What the drivers made of what arrived then.
        steps: Steps of the script that were done just before, and want the operator.
    """

    t_ns: int
    blocks: tuple[Block, ...]
    steps: tuple[Step, ...]


class CountingSink:
    """Takes the drivers' counts.

    Attributes:
        counts: What was counted, by instrument-independent reason.
    """

    def __init__(self) -> None:
        """Start with nothing counted."""
        self.counts: Counter[str] = Counter()

    def take(self, block: Block) -> None:
        """Refuse blocks: the cores give them back instead."""
        raise TypeError(f"a block of {block.instrument} came the wrong way")

    def opened(self, why: str) -> None:
        """Count that a link opened."""
        self.counts[why] += 1

    def count(self, what: str, number: int = 1, example: str = "") -> None:
        """Count what a driver could not use."""
        self.counts[f"{what}: {example}" if example else what] += number


class _Feed(Protocol):
    """One instrument's driver at the end of its wire."""

    def take(self, sent: Sent, t_ns: int) -> list[Block]:
        """Take what the rig sent at *t_ns*."""


class MemoryWires:
    """The rig, its script, and a driver's core at the end of each wire.

    Attributes:
        sink: Where the cores count what they could not use.
        rig: The rig itself, for tests that break something by hand.
    """

    def __init__(
        self,
        settings: Mapping[str, msgspec.Struct],
        scenario: Scenario,
        seed: int,
        start_ns: int = 0,
    ) -> None:
        """Connect the instruments.

        Args:
            settings: Settings by instrument name, as a stand file's entries are decoded.
            scenario: What happens.
            seed: Of the sensors' noise and errors.
            start_ns: Data time at the start.
        """
        self.rig = Rig(seed)
        self.sink = CountingSink()
        self._outlets = Outlets(self.rig)
        self._script = Script(scenario, self.rig)
        self._start_ns = start_ns
        self._feeds = [self._feed(name, entry) for name, entry in settings.items()]

    def __iter__(self) -> Iterator[Moment]:
        """Play the script to its end."""
        while not self._script.is_over:
            yield self.tick()

    def tick(self) -> Moment:
        """Go on by 0.1 s."""
        steps = tuple(step for step in self._script.due() if step.wants_operator)
        sent = self._outlets.tick()
        t_ns = self._start_ns + self._outlets.ticks * _TICK_NS
        blocks = [block for feed in self._feeds for block in feed.take(sent, t_ns)]
        return Moment(t_ns, tuple(blocks), steps)

    def _feed(self, name: str, settings: msgspec.Struct) -> _Feed:
        """Make the driver's end of one wire."""
        if isinstance(settings, SerialLinesSettings):
            return _Stream(SerialLinesCore(name, settings), self.sink)
        if isinstance(settings, SerialPolledSettings):
            core = PolledCore(name, settings)
            core.restart(self._start_ns, self.sink)
            return _Poll(core, self._outlets, self.sink)
        if isinstance(settings, MqttSettings):
            return _Subscriber(MqttCore(name, settings), settings, self.sink)
        raise TypeError(f"{name}: no memory wire for {type(settings).__name__}")


class _Stream:
    """A stream of lines."""

    def __init__(self, core: SerialLinesCore, sink: CountingSink) -> None:
        self._core = core
        self._sink = sink

    def take(self, sent: Sent, t_ns: int) -> list[Block]:
        """Read the line, if there is one."""
        return self._core.feed(sent.line, t_ns, self._sink) if sent.line else []


class _Poll:
    """Requests and replies; a reply comes at once."""

    def __init__(self, core: PolledCore, outlets: Outlets, sink: CountingSink) -> None:
        self._core = core
        self._outlets = outlets
        self._sink = sink

    def take(self, sent: Sent, t_ns: int) -> list[Block]:
        """Ask if it is time, read the reply."""
        del sent
        blocks: list[Block] = []
        while self._core.due_ns <= t_ns:
            request = self._core.next_request(t_ns, self._sink)
            if request is None:
                break
            for line in request.splitlines():
                reply = self._outlets.answer(line)
                if reply:
                    blocks += self._core.feed(reply, t_ns, self._sink)
        return blocks


class _Subscriber:
    """Messages of the topics that an instrument has subscribed to."""

    def __init__(self, core: MqttCore, settings: MqttSettings, sink: CountingSink) -> None:
        self._core = core
        self._filters = [entry.topic for entry in settings.topics]
        self._sink = sink

    def take(self, sent: Sent, t_ns: int) -> list[Block]:
        """Read the messages that a broker would hand over."""
        blocks: list[Block] = []
        for message in sent.published:
            if any(wildcard_text(message.topic, one) is not None for one in self._filters):
                blocks += self._core.message(
                    message.topic, message.payload, t_ns, False, self._sink
                )
        return blocks
