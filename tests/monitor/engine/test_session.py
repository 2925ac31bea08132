"""Tests for monitor.engine.session.

Source: hand-worked here, from the order of messages that ``monitor.link.messages`` states.
Displays are real connections to a real server in the same process.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from typing import TypeVar

import numpy as np
import pytest
from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed

from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.channels.plan import ChannelsPlan
from monitor.engine import session as module
from monitor.engine.acts import ActDesk
from monitor.engine.board import Board, RunFacts
from monitor.engine.serve import LinkServer
from monitor.engine.session import Desk
from monitor.events import Action, Event
from monitor.limits.plan import Kind, Limit
from monitor.link.codec import decode_from_engine, encode
from monitor.link.messages import (
    LINK_VERSION,
    Act,
    Acted,
    AlarmState,
    Ask,
    Beat,
    Cancel,
    Change,
    Done,
    ForcedState,
    FromDisplay,
    FromEngine,
    Hello,
    Part,
    PhaseState,
    Ready,
    RecordingState,
    Refused,
    Snapshot,
    StandInfo,
    Welcome,
)
from monitor.pipeline import Plan, Step
from monitor.samples import Bytes, Floats, Grid, Ints

M = TypeVar("M")
SECOND_NS = 1_000_000_000
TOKEN = "open sesame"
STAND = StandInfo("bench", "Bench", [], [], [], [], [], 0.1)
PLAN = Plan(
    ChannelsPlan(()),
    (Limit("PT-1.high", 0, Kind.HIGH, 1.0),),
    AlarmsPlan((Alarm("PT-1.high", "PT-1", Priority.HIGH, "High"),), ("ground",)),
)
HELLO = Hello(LINK_VERSION, TOKEN, "test")


class Standing:
    def phase(self) -> PhaseState:
        return PhaseState("ground", 1)

    def alarm(self, position: int) -> AlarmState:
        return AlarmState("PT-1.high")

    def forced(self) -> list[ForcedState]:
        return []

    def newest(self) -> tuple[Ints, Floats, Bytes]:
        return np.zeros(2, np.int64), np.zeros(2), np.zeros(2, np.uint8)


class Display:
    """One end of the link, in messages."""

    def __init__(self, socket: ClientConnection) -> None:
        self.socket = socket

    async def say(self, *messages: FromDisplay) -> None:
        for message in messages:
            await self.socket.send(encode(message))

    async def hear(self, kind: type[M]) -> M:
        """Give the next message that is no beat; it must be of that kind."""
        message = await self.any_but(Beat)
        assert isinstance(message, kind), message
        return message

    async def any_but(self, *kinds: type[FromEngine]) -> FromEngine:
        async with asyncio.timeout(3):
            while True:
                data = await self.socket.recv()
                assert isinstance(data, bytes)
                message = decode_from_engine(data)
                if not isinstance(message, kinds):
                    return message

    async def is_closed(self) -> bool:
        try:
            while True:
                await self.any_but()
        except ConnectionClosed:
            return True

    async def greeted(self) -> Snapshot:
        await self.say(HELLO)
        await self.hear(Welcome)
        return await self.hear(Snapshot)


class Engine:
    """A board with a server before it, and no pipeline behind it."""

    def __init__(self) -> None:
        facts = RunFacts("run-1", SECOND_NS, 1.0, STAND, np.array([0, 1]), 1)
        self.board = Board(facts, Standing(), {}, RecordingState("recording", "", "", 0, 0))
        self.done: list[Action] = []
        self.desk = Desk(self.board, ActDesk(PLAN, self.do), "run-1", TOKEN, lambda: 77)
        self.server = LinkServer(self.desk)
        self.url = ""

    def do(self, action: Action) -> int:
        self.done.append(action)
        return 55

    def publish(self, t_ns: int, value: float, *events: Event) -> None:
        grid = Grid(
            np.array([[t_ns, 0]]),
            np.array([[value, 0.0]]),
            np.zeros((1, 2), np.uint8),
            np.array([1, 0]),
        )
        self.board.publish(Step(t_ns, grid, events, ()))
        self.board.remember()

    @asynccontextmanager
    async def display(self) -> AsyncIterator[Display]:
        async with connect(self.url, compression=None, max_size=None) as socket:
            yield Display(socket)


@pytest.fixture
async def engine() -> AsyncIterator[Engine]:
    made = Engine()
    made.url = await made.server.start()
    try:
        yield made
    finally:
        await made.server.close()


async def becomes(count: Callable[[], bool]) -> None:
    for _ in range(300):
        if count():
            return
        await asyncio.sleep(0.01)
    raise AssertionError("it never came true")


async def test_a_display_is_welcomed_and_given_everything(engine: Engine) -> None:
    engine.publish(5 * SECOND_NS, 1.5)
    async with engine.display() as display:
        await display.say(HELLO)
        welcome = await display.hear(Welcome)
        snapshot = await display.hear(Snapshot)

    assert welcome == Welcome(LINK_VERSION, "run-1")
    assert snapshot == engine.board.snapshot()


async def test_a_wrong_token_is_refused_and_counted(engine: Engine) -> None:
    async with engine.display() as display:
        await display.say(Hello(LINK_VERSION, "let me in", "test"))
        refused = await display.hear(Refused)
        assert await display.is_closed()

    assert "wrong token" in refused.why
    assert engine.server.gauges()["displays with a wrong token"] == 1


async def test_another_version_is_refused_with_the_cure(engine: Engine) -> None:
    async with engine.display() as display:
        await display.say(Hello(LINK_VERSION + 1, TOKEN, "test"))
        refused = await display.hear(Refused)

    assert "install the same version" in refused.why
    assert engine.server.gauges()["displays of another version"] == 1


@pytest.mark.parametrize("first", [Ready(1), Act("a", "silence", "", "K")])
async def test_who_does_not_greet_is_sent_away(engine: Engine, first: FromDisplay) -> None:
    async with engine.display() as display:
        await display.say(first)
        assert await display.is_closed()

    assert engine.server.gauges()["displays not understood"] == 1
    assert engine.done == []


@pytest.mark.parametrize("rubbish", [b"\xc1", b"", "text"])
async def test_who_talks_rubbish_is_sent_away(engine: Engine, rubbish: bytes | str) -> None:
    async with engine.display() as display:
        await display.greeted()
        await display.socket.send(rubbish)
        assert await display.is_closed()

    assert engine.server.gauges()["displays not understood"] == 1


async def test_who_says_nothing_is_sent_away(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "HELLO_S", 0.05)
    async with engine.display() as display:
        assert await display.is_closed()

    assert engine.server.gauges()["displays without a greeting"] == 1


async def test_news_come_once_for_each_ready(engine: Engine) -> None:
    async with engine.display() as display:
        snapshot = await display.greeted()
        engine.publish(2 * SECOND_NS, 1.0)
        engine.publish(3 * SECOND_NS, 2.0)
        await display.say(Ready(snapshot.seq))
        change = await display.hear(Change)
        engine.publish(4 * SECOND_NS, 3.0)
        with pytest.raises(TimeoutError):
            async with asyncio.timeout(0.1):
                await display.hear(Change)
        await display.say(Ready(change.seq))
        second = await display.hear(Change)

    assert np.frombuffer(change.columns[0].value).tolist() == [1.0, 2.0]
    assert np.frombuffer(second.columns[0].value).tolist() == [3.0]


async def test_a_display_that_waits_is_told_as_soon_as_there_is_something(
    engine: Engine,
) -> None:
    async with engine.display() as display:
        snapshot = await display.greeted()
        await display.say(Ready(snapshot.seq))
        await asyncio.sleep(0.1)
        engine.publish(2 * SECOND_NS, 1.0)
        change = await display.hear(Change)

    assert change.until_ns == 2 * SECOND_NS


async def test_values_are_told_at_a_pace_and_events_at_once(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "PACE_S", 0.3)
    loop = asyncio.get_running_loop()
    async with engine.display() as display:
        snapshot = await display.greeted()
        await display.say(Ready(snapshot.seq))
        began = loop.time()
        await asyncio.sleep(0.02)
        engine.publish(2 * SECOND_NS, 1.0)
        value = await display.hear(Change)
        value_after = loop.time() - began
        await display.say(Ready(value.seq))
        await asyncio.sleep(0.02)
        began = loop.time()
        engine.publish(3 * SECOND_NS, 2.0, Event(3 * SECOND_NS, "alarm.raised", "PT-1.high"))
        event = await display.hear(Change)
        event_after = loop.time() - began

    assert value_after > 0.2
    assert event_after < 0.1
    assert event.events[0].kind == "alarm.raised"


async def test_a_number_that_was_never_sent_is_a_mistake(engine: Engine) -> None:
    async with engine.display() as display:
        snapshot = await display.greeted()
        await display.say(Ready(snapshot.seq + 9))

        assert await display.is_closed()


async def test_an_action_is_done_once_and_answered_each_time(engine: Engine) -> None:
    act = Act("a-1", "acknowledge", "PT-1.high", "K. Vale")
    async with engine.display() as display:
        await display.greeted()
        await display.say(act, act)
        answers = [await display.hear(Acted), await display.hear(Acted)]

    assert answers == [Acted("a-1", 55), Acted("a-1", 55)]
    assert len(engine.done) == 1


async def test_an_action_repeated_over_a_new_connection_is_not_done_again(
    engine: Engine,
) -> None:
    act = Act("a-1", "acknowledge", "PT-1.high", "K. Vale")
    for _ in range(2):
        async with engine.display() as display:
            await display.greeted()
            await display.say(act)
            await display.hear(Acted)

    assert len(engine.done) == 1


async def test_a_question_is_answered_channel_by_channel(engine: Engine) -> None:
    for second in range(2, 6):
        engine.publish(second * SECOND_NS, float(second))
    async with engine.display() as display:
        await display.greeted()
        await display.say(Ask(7, [0, 1], 0, 10 * SECOND_NS, 100))
        first, second_part = await display.hear(Part), await display.hear(Part)
        done = await display.hear(Done)

    assert np.frombuffer(first.value).tolist() == [2.0, 3.0, 4.0, 5.0]
    assert np.frombuffer(first.t_ns, np.int64)[0] == 2 * SECOND_NS
    assert (second_part.channel, second_part.value) == (1, b"")
    assert done == Done(7)


async def test_a_cancelled_question_ends_early(engine: Engine) -> None:
    async with engine.display() as display:
        await display.greeted()
        await display.say(Cancel(7), Ask(7, [0] * 500, 0, 10, 100), Ask(8, [1], 0, 10, 100))
        first = await display.any_but(Beat)
        rest = [first]
        while rest[-1] != Done(8):
            rest.append(await display.any_but(Beat))

    parts_of_7 = [m for m in rest if isinstance(m, Part) and m.id == 7]
    assert len(parts_of_7) < 500
    assert Done(7) in rest


async def test_too_many_questions_are_dropped_and_counted(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "MOST_ASKS", 2)
    async with engine.display() as display:
        await display.greeted()
        await display.say(*(Ask(n, [0] * 200, 0, 10, 100) for n in range(6)))
        seen: set[int] = set()
        while len(seen) < 6:
            message = await display.any_but(Beat)
            if isinstance(message, Done):
                seen.add(message.id)

    assert engine.server.gauges()["questions dropped"] >= 1


async def test_a_channel_that_does_not_exist_is_a_mistake(engine: Engine) -> None:
    async with engine.display() as display:
        await display.greeted()
        await display.say(Ask(1, [2], 0, 10, 100))

        assert await display.is_closed()


async def test_a_senseless_span_has_an_empty_answer(engine: Engine) -> None:
    async with engine.display() as display:
        await display.greeted()
        await display.say(Ask(1, [0], 10, -5, -3))
        part = await display.hear(Part)

    assert part.value == b""


async def test_signs_of_life_come_while_nothing_else_does(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "BEAT_S", 0.05)
    async with engine.display() as display:
        await display.greeted()
        beat = await display.any_but()

    assert beat == Beat(77)


async def test_a_display_that_gives_no_sign_of_life_is_given_up(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "BEAT_S", 0.02)
    monkeypatch.setattr(module, "SILENCE_S", 0.2)
    async with engine.display() as display:
        await display.greeted()
        assert await display.is_closed()
        gauges = engine.server.gauges()

    assert gauges["displays fallen silent"] == 1


async def test_a_sign_of_life_keeps_a_display(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "BEAT_S", 0.02)
    monkeypatch.setattr(module, "SILENCE_S", 0.3)
    async with engine.display() as display:
        await display.greeted()
        for _ in range(20):
            await display.say(Beat(1))
            await asyncio.sleep(0.03)
        await display.say(Act("a", "silence", "", "K"))

        assert (await display.hear(Acted)).effective_ns == 55


async def test_a_display_that_does_not_read_holds_nobody_up(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with engine.display() as hung, engine.display() as other:
        await hung.greeted()
        hung.socket.transport.pause_reading()
        await hung.say(*(Ask(n, [0] * 500, 0, 10**18, 20_000) for n in range(20)))
        for second in range(2, 2_000):
            engine.publish(second * SECOND_NS, float(second))
        snapshot = await other.greeted()
        await other.say(Ready(snapshot.seq))
        engine.publish(3_000 * SECOND_NS, 1.0, Event(1, "action.note", ""))

        assert (await other.hear(Change)).events[0].kind == "action.note"
        hung.socket.transport.abort()


async def test_a_second_hello_is_a_mistake(engine: Engine) -> None:
    async with engine.display() as display:
        await display.greeted()
        await display.say(HELLO)

        assert await display.is_closed()


async def test_a_display_that_is_cut_off_leaves_nothing_behind(engine: Engine) -> None:
    async with engine.display() as display:
        snapshot = await display.greeted()
        await display.say(Ready(snapshot.seq))
        display.socket.transport.abort()
        await becomes(lambda: engine.server.gauges()["displays"] == 0)

    assert engine.board.listeners == set()
    assert engine.server.gauges()["displays that left"] == 1
