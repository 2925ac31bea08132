"""A small engine for tests of the display: real messages on a real socket, a synthetic stand.

Run it alone to look at the display by hand: ``python -m tests.monitor.display.fake_engine``.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import threading
import time
from collections.abc import AsyncIterator
from typing import ClassVar, Self

import msgspec
from websockets.asyncio.server import ServerConnection, serve
from websockets.exceptions import ConnectionClosed

from monitor.events import Event, EventKind, Field
from monitor.link.codec import decode_from_display, encode
from monitor.link.messages import (
    LINK_VERSION,
    Act,
    Acted,
    AlarmState,
    Ask,
    Beat,
    Change,
    Column,
    Done,
    FromEngine,
    Hello,
    Part,
    PhaseState,
    Ready,
    Refused,
    Snapshot,
    Value,
    Welcome,
)
from tests.monitor.display import fake_alarms, fake_stand
from tests.monitor.display.fake_stand import NS

TOKEN = "let me in"


class FakeEngine:
    """Plays one scene: ``calm``, ``alarm``, ``inhibited`` or ``stale``. A context manager.

    Attributes:
        port: Where it listens.
        acts: Acts as they came.
        readies: How often a display said that it had taken everything.
        is_silent: While true it answers nothing, though the connection stays open.
    """

    def __init__(
        self, scene: str = "calm", *, port: int = 0, past_s: int = 5400, speed: float = 1.0
    ) -> None:
        self.port = port
        self.acts: list[Act] = []
        self.readies = 0
        self.is_silent = False
        self._scene, self._speed = scene, speed
        self._stand = fake_stand.stand_info()
        self._begun_ns = time.time_ns() // NS * NS
        self._mono_ns = time.monotonic_ns()
        self._started_ns = self._begun_ns - past_s * NS
        self._phase = fake_alarms.phase_of(scene, self._begun_ns)
        made = fake_alarms.alarms_of(scene, self._stand, self._begun_ns)
        self._alarms = {alarm.id: alarm for alarm in made}
        self._changed: set[str] = set()
        self._events: list[Event] = self._first_events()
        self._told_events = 0
        self._sent_ns = 0
        self._seq = 0
        self._loop = asyncio.new_event_loop()
        self._stopping = asyncio.Event()
        self._links: set[ServerConnection] = set()
        self._ready = threading.Event()
        self._thread = threading.Thread(target=self._run, name="fake engine")

    def __enter__(self) -> Self:
        self._thread.start()
        assert self._ready.wait(10)
        return self

    def __exit__(self, *_: object) -> None:
        self._loop.call_soon_threadsafe(self._stopping.set)
        self._thread.join(10)

    def now_ns(self) -> int:
        """Give the data time."""
        return self._begun_ns + int((time.monotonic_ns() - self._mono_ns) * self._speed)

    def raise_alarm(self, alarm_id: str, value: float = 0.0) -> None:
        """Raise an alarm, from any thread."""
        self._loop.call_soon_threadsafe(self._raise, alarm_id, value)

    def displays(self) -> int:
        """Count the displays that are connected."""
        return len(self._links)

    def cut(self) -> None:
        """Cut every connection, as a crash would; go on listening."""
        self._loop.call_soon_threadsafe(self._cut)

    def _cut(self) -> None:
        for link in self._links:
            link.transport.abort()

    def _raise(self, alarm_id: str, value: float) -> None:
        now_ns = self.now_ns()
        self._set(
            msgspec.structs.replace(
                self._alarms[alarm_id], is_active=True, is_acknowledged=False,
                is_annunciated=True, onset_ns=now_ns - 2 * NS, true_ns=now_ns,
                annunciated_ns=now_ns, value=value,
            )
        )  # fmt: skip
        self._note("alarm.raised", alarm_id, {"value": value})

    def _run(self) -> None:
        asyncio.set_event_loop(self._loop)
        try:
            self._loop.run_until_complete(self._serve())
        finally:
            self._loop.close()

    async def _serve(self) -> None:
        async with serve(
            self._talk, "127.0.0.1", self.port, compression=None, ping_interval=None
        ) as server:
            self.port = next(iter(server.sockets)).getsockname()[1]
            self._ready.set()
            await self._stopping.wait()

    async def _talk(self, link: ServerConnection) -> None:
        self._links.add(link)
        with contextlib.suppress(ConnectionClosed):
            async with self._beats(link):
                await self._answer(link)
        self._links.discard(link)

    @contextlib.asynccontextmanager
    async def _beats(self, link: ServerConnection) -> AsyncIterator[None]:
        async def beat() -> None:
            while True:
                await asyncio.sleep(0.5)
                await self._send(link, Beat(self.now_ns()))

        task = asyncio.create_task(beat())
        try:
            yield
        finally:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)

    async def _send(self, link: ServerConnection, message: FromEngine) -> None:
        if not self.is_silent:
            await link.send(encode(message))

    async def _answer(self, link: ServerConnection) -> None:
        async for data in link:
            assert isinstance(data, bytes)
            message = decode_from_display(data)
            if isinstance(message, Hello):
                if message.token != TOKEN:
                    await self._send(link, Refused("The token is not that of this engine."))
                    return
                await self._send(link, Welcome(LINK_VERSION, "fake"))
                await self._send(link, self._snapshot())
            elif isinstance(message, Ready):
                self.readies += 1
                await asyncio.sleep(0.03)
                await self._send(link, self._change())
            elif isinstance(message, Ask):
                await self._tell_past(link, message)
            elif isinstance(message, Act):
                await self._send(link, self._act(message))

    def _snapshot(self) -> Snapshot:
        self._sent_ns = self.now_ns() - NS // 2
        self._told_events = len(self._events)
        self._seq += 1
        return Snapshot(
            seq=self._seq, until_ns=self._sent_ns, run_id="fake", started_ns=self._started_ns,
            speed=self._speed, stand=self._stand, phase=self._phase,
            values=[self._value(n, self._sent_ns) for n in range(len(fake_stand.TAGS))],
            alarms=list(self._alarms.values()), events=self._events[-500:],
            links=fake_stand.links_of(self._scene, self.now_ns()),
            recording=fake_stand.recording_of(self._scene, self.now_ns()),
            health=self._health(), forced=fake_alarms.forced_of(self._scene, self._begun_ns),
        )  # fmt: skip

    def _health(self) -> dict[str, float]:
        return {"steps_per_s": 20.0, "longest_step_ms": 3.4, "late_rows": 2.0, "displays": 1.0}

    def _value(self, number: int, now_ns: int) -> Value:
        quality = fake_stand.quality_of(number, self._scene)
        t_ns = fake_stand.grid_ns(number, now_ns - 2 * NS, now_ns)[-1:]
        if quality >= 0x80:
            return Value(self._begun_ns - 65 * NS, None, quality)
        return Value(
            int(t_ns[0]), float(fake_stand.values_at(number, t_ns, self._scene)[0]), quality
        )

    def _change(self) -> Change:
        until_ns = self.now_ns() - NS // 2
        columns = [
            self._column(n, self._sent_ns, until_ns)
            for n in range(len(fake_stand.TAGS))
            if fake_stand.quality_of(n, self._scene) < 0x80
        ]
        self._sent_ns = until_ns
        self._seq += 1
        events, self._told_events = self._events[self._told_events :], len(self._events)
        alarms = [self._alarms[key] for key in self._changed]
        self._changed.clear()
        return Change(
            self._seq, until_ns, [column for column in columns if column.t_ns], alarms, events,
            fake_stand.links_of(self._scene, self.now_ns()), self._phase,
            fake_stand.recording_of(self._scene, self.now_ns()), self._health(),
        )  # fmt: skip

    def _column(self, number: int, from_ns: int, until_ns: int) -> Column:
        t_ns = fake_stand.grid_ns(number, from_ns, until_ns)
        value = fake_stand.values_at(number, t_ns, self._scene)
        quality = bytes([fake_stand.quality_of(number, self._scene)]) * t_ns.size
        return Column(number, t_ns.tobytes(), value.tobytes(), quality)

    async def _tell_past(self, link: ServerConnection, ask: Ask) -> None:
        for number in ask.channels:
            t_ns = fake_stand.grid_ns(number, ask.from_ns, ask.until_ns)
            t_ns = t_ns[:: max(1, t_ns.size // (2 * ask.points))]
            value = fake_stand.values_at(number, t_ns, self._scene)
            if fake_stand.quality_of(number, self._scene) >= 0x80:
                value[t_ns > self._begun_ns - 65 * NS] = float("nan")
            # A gap of a minute, ten minutes ago, as a pulled cable leaves it.
            out = (t_ns > self._begun_ns - 660 * NS) & (t_ns < self._begun_ns - 600 * NS)
            if number % 5 == 3:
                value[out] = float("nan")
            await self._send(link, Part(ask.id, number, t_ns.tobytes(), value.tobytes()))
        await self._send(link, Done(ask.id))

    def _act(self, act: Act) -> Acted:
        self.acts.append(act)
        now_ns = self.now_ns()
        if act.verb == "enter_phase":
            self._phase = PhaseState(act.subject, now_ns, self._phase.mode)
            self._note("phase.entered", act.subject, {"by": act.by, "reason": ""})
        elif act.verb in self._PLAIN:
            self._note(self._PLAIN[act.verb], "", {"by": act.by, "text": act.reason})
        else:
            for alarm_id in act.subject.split():
                acted = self._act_on_alarm(act, alarm_id, now_ns)
            return acted
        return Acted(act.id, now_ns)

    _PLAIN: ClassVar[dict[str, EventKind]] = {
        "silence": "action.silence", "note": "action.note", "lamp_test": "action.lamp_test",
    }  # fmt: skip

    def _act_on_alarm(self, act: Act, alarm_id: str, now_ns: int) -> Acted:
        alarm = self._alarms.get(alarm_id)
        if alarm is None:
            return Acted(act.id, 0, "There is no such alarm.")
        changes: dict[str, dict[str, object]] = {
            "acknowledge": {"is_acknowledged": True},
            "reset": {"is_latched": False, "is_annunciated": False},
            "shelve": {
                "is_shelved": True, "is_annunciated": False,
                "shelf_reason": f"shelved by {act.by}: {act.reason}",
                "shelved_since_ns": now_ns,
                "shelved_until_ns": now_ns + int(act.seconds * NS),
            },
            "unshelve": {"is_shelved": False, "is_annunciated": True, "shelf_reason": ""},
            "out_of_service": {"is_out_of_service": True, "is_annunciated": False},
            "return_to_service": {"is_out_of_service": False, "is_annunciated": True},
            "edit_limit": {"is_edited": True, "edits": dict(act.changes)},
        }  # fmt: skip
        if act.verb == "reset" and not alarm.is_latched:
            return Acted(act.id, 0, "The condition still stands.")
        self._set(msgspec.structs.replace(alarm, **changes[act.verb]))
        kinds: dict[str, EventKind] = {
            "acknowledge": "alarm.acknowledged", "reset": "alarm.reset",
            "shelve": "alarm.shelved", "unshelve": "alarm.unshelved",
            "out_of_service": "alarm.out_of_service",
            "return_to_service": "alarm.returned_to_service", "edit_limit": "limit.edited",
        }  # fmt: skip
        self._note(kinds[act.verb], alarm_id, {"by": act.by, "reason": act.reason})
        return Acted(act.id, now_ns)

    def _set(self, alarm: AlarmState) -> None:
        self._alarms[alarm.id] = alarm
        self._changed.add(alarm.id)

    def _note(self, kind: EventKind, subject: str, fields: dict[str, Field]) -> None:
        self._events.append(Event(self.now_ns(), kind, subject, fields))

    def _first_events(self) -> list[Event]:
        begun, start = self._begun_ns, self._started_ns
        events = [
            Event(start, "run.started", "", {"detail": "run-2026-11-24T210000Z-gondola"}),
            Event(start, "phase.entered", "ground", {"by": "start of run", "reason": ""}),
            Event(start + 620 * NS, "phase.entered", "climb", {"by": "K. Vale", "reason": ""}),
            Event(begun - 1260 * NS, "phase.entered", "hold", {"by": "K. Vale", "reason": ""}),
            Event(begun - 660 * NS, "link.down", "cooling_panel",
                  {"why": "the port is gone", "cure": "Plug the cable in again"}),
            Event(begun - 600 * NS, "link.up", "cooling_panel", {"why": "readings arrive"}),
        ]  # fmt: skip
        risen = [alarm for alarm in self._alarms.values() if alarm.true_ns]
        for alarm in sorted(risen, key=lambda one: one.true_ns):
            fields: dict[str, Field] = {
                "value": alarm.value,
                "priority": "",
                "setpoint": alarm.setpoint,
            }
            fields["is_annunciated"] = not alarm.is_suppressed
            events.append(Event(alarm.true_ns, "alarm.raised", alarm.id, fields))
            if alarm.is_acknowledged:
                at = alarm.true_ns + 9 * NS
                events.append(Event(at, "alarm.acknowledged", alarm.id, {"by": "K. Vale"}))
        return sorted(events, key=lambda event: event.t_ns)


def main() -> None:
    """Serve a scene and show the display on it."""
    parser = argparse.ArgumentParser()
    parser.add_argument(
        "scene", choices=["calm", "alarm", "inhibited", "stale"], nargs="?", default="calm"
    )
    parser.add_argument("--speed", type=float, default=1.0)
    options = parser.parse_args()
    from monitor.display.run import run_display

    with FakeEngine(options.scene, speed=options.speed) as engine:
        run_display("127.0.0.1", engine.port, TOKEN)


if __name__ == "__main__":
    main()
