"""Keeps arrived MQTT messages until they are taken, in bounded memory."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

#: Messages that may wait: about a second of the most that one connection can carry.
MOST_MESSAGES = 10_000
#: Bytes of payload that may wait.
MOST_BYTES = 16 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Arrived:
    """A message as it came.

    Attributes:
        topic: Its topic.
        payload: Its payload.
        is_retained: Whether the broker had kept it from before we subscribed.
        t_ns: When it arrived, in ns of data time.
    """

    topic: str
    payload: bytes
    is_retained: bool
    t_ns: int


@dataclass(frozen=True, slots=True)
class Batch:
    """Messages that were waiting, oldest first, and how many older ones were dropped."""

    messages: list[Arrived]
    dropped: int = 0


class Inbox:
    """A queue of messages that drops the oldest when its reader is too slow.

    Args:
        most_messages: Messages that may wait.
        most_bytes: Bytes of payload that may wait.
    """

    def __init__(
        self, most_messages: int = MOST_MESSAGES, most_bytes: int = MOST_BYTES
    ) -> None:
        """Start empty."""
        self._most_messages = most_messages
        self._most_bytes = most_bytes
        self._messages: deque[Arrived] = deque()
        self._bytes = 0
        self._dropped = 0

    def put(self, message: Arrived) -> None:
        """Add a message. The newest stays, whatever its size."""
        self._messages.append(message)
        self._bytes += len(message.payload)
        while len(self._messages) > 1 and (
            len(self._messages) > self._most_messages or self._bytes > self._most_bytes
        ):
            self._bytes -= len(self._messages.popleft().payload)
            self._dropped += 1

    def take_all(self) -> Batch:
        """Take every message."""
        batch = Batch(list(self._messages), self._dropped)
        self._messages.clear()
        self._bytes = self._dropped = 0
        return batch
