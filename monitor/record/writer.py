"""Writing a run: input log and journal side by side."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from msgspec.structs import replace

from monitor.errors import RecordError
from monitor.events import Event
from monitor.record.frame import Frame
from monitor.record.input_log import FIRST_STEP, LOG_VERSION, FileHead, LogWriter
from monitor.record.journal import JournalWriter
from monitor.record.payload import PackEncoder
from monitor.record.run_folder import (
    JOURNAL_FILE,
    create_run_folder,
    log_end,
    write_summary,
)

#: Size at which a new file should begin, in bytes.
FILE_BYTES = 16 << 20
#: Bytes kept for writing again; beyond them the writer syncs by itself.
_MAX_UNSYNCED_BYTES = 32 << 20


@dataclass(frozen=True, slots=True)
class RunStart:
    """What a new run begins with.

    Attributes:
        stand: Name of the stand.
        stand_text: Its file, as it was read.
        started_ns: Data time.
        state: The pipeline before its first step (``Pipeline.save``).
    """

    stand: str
    stand_text: str
    started_ns: int
    state: bytes


class RunWriter:
    """Writes one run; called from one thread.

    An ``OSError`` from :meth:`write`, :meth:`sync` or :meth:`start_file` loses nothing that
    was given before: call :meth:`recover` until it succeeds, then go on.

    Attributes:
        folder: The run's folder.
        torn_bytes: What was cut off the journal's end when an unclosed run was gone on with.
        synced_until_ns: Up to this W everything is on the disk.
    """

    def __init__(self, folder: Path, head: FileHead, journal: JournalWriter) -> None:
        """Use :meth:`create` or :meth:`resume`."""
        self.folder = folder
        self.torn_bytes = journal.torn_bytes
        self.synced_until_ns = head.until_ns
        self._head = head
        self._until_ns = head.until_ns
        self._control_seq = head.control_seq
        self._next_seq = head.seq
        self._journal = journal
        self._encoder = PackEncoder()
        self._log = LogWriter(folder, head.run)

    @classmethod
    def create(cls, run_dir: Path, start: RunStart) -> RunWriter:
        """Begin a run in a folder of its own; its first step has the number 1.

        Raises:
            OSError: As the system says.
        """
        folder = create_run_folder(run_dir, start.stand, start.stand_text, start.started_ns)
        head = FileHead(
            version=LOG_VERSION,
            run=folder.name,
            stand=start.stand,
            started_ns=start.started_ns,
            seq=FIRST_STEP,
            until_ns=start.started_ns,
            control_seq=-1,
            journal_count=0,
            journal_head="",
            state=start.state,
        )
        journal = JournalWriter(folder / JOURNAL_FILE, is_new=True)
        return cls._begun(folder, head, journal)

    @classmethod
    def resume(cls, folder: Path, state: bytes) -> RunWriter:
        """Go on with a run that was not closed.

        Args:
            folder: The run's folder.
            state: The pipeline as the log leaves it.

        Raises:
            OSError: As the system says.
            RecordError: Another process writes this run, or its log cannot be read.
        """
        is_new = not (folder / JOURNAL_FILE).exists()
        journal = JournalWriter(folder / JOURNAL_FILE, is_new=is_new)
        try:
            end = log_end(folder)
        except RecordError:
            journal.close()
            raise
        head = FileHead(
            version=LOG_VERSION,
            run=end.head.run,
            stand=end.head.stand,
            started_ns=end.head.started_ns,
            seq=end.next_seq,
            until_ns=end.until_ns,
            control_seq=end.control_seq,
            journal_count=journal.count,
            journal_head=journal.head,
            state=state,
        )
        return cls._begun(folder, head, journal)

    @property
    def next_seq(self) -> int:
        """Number of the step that follows."""
        return self._next_seq

    @property
    def control_seq(self) -> int:
        """Highest number of a control so far; -1 when there was none."""
        return self._control_seq

    @property
    def until_ns(self) -> int:
        """W of the last step that was given."""
        return self._until_ns

    @property
    def bytes_written(self) -> int:
        """Bytes in the log and the journal."""
        return self._log.bytes_written + self._journal.size

    @property
    def is_file_full(self) -> bool:
        """Whether :meth:`start_file` should be called."""
        return self._log.file_size >= FILE_BYTES

    def write(self, frames: Sequence[Frame], events: Sequence[Event] = ()) -> None:
        """Write steps that follow each other, and the events that the last one made.

        Their place in the journal is filled in here: only the writer knows what was written.

        Raises:
            OSError: Call :meth:`recover`; nothing that was given is lost.
        """
        try:
            if frames:
                self._write_frames(frames)
        finally:
            self._journal.append(events)
        if self._log.unsynced_bytes > _MAX_UNSYNCED_BYTES:
            self.sync()

    def start_file(self, state: bytes) -> None:
        """Begin a new file of the log.

        Args:
            state: The pipeline after the last step that was written.
        """
        self._log.start_file(self._present_head(state))
        self._encoder.restart()

    def sync(self) -> None:
        """Return when all that was given is on the disk: log first, then journal."""
        self._log.sync()
        self._journal.sync()
        self.synced_until_ns = self._until_ns

    def recover(self) -> None:
        """After an error: write into a new file what may not be on the disk, and sync it.

        Raises:
            OSError: It did not work yet; nothing is lost by that.
        """
        if self._log.is_broken:
            head = self._present_head(b"")
            first = self._log.first_unsynced
            self._log.recover(head if first is None else replace(head, seq=first.seq))
            self._encoder.restart()
        self._journal.recover()
        self.sync()

    def close(self, summary: Mapping[str, object]) -> None:
        """Sync, write the summary, and give the run free: it is complete.

        Raises:
            OSError: As the system says; the run then counts as not closed.
        """
        try:
            self.sync()
            write_summary(self.folder, summary)
        finally:
            self.abandon()

    def abandon(self) -> None:
        """Give the handles back; the run stays open for somebody to go on with."""
        self._log.close()
        self._journal.close()

    @classmethod
    def _begun(cls, folder: Path, head: FileHead, journal: JournalWriter) -> RunWriter:
        """Write the first head of this process."""
        writer = cls(folder, head, journal)
        try:
            writer.start_file(head.state)
        except OSError:
            writer.abandon()
            raise
        return writer

    def _present_head(self, state: bytes) -> FileHead:
        """Give the head of a file that goes on from here."""
        return replace(
            self._head,
            seq=self._next_seq,
            until_ns=self._until_ns,
            control_seq=self._control_seq,
            journal_count=self._journal.count,
            journal_head=self._journal.head,
            state=state,
        )

    def _write_frames(self, frames: Sequence[Frame]) -> None:
        """Write a pack."""
        count, head = self._journal.count, self._journal.head
        placed = [
            dataclasses.replace(frame, journal_count=count, journal_head=head)
            for frame in frames
        ]
        pack = self._encoder.encode(placed)
        self._next_seq = pack.seq + pack.steps
        self._until_ns = pack.until_ns
        controls = [control.seq for frame in frames for control in frame.controls]
        self._control_seq = max([self._control_seq, *controls])
        self._log.append(pack)
