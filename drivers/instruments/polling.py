"""Decides when to ask a polled instrument, and which line answers which request."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto

import numpy as np

from drivers.errors import PortLostError
from drivers.framing.lines import LineFramer
from drivers.framing.stamps import NEVER_NS
from drivers.instruments.line_settings import LineReader, line_reader
from drivers.instruments.polled_settings import RequestSettings, SerialPolledSettings
from drivers.instruments.shown import text_of
from drivers.instruments.tallies import Tally
from drivers.reading import Block, Sink

#: A line that does not fall silent is left alone for at most so many reply times.
_MOST_SETTLING = 5


class _State(Enum):
    """What the core waits for."""

    #: The time of the next request.
    RESTING = auto()
    #: The reply.
    AWAITING = auto()
    #: Proof by silence that the reply just seen was the only one under way.
    DOUBTING = auto()
    #: Silence, after a reply that did not come or made no sense.
    SETTLING = auto()


_UNFITTING = {
    _State.RESTING: "reply nobody asked for",
    _State.AWAITING: "more lines than one reply",
    _State.DOUBTING: "late reply",
    _State.SETTLING: "late reply",
}


@dataclass(frozen=True, slots=True)
class _Request:
    """One request, ready for use."""

    send: bytes
    prefix: bytes
    signals: tuple[str, ...]
    reader: LineReader


class PolledCore:
    """The instrument without its port: times and bytes in, requests and blocks out.

    Knows no clock: at :attr:`due_ns` or later call :meth:`next_request` and send what it
    gives; hand everything that arrives to :meth:`feed`. Begin with :meth:`restart`.

    A late reply must not be taken for the next one. So after a reply that did not come, or
    lines that do not fit, the line is left alone for one reply time, and the next reply is
    not believed: it only shows, when nothing follows it for another reply time, that requests
    and replies are in step again. Then the request is sent once more. Any number of replies
    may be late by up to a reply time, a single one by up to two.

    Args:
        name: The instrument's name in the stand file.
        settings: Its settings.
        speed: Seconds of data time in a real second.
    """

    def __init__(self, name: str, settings: SerialPolledSettings, speed: float = 1.0) -> None:
        """Start with nothing asked."""
        self._name = name
        self._settings = settings
        self._requests = [_ready(settings, request) for request in settings.requests]
        self._framer = LineFramer(settings.delimiter.encode(), settings.max_len)
        self._tally = Tally(self._framer)
        self._period_ns = round(settings.period_s * 1e9)
        self._reply_ns = round(settings.reply_timeout_s * 1e9 * speed)
        self._last_ns = NEVER_NS
        self._state = _State.RESTING
        self._is_in_doubt = False
        self._place = self._tries = self._unanswered = 0
        self._poll_ns = self._due_ns = self._settled_by_ns = NEVER_NS

    @property
    def due_ns(self) -> int:
        """When to call :meth:`next_request` next, in ns of data time."""
        return self._due_ns

    def restart(self, t_ns: int, sink: Sink) -> None:
        """Begin a new link at *t_ns*: nothing is asked, the first poll is due."""
        self._clear_line(sink)
        self._state = _State.RESTING
        self._is_in_doubt = False
        self._place = self._tries = self._unanswered = 0
        self._poll_ns = self._due_ns = t_ns

    def next_request(self, t_ns: int, sink: Sink) -> bytes | None:
        """Give what to send now, if it is time.

        Raises:
            PortLostError: Nobody has answered well for so long that the link is lost.
        """
        if t_ns < self._due_ns:
            return None
        request = self._requests[self._place]
        if self._state is _State.AWAITING:
            sink.count("no reply in time", example=text_of(request.send))
            self._fail(t_ns, sink)
            return None
        if self._state is _State.DOUBTING:
            self._is_in_doubt = False
        self._clear_line(sink)
        self._state = _State.AWAITING
        self._due_ns = t_ns + self._reply_ns
        return request.send

    def feed(self, data: bytes, t_ns: int, sink: Sink) -> list[Block]:
        """Take bytes that arrived together at *t_ns*, in ns of data time.

        Returns:
            No block, or one with the row of the reply they complete.

        Raises:
            PortLostError: As :meth:`next_request`.
        """
        lines = self._framer.feed(data)
        self._tally.report(sink)
        replies = [line for line in lines if self._is_reply(line, sink)]
        if not replies:
            return []
        if self._state is _State.AWAITING and len(replies) == 1:
            return self._take(replies[0], t_ns, sink)
        sink.count(_UNFITTING[self._state], len(replies), text_of(replies[-1]))
        self._note_unfitting(t_ns, sink)
        return []

    def _clear_line(self, sink: Sink) -> None:
        """Forget half a line: what comes next answers what is sent next."""
        self._framer.resync(is_synced=True)
        self._tally.report(sink)

    def _is_reply(self, line: bytes, sink: Sink) -> bool:
        """Whether a line can be a reply: not blank, no echo, no known other beginning."""
        request = self._requests[self._place]
        bare = line.strip()
        if not bare:
            return False
        if bare == request.send.strip():
            sink.count("echo of the request")
            return False
        if self._settings.checksum != "none" and bare[:1] in (b"$", b"!"):
            bare = bare[1:]
        awaited = [request] if self._state is _State.AWAITING else self._requests
        if any(bare.startswith(row.prefix) for row in awaited):
            return True
        sink.count("line with another beginning", example=text_of(line))
        return False

    def _take(self, line: bytes, t_ns: int, sink: Sink) -> list[Block]:
        """Take the one line that answers the request."""
        request = self._requests[self._place]
        if self._is_in_doubt:
            sink.count("reply not believed, replies were out of step", example=text_of(line))
            self._state = _State.DOUBTING
            self._due_ns = t_ns + self._reply_ns
            return []
        rows, _ = request.reader.read([line], sink)
        if not len(rows.values):
            self._fail(t_ns, sink)
            return []
        self._unanswered = 0
        self._last_ns = max(t_ns, self._last_ns + 1)
        self._state = _State.RESTING
        self._due_ns = max(t_ns, self._advance(t_ns, sink))
        return [Block(self._name, request.signals, np.array([self._last_ns]), rows.values)]

    def _note_unfitting(self, t_ns: int, sink: Sink) -> None:
        """Draw the consequence from a line that answers nothing."""
        if self._state in (_State.AWAITING, _State.DOUBTING):
            self._fail(t_ns, sink)
        elif self._state is _State.SETTLING:
            settled_ns = min(t_ns + self._reply_ns, self._settled_by_ns)
            self._due_ns = max(self._due_ns, settled_ns)
        self._is_in_doubt = True

    def _fail(self, t_ns: int, sink: Sink) -> None:
        """Leave the line alone for a while, then repeat the request or go on to the next."""
        self._is_in_doubt = True
        self._state = _State.SETTLING
        self._settled_by_ns = t_ns + _MOST_SETTLING * self._reply_ns
        self._due_ns = t_ns + self._reply_ns
        if self._tries < self._settings.retries:
            self._tries += 1
            sink.count("request repeated")
            return
        sink.count("request without good reply")
        self._unanswered += 1
        self._due_ns = max(self._due_ns, self._advance(t_ns, sink))
        if self._unanswered >= self._settings.lost_after * len(self._requests):
            raise PortLostError(
                f"no good reply on {self._settings.port} to {self._unanswered} requests",
                "check the instrument's power and cable, baud, and reply_timeout_s",
            )

    def _advance(self, t_ns: int, sink: Sink) -> int:
        """Go to the next request; give the time before which it must not be sent."""
        self._tries = 0
        self._place += 1
        if self._place < len(self._requests):
            return self._poll_ns
        self._place = 0
        self._poll_ns += self._period_ns
        if self._poll_ns < t_ns:
            skipped = -(-(t_ns - self._poll_ns) // self._period_ns)
            sink.count("polls skipped, the one before took too long", skipped)
            self._poll_ns += skipped * self._period_ns
        return self._poll_ns


def _ready(settings: SerialPolledSettings, request: RequestSettings) -> _Request:
    """Work out once what is the same for every poll."""
    prefix = request.prefix or settings.prefix
    return _Request(
        request.send.encode(),
        prefix.encode(),
        tuple(name for name in request.fields if name),
        line_reader(settings, request.fields, prefix),
    )
