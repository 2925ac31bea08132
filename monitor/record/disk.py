"""Files that are only ever appended to, and what it takes to have them on the disk."""

from __future__ import annotations

import fcntl
import os
from pathlib import Path


class AppendFile:
    """A file that grows at its end.

    Attributes:
        path: Where it is.
        size: Bytes that were taken, in this process or before.
    """

    def __init__(self, path: Path, *, is_new: bool) -> None:
        """Make a file that must not exist yet, or open one that does.

        Raises:
            OSError: As the system says.
        """
        self.path = path
        flags = os.O_WRONLY | os.O_APPEND | os.O_CLOEXEC
        self.fileno = os.open(path, flags | os.O_CREAT | os.O_EXCL if is_new else flags, 0o644)
        self.size = os.fstat(self.fileno).st_size

    def write(self, data: bytes) -> None:
        """Append all of *data*.

        Raises:
            OSError: Part of it may have been written.
        """
        rest = memoryview(data)
        while rest:
            written = os.write(self.fileno, rest)
            self.size += written
            rest = rest[written:]

    def sync(self) -> None:
        """Return when everything is on the disk.

        Raises:
            OSError: Nothing is known of what was written since the sync before. The system
                tells this once only: calling again proves nothing, write it again.
        """
        os.fdatasync(self.fileno)

    def cut(self, size: int) -> None:
        """Give up everything behind *size* bytes."""
        os.ftruncate(self.fileno, size)
        self.size = size

    def close(self) -> None:
        """Give the handle back; a second time does nothing."""
        if self.fileno >= 0:
            handle, self.fileno = self.fileno, -1
            os.close(handle)


def sync_folder(folder: Path) -> None:
    """Have the names in a folder on the disk: a new file without one would be lost."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def write_whole(path: Path, data: bytes) -> None:
    """Write a small file so that it is there as a whole or not at all."""
    draft = path.with_name(f".{path.name}.part")
    draft.unlink(missing_ok=True)
    file = AppendFile(draft, is_new=True)
    try:
        file.write(data)
        file.sync()
    finally:
        file.close()
    draft.replace(path)
    sync_folder(path.parent)


def free_bytes(folder: Path) -> int:
    """Say how much room there is for us."""
    room = os.statvfs(folder)
    return room.f_bavail * room.f_frsize


def take_lock(fileno: int, *, is_shared: bool = False) -> bool:
    """Lock an open file until it is closed or its process dies; False if another has it."""
    how = fcntl.LOCK_SH if is_shared else fcntl.LOCK_EX
    try:
        fcntl.flock(fileno, how | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
