"""Collects bytes from the wire and gives back whole lines."""

from __future__ import annotations

#: Line ends that instruments use.
DELIMITERS = ("\n", "\r\n", "\r")


class LineFramer:
    r"""Collect bytes; give back whole lines.

    Every byte fed is accounted for: it is in a returned line (or is that line's end), in
    :attr:`dropped_bytes`, or in :attr:`pending_bytes`. How the bytes are cut into pieces
    makes no difference.

    Args:
        delimiter: What ends a line: ``\n``, ``\r\n`` or ``\r``. With ``\n`` a ``\r`` before
            it stays in the line.
        max_len: Longest line to accept, in bytes, without its end. A longer one is thrown
            away up to the next line end, and counted.
        is_synced: Whether the first byte begins a line. If not, everything up to the first
            line end is thrown away: the tail of a number looks like a number.

    Attributes:
        dropped_bytes: Bytes thrown away so far, with their line ends.
        long_lines: Lines that were longer than *max_len*.
        cut_lines: Lines of which only a part was there: at the start, or around a gap.
    """

    def __init__(self, delimiter: bytes, max_len: int, *, is_synced: bool = True) -> None:
        """Start with nothing collected."""
        self._delimiter = delimiter
        self._max_len = max_len
        self._pending = b""
        self._is_skipping = not is_synced
        self._is_cut = not is_synced
        self.dropped_bytes = 0
        self.long_lines = 0
        self.cut_lines = 0

    @property
    def pending_bytes(self) -> int:
        """Bytes of the line that has not ended yet."""
        return len(self._pending)

    def feed(self, data: bytes) -> list[bytes]:
        """Take the next bytes; return the lines they complete, oldest first, without ends."""
        lines = (self._pending + data).split(self._delimiter)
        self._pending = lines.pop()
        if self._is_skipping and lines:
            self._end_skipping(lines.pop(0))
        if lines and max(map(len, lines)) > self._max_len:
            lines = [line for line in lines if self._keep(line)]
        self._bound_pending()
        return lines

    def resync(self, *, is_synced: bool) -> None:
        """Throw away what is pending: bytes are missing here, or the link begins anew."""
        if self._pending and not self._is_skipping:
            self.cut_lines += 1
        self.dropped_bytes += len(self._pending)
        self._pending = b""
        self._is_skipping = self._is_cut = not is_synced

    def _end_skipping(self, rest: bytes) -> None:
        """Throw away what came before the first line end."""
        self.dropped_bytes += len(rest) + len(self._delimiter)
        if self._is_cut and rest:
            self.cut_lines += 1
        self._is_skipping = self._is_cut = False

    def _keep(self, line: bytes) -> bool:
        """Say whether the line is short enough; count it if not."""
        if len(line) <= self._max_len:
            return True
        self.long_lines += 1
        self.dropped_bytes += len(line) + len(self._delimiter)
        return False

    def _bound_pending(self) -> None:
        """Throw away a line that is too long already, but for what may be half a line end."""
        kept = len(self._delimiter) - 1
        # Half a line end may wait behind a line of exactly the longest length.
        if not self._is_skipping and len(self._pending) > self._max_len + kept:
            self._is_skipping = True
            self.long_lines += 1
        if not self._is_skipping:
            return
        tail = self._pending[len(self._pending) - kept :]
        if self._is_cut and len(self._pending) > len(tail):
            self.cut_lines += 1
            self._is_cut = False
        self.dropped_bytes += len(self._pending) - len(tail)
        self._pending = tail
