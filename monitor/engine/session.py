"""One display at the other end of the link: greets it, tells it what is new, answers it.

Four things go on at once and none waits for another: reading what the display says, telling
it what changed, answering its questions about the past, and signs of life.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from hmac import compare_digest

from websockets.asyncio.server import ServerConnection
from websockets.exceptions import ConnectionClosed

from monitor.engine.acts import ActDesk
from monitor.engine.board import Board
from monitor.errors import LinkError
from monitor.link.codec import decode_from_display, encode
from monitor.link.messages import (
    LINK_VERSION,
    Act,
    Ask,
    Beat,
    Cancel,
    Done,
    FromDisplay,
    FromEngine,
    Hello,
    Part,
    Ready,
    Refused,
    Welcome,
)

#: A display that has not said who it is by then is sent away, in seconds.
HELLO_S = 5.0
#: After so long without any word a display counts as gone, in seconds.
SILENCE_S = 30.0
BEAT_S = 1.0
#: Values alone are told at most this often, in seconds; events at once.
PACE_S = 0.02
#: Questions of one display that may wait.
MOST_ASKS = 64
MOST_POINTS = 20_000
#: Close code of a peer that breaks the rules (RFC 6455, 7.4.1).
_POLICY = 1008


@dataclass(slots=True)
class Desk:
    """What all sessions share.

    Attributes:
        board: What displays are told.
        acts: Takes operators' actions.
        run_id: Name of the run.
        token: What a display must say.
        now_ns: Data time.
        counts: What went wrong, by reason, for the health page.
    """

    board: Board
    acts: ActDesk
    run_id: str
    token: str
    now_ns: Callable[[], int]
    counts: dict[str, int] = field(default_factory=dict)

    def count(self, what: str) -> None:
        """Add one to a counter."""
        self.counts[what] = self.counts.get(what, 0) + 1


class Session:
    """One connection, from its greeting to its end."""

    def __init__(self, socket: ServerConnection, desk: Desk) -> None:
        """Say nothing yet."""
        self._socket = socket
        self._desk = desk
        self._board = desk.board
        self._seq = 0
        self._is_ready = False
        self._turn = asyncio.Event()
        self._pace: asyncio.TimerHandle | None = None
        self._asks: deque[Ask] = deque()
        self._asked = asyncio.Event()
        self._cancelled: set[int] = set()
        self._told_s = 0.0
        self._sent_s = 0.0
        self._sending = 0
        self._heard_s = 0.0

    async def run(self) -> None:
        """Serve the display until the connection ends."""
        try:
            async with asyncio.timeout(SILENCE_S):
                is_welcome = await self._greet()
            if is_welcome:
                await self._serve()
        except* ConnectionClosed:
            self._desk.count("displays that left")
        except* TimeoutError:
            self._desk.count("displays without a greeting")
        except* LinkError as errors:
            self._desk.count("displays not understood")
            await self._socket.close(_POLICY, str(errors.exceptions[0])[:100])

    async def _greet(self) -> bool:
        """Let in who knows the token and speaks this version; send everything."""
        async with asyncio.timeout(HELLO_S):
            hello = await self._receive()
        if not isinstance(hello, Hello):
            raise LinkError("the first word must be hello")
        if not compare_digest(hello.token.encode(), self._desk.token.encode()):
            self._desk.count("displays with a wrong token")
            await self._send(Refused("wrong token: read it anew from the engine's state file"))
            return False
        if hello.version != LINK_VERSION:
            self._desk.count("displays of another version")
            await self._send(
                Refused(
                    f"the engine speaks version {LINK_VERSION} of the link, the display "
                    f"{hello.version}; install the same version on both sides"
                )
            )
            return False
        await self._send(Welcome(LINK_VERSION, self._desk.run_id))
        self._told_s = _now_s()
        await self._send(self._board.snapshot())
        return True

    async def _serve(self) -> None:
        """Do everything at once until one of it ends."""
        self._board.listeners.add(self._look)
        try:
            async with asyncio.TaskGroup() as group:
                group.create_task(self._listen(), name="display: listen")
                group.create_task(self._tell(), name="display: tell")
                group.create_task(self._answer(), name="display: answer")
                group.create_task(self._beat(), name="display: beat")
        finally:
            self._board.listeners.discard(self._look)
            if self._pace is not None:
                self._pace.cancel()

    async def _listen(self) -> None:
        """Take what the display says."""
        while True:
            message = await self._receive()
            if isinstance(message, Ready):
                self._be_ready(message.seq)
            elif isinstance(message, Act):
                await self._send(self._desk.acts.take(message))
            elif isinstance(message, Ask):
                await self._take_ask(message)
            elif isinstance(message, Cancel):
                self._cancelled.add(message.id)
                self._asked.set()
            elif isinstance(message, Hello):
                raise LinkError("hello is said once")

    def _be_ready(self, seq: int) -> None:
        """Note that the display has taken everything up to *seq*."""
        if not 0 < seq <= self._board.seq:
            raise LinkError(f"nothing with the number {seq} was ever sent")
        self._seq = seq
        self._is_ready = True
        self._look()

    def _look(self) -> None:
        """Let the display be told: at once of an event, at the pace of values otherwise."""
        if not self._is_ready or self._board.seq <= self._seq or self._turn.is_set():
            return
        now_s = _now_s()
        due_s = self._told_s + PACE_S
        if self._board.urgent_seq > self._seq or due_s <= now_s:
            self._turn.set()
        elif self._pace is None:
            self._pace = asyncio.get_running_loop().call_at(due_s, self._end_pace)

    def _end_pace(self) -> None:
        self._pace = None
        self._look()

    async def _tell(self) -> None:
        """Send one change for each time the display is ready."""
        while True:
            await self._turn.wait()
            self._turn.clear()
            self._is_ready = False
            self._told_s = _now_s()
            await self._send(self._board.change_since(self._seq))

    async def _take_ask(self, ask: Ask) -> None:
        """Let a question wait for its turn."""
        if not all(0 <= channel < self._board.history.channels for channel in ask.channels):
            raise LinkError(f"asked for a channel that does not exist: {ask.channels}")
        if len(self._asks) >= MOST_ASKS:
            self._desk.count("questions dropped")
            await self._send(Done(ask.id))
            return
        self._asks.append(ask)
        self._asked.set()

    async def _answer(self) -> None:
        """Answer questions, one channel at a time, so that nothing else has to wait."""
        while True:
            if not self._asks:
                self._cancelled.clear()
                self._asked.clear()
                await self._asked.wait()
                continue
            ask = self._asks.popleft()
            for channel in ask.channels:
                if ask.id in self._cancelled:
                    break
                await self._send(self._part(ask, channel))
                await asyncio.sleep(0)
            await self._send(Done(ask.id))

    def _part(self, ask: Ask, channel: int) -> Part:
        """Give the history of one channel."""
        points = min(max(1, ask.points), MOST_POINTS)
        until_ns = max(ask.from_ns, ask.until_ns)
        t_ns, value = self._board.history.answer(channel, ask.from_ns, until_ns, points)
        return Part(ask.id, channel, t_ns.tobytes(), value.tobytes())

    async def _beat(self) -> None:
        """Give a sign of life while nothing else is sent; notice a display that gives none."""
        self._heard_s = _now_s()
        while True:
            await asyncio.sleep(BEAT_S / 2)
            now_s = _now_s()
            if now_s - self._heard_s > SILENCE_S:
                # No goodbye: a display that hangs would not read it.
                self._desk.count("displays fallen silent")
                self._socket.transport.abort()
            elif now_s - self._sent_s >= BEAT_S and not self._sending:
                await self._send(Beat(self._desk.now_ns()))

    async def _receive(self) -> FromDisplay:
        """Take one message."""
        data = await self._socket.recv()
        self._heard_s = _now_s()
        if isinstance(data, str):
            raise LinkError("text instead of a message")
        return decode_from_display(data)

    async def _send(self, message: FromEngine) -> None:
        """Send one message; waits while the display does not read, and nobody else does."""
        self._sent_s = _now_s()
        self._sending += 1
        try:
            await self._socket.send(encode(message))
        finally:
            self._sending -= 1


def _now_s() -> float:
    return asyncio.get_running_loop().time()
