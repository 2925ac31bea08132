"""The recorder: a thread that writes the run, and goes on by itself after the disk was full."""

from __future__ import annotations

import errno
import logging
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from monitor.engine.waiting import MOST_BYTES, Waiting
from monitor.errors import RecordError
from monitor.events import Event
from monitor.link.messages import RecordingState
from monitor.record.disk import free_bytes
from monitor.record.frame import Frame
from monitor.record.writer import RunWriter

_logger = logging.getLogger(__name__)
_FULL = (errno.ENOSPC, errno.EDQUOT)


@dataclass(frozen=True, slots=True)
class Pace:
    """How the recorder takes its time and room.

    Attributes:
        pack_s: Frames without events wait so long for others to be packed with, in real s.
        sync_s: Between two syncs, in real s.
        retry_s: Between two attempts while nothing can be written, in real s.
        hung_s: A disk that does not answer for so long counts as stopped, in real s.
        close_s: Longest wait for the last write, in real s.
        room_bytes: After a full disk, writing goes on when there is so much room.
        most_bytes: Readings kept in memory meanwhile.
    """

    pack_s: float = 0.4
    sync_s: float = 1.0
    retry_s: float = 1.0
    hung_s: float = 10.0
    close_s: float = 30.0
    room_bytes: int = 8 << 20
    most_bytes: int = MOST_BYTES


