"""Runs the rig on real wires in real time times N, and plays a scenario on it."""

from __future__ import annotations

import asyncio
import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from time import monotonic
from typing import Any

from drivers.virtual.broker import HOST, running_broker
from drivers.virtual.outlets import TICK_S, Outlets, Sent
from drivers.virtual.pace import Pace
from drivers.virtual.pty_wire import PtyWire
from drivers.virtual.publisher import Publisher
from drivers.virtual.rig import Rig
from drivers.virtual.scenario import Scenario, Script, Step

Say = Callable[[dict[str, Any]], None]

#: Ticks done at once before other tasks get their turn.
_MOST_AT_ONCE = 40
#: Shortest sleep, in s of real time: below it the loop would only spin.
_SHORTEST_SLEEP_S = 0.002
#: How often a rig that is too slow says so, in s of real time.
_COMPLAIN_S = 5.0


@dataclass(frozen=True, slots=True)
class Settings:
    """How to play.

    Attributes:
        scenario: What happens.
        speed: Seconds of rig time in a real second.
        seed: Of the sensors' noise and errors.
    """

    scenario: Scenario
    speed: float
    seed: int


def say_json(line: dict[str, Any]) -> None:
    """Say something to whoever started us: one line of JSON."""
    sys.stdout.write(json.dumps(line) + "\n")
    sys.stdout.flush()


async def play(settings: Settings, go: asyncio.Event, end: asyncio.Event, say: Say) -> None:
    """Open the wires, say where they are, play the script from *go* on, run until *end*.

    Raises:
        NoBrokerError: There is no MQTT broker to be had.
    """
    outlets = Outlets(Rig(settings.seed))
    gas, cooling = PtyWire(), PtyWire()
    try:
        cooling.listen(outlets.answer)
        async with running_broker() as port:
            say({"ready": {"overrides": _overrides(gas.port, cooling.port, port)}})
            publisher = Publisher(HOST, port)
            stage = _Stage(settings, outlets, gas, publisher, say)
            await _until(end, publisher.run(), stage.run(go))
    finally:
        gas.close()
        cooling.close()


def _overrides(gas: str, cooling: str, broker: int) -> dict[str, dict[str, str]]:
    """Tell which settings of a stand's instruments lead to these wires."""
    mqtt = {"host": HOST, "port": str(broker)}
    return {
        "gas_panel": {"port": gas},
        "cooling_panel": {"port": cooling},
        "cabin_node": dict(mqtt),
        "analysers": dict(mqtt),
    }


async def _until(end: asyncio.Event, *work: Any) -> None:
    """Run *work* until *end* is set; a failure of any part ends all."""
    tasks = [asyncio.create_task(part, name=f"virtual rig {n}") for n, part in enumerate(work)]
    ending = asyncio.create_task(end.wait(), name="virtual rig end")
    try:
        done, _ = await asyncio.wait([*tasks, ending], return_when=asyncio.FIRST_COMPLETED)
        for task in done:
            task.result()
    finally:
        await _cancelled([*tasks, ending])


async def _cancelled(tasks: list[asyncio.Task[Any]]) -> None:
    """Cancel tasks until they have ended.

    Once is not enough before Python 3.12: ``wait_for``, under an MQTT publish, loses a
    cancellation that comes in the same instant as its result.
    """
    waiting = set(tasks)
    while waiting:
        for task in waiting:
            task.cancel()
        _, waiting = await asyncio.wait(waiting, timeout=0.1)


class _Stage:
    """The loop that steps the rig, sends what its instruments say and tells the script."""

    def __init__(
        self, settings: Settings, outlets: Outlets, gas: PtyWire, publisher: Publisher, say: Say
    ) -> None:
        self._speed = settings.speed
        self._outlets = outlets
        self._script = Script(settings.scenario, outlets.rig)
        self._gas = gas
        self._publisher = publisher
        self._say = say
        self._is_over = False
        self._complained_s = 0.0
        self._lost_s = 0.0

    async def run(self, go: asyncio.Event) -> None:
        """Run for ever. Until *go* the rig stands still, but its instruments speak.

        So a watch that is started first has readings from the first moment on.
        """
        pace = Pace(self._speed, TICK_S, monotonic())
        while True:
            due = pace.due(monotonic())
            for number in range(1, due + 1):
                if go.is_set():
                    self._tick()
                else:
                    self._send(self._outlets.tick(is_running=False))
                if number % _MOST_AT_ONCE == 0:
                    await asyncio.sleep(0)
            self._complain(pace)
            await asyncio.sleep(max(_SHORTEST_SLEEP_S, pace.wait_s(monotonic())))

    def _tick(self) -> None:
        """Do one tick of rig time."""
        for step in self._script.due():
            if step.wants_operator:
                self._say({"scenario": scene_of(step)})
        self._send(self._outlets.tick())
        if self._script.is_over and not self._is_over:
            self._is_over = True
            self._say({"end": True})

    def _send(self, sent: Sent) -> None:
        """Put on the wires what the instruments said."""
        if sent.line:
            self._gas.write(sent.line)
        for message in sent.published:
            self._publisher.put(message)

    def _complain(self, pace: Pace) -> None:
        """Say, not too often, that the machine is too slow for this speed."""
        now_s = monotonic()
        if pace.lost_s <= self._lost_s or now_s - self._complained_s < _COMPLAIN_S:
            return
        behind = {"lost_s": round(pace.lost_s, 1), "speed": self._speed}
        self._say({"behind": behind})
        print(f"cannot keep up with speed {self._speed:g}: {behind}", file=sys.stderr)
        self._lost_s = pace.lost_s
        self._complained_s = now_s


def scene_of(step: Step) -> dict[str, Any]:
    """Say what the operator has to do, as the demo takes it."""
    return {"at_s": step.at_s, "enter_phase": step.enter_phase, "note": step.note}
