"""Carries what a reader thread read to the event loop, in bounded memory."""

from __future__ import annotations

import threading
from collections import deque
from dataclasses import dataclass

#: Bytes that may wait: thirteen seconds of the fastest usual serial port (3 Mbit/s).
MOST_BYTES = 4 * 1024 * 1024
#: Pieces that may wait; each costs memory of its own, however short.
MOST_CHUNKS = 20_000


@dataclass(frozen=True, slots=True)
class Chunk:
    """Bytes of one read.

    Attributes:
        data: The bytes.
        t_ns: When they arrived, in ns of data time.
        lost_before: Number of bytes that were dropped between the chunk before and this one.
    """

    data: bytes
    t_ns: int
    lost_before: int = 0


class ByteQueue:
    """A queue of chunks that drops the oldest when its reader is too slow.

    May be used from two threads.

    Args:
        most_bytes: Bytes that may wait.
        most_chunks: Chunks that may wait.
    """

    def __init__(self, most_bytes: int = MOST_BYTES, most_chunks: int = MOST_CHUNKS) -> None:
        """Start empty."""
        self._most_bytes = most_bytes
        self._most_chunks = most_chunks
        self._lock = threading.Lock()
        self._chunks: deque[tuple[bytes, int]] = deque()
        self._bytes = 0
        self._lost = 0

    def put(self, data: bytes, t_ns: int) -> bool:
        """Add a chunk; say whether the queue was empty, so that its reader must be told."""
        with self._lock:
            was_empty = not self._chunks
            self._chunks.append((data, t_ns))
            self._bytes += len(data)
            while self._is_too_full():
                oldest, _ = self._chunks.popleft()
                self._bytes -= len(oldest)
                self._lost += len(oldest)
            return was_empty

    def take_all(self) -> list[Chunk]:
        """Take every chunk, oldest first. What was dropped was dropped before the first."""
        with self._lock:
            waiting, self._chunks = self._chunks, deque()
            lost, self._lost = self._lost, 0
            self._bytes = 0
        chunks = [Chunk(data, t_ns) for data, t_ns in waiting]
        if lost and chunks:
            chunks[0] = Chunk(chunks[0].data, chunks[0].t_ns, lost)
        return chunks

    def _is_too_full(self) -> bool:
        """Whether the oldest chunk must go. The newest stays, whatever its size."""
        is_over = self._bytes > self._most_bytes or len(self._chunks) > self._most_chunks
        return is_over and len(self._chunks) > 1