class Recorder:
    """Writes a run in a thread of its own.

    Args:
        writer: The run; belongs to the recorder from now on.
        on_stopped: Told why nothing can be written. Called from the recorder's thread, or
            from that of :meth:`put`; hand over by ``call_soon_threadsafe``.
        on_resumed: Told the data time in ns over which readings were lost, and how many frames
            that were, when writing works again.
        pace: See :class:`Pace`.
    """

    def __init__(
        self,
        writer: RunWriter,
        on_stopped: Callable[[str], None],
        on_resumed: Callable[[int, int], None],
        pace: Pace | None = None,
    ) -> None:
        """Start the thread."""
        self._writer = writer
        self._on_stopped = on_stopped
        self._on_resumed = on_resumed
        self._pace = Pace() if pace is None else pace
        self._waiting = Waiting(writer.until_ns, self._pace.most_bytes)
        self._lock = threading.Condition()
        self._why = ""
        self._errno: int | None = None
        self._is_broken = False
        self._is_closed = False
        self._is_closing = False
        self._needs_state = False
        self._summary: Mapping[str, object] | None = None
        self._due_s = float("inf")
        self._sync_due_s = float("inf")
        self._busy_since_s = float("inf")
        self._lost_frames = 0
        self._stops = 0
        self._note_progress()
        self._thread = threading.Thread(target=self._run, name="recorder", daemon=True)
        self._thread.start()

    @property
    def wants_state(self) -> bool:
        """Whether the next :meth:`put` should bring ``Pipeline.save()``.

        True when a new file of the log is due, and after readings were lost: replay can only go
        on behind a gap from a state.
        """
        return self._needs_state and not self._waiting.has_state

    def put(self, frame: Frame, events: Sequence[Event], state: bytes = b"") -> None:
        """Have a frame and the events that it made written. Never blocks, never raises.

        Args:
            frame: The next step; its place in the journal is filled in when it is written.
            events: What the pipeline made of it.
            state: ``Pipeline.save()`` after it, where :attr:`wants_state` asked for it.
        """
        now_s = time.monotonic()
        is_urgent = bool(events or frame.controls or state)
        with self._lock:
            self._waiting.put(frame, events, state)
            self._needs_state |= self._waiting.lost_frames > 0
            due_s = now_s if is_urgent else now_s + self._pace.pack_s
            # While writing fails, only the next attempt is due.
            if due_s < self._due_s and not self._is_broken:
                self._due_s = due_s
                self._lock.notify()
            hung_s = now_s - self._busy_since_s
            is_lossy = self._waiting.lost_frames > 0
        if hung_s > self._pace.hung_s:
            self._stop(f"the disk has not answered for {hung_s:.0f} s")
        elif is_lossy:
            self._stop("the disk takes readings more slowly than they come")

    def state(self) -> RecordingState:
        """Say how the recording stands. May be called from any thread."""
        word = "closed" if self._is_closed else "stopped" if self._why else "recording"
        return RecordingState(
            state=word,
            folder=str(self._writer.folder),
            why=self._why,
            bytes_written=self._bytes_written,
            synced_until_ns=self._synced_until_ns,
        )

    def gauges(self) -> dict[str, float]:
        """Give what the health page shows of this."""
        return {
            "frames waiting for the disk": float(len(self._waiting)),
            "bytes waiting for the disk": float(self._waiting.size),
            "frames lost": float(self._lost_frames + self._waiting.lost_frames),
            "journal lines lost": float(self._waiting.lost_events),
            "recording stops": float(self._stops),
        }

    def close(self, summary: Mapping[str, object] | None) -> bool:
        """Write what waits and end the thread. Blocks, for ``Pace.close_s`` at most.

        Args:
            summary: What ``summary.json`` shall say beside ``closed``; None leaves the run open
                for somebody to go on with.

        Returns:
            Whether everything is on the disk.
        """
        with self._lock:
            self._is_closing = True
            self._summary = summary
            self._lock.notify()
        self._thread.join(self._pace.close_s)
        return self._is_closed

    def _run(self) -> None:
        """Write until closed."""
        try:
            while not self._wait():
                self._turn()
            self._end()
        except Exception as error:
            # The top of this thread: whatever it is, the operator must see that nothing is
            # written any more, and the watch must go on.
            _logger.exception("the recorder failed")
            self._stop(f"the recorder failed: {error!r}; please report this")
            self._writer.abandon()

    def _wait(self) -> bool:
        """Sleep until something is due; say whether it is the end."""
        with self._lock:
            while not self._is_closing:
                left_s = min(self._due_s, self._sync_due_s) - time.monotonic()
                if left_s <= 0:
                    break
                self._lock.wait(None if left_s == float("inf") else left_s)
            return self._is_closing

    def _turn(self) -> None:
        """Write what waits; note when that fails and when it works again."""
        self._busy_since_s = time.monotonic()
        try:
            if self._is_broken:
                self._try_again()
            else:
                self._write()
        except (OSError, RecordError) as error:
            self._fail(error)
        else:
            self._note_progress()
            if self._why and not self._is_broken:
                self._resume()
        finally:
            self._busy_since_s = float("inf")
            self._note_progress()

    def _note_progress(self) -> None:
        """Keep what :meth:`state` tells: the writer belongs to one thread."""
        self._bytes_written = self._writer.bytes_written
        self._synced_until_ns = self._writer.synced_until_ns

    def _try_again(self) -> None:
        """Mend what failed, if there is room again."""
        self._due_s = self._sync_due_s = time.monotonic() + self._pace.retry_s
        wanted = max(self._pace.room_bytes, 2 * self._waiting.size)
        if self._errno in _FULL and free_bytes(self._writer.folder) < wanted:
            return
        self._writer.recover()
        self._write()
        self._writer.sync()
        self._is_broken = False

    def _write(self) -> None:
        """Write all that waits, and sync when it is time."""
        while True:
            with self._lock:
                self._due_s = float("inf")
                if self._waiting.is_empty:
                    break
                batch = self._waiting.take()
            self._writer.write(batch.frames, batch.events)
            if batch.state:
                self._writer.start_file(batch.state)
                self._needs_state = False
            now_s = time.monotonic()
            self._sync_due_s = min(self._sync_due_s, now_s + self._pace.sync_s)
        if time.monotonic() >= self._sync_due_s:
            self._writer.sync()
            self._sync_due_s = float("inf")
        self._needs_state |= self._writer.is_file_full

    def _fail(self, error: OSError | RecordError) -> None:
        """Note that writing failed, and when to try again."""
        self._is_broken = True
        self._errno = error.errno if isinstance(error, OSError) else None
        self._due_s = self._sync_due_s = time.monotonic() + self._pace.retry_s
        self._stop(str(error))

    def _stop(self, why: str) -> None:
        """Tell once that nothing can be written."""
        with self._lock:
            is_news = not self._why
            self._why = why
            self._stops += is_news
        if is_news:
            self._on_stopped(why)

    def _resume(self) -> None:
        """Tell that writing works again, and what was lost."""
        with self._lock:
            gap_ns, lost = self._waiting.lost_ns, self._waiting.lost_frames
            self._lost_frames += lost
            self._waiting.forget_loss()
            self._why = ""
        self._on_resumed(gap_ns, lost)

    def _end(self) -> None:
        """Write the rest and give the run back."""
        try:
            if self._is_broken:
                self._writer.recover()
            self._write()
            if self._summary is None:
                self._writer.sync()
                self._writer.abandon()
            else:
                self._writer.close({**self._summary, "closed": True})
            self._note_progress()
            self._is_closed = True
        except (OSError, RecordError) as error:
            self._writer.abandon()
            self._stop(f"the end of the run is not on the disk: {error}")
