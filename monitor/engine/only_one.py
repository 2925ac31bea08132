"""One engine a state folder, held by a lock for as long as it lives."""

from __future__ import annotations

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from monitor.errors import LinkError

LOCK_FILE = "engine.lock"


@contextmanager
def only_engine(state_dir: Path) -> Iterator[None]:
    """Hold *state_dir* for this engine. The system lets go of it whatever ends the process.

    Raises:
        LinkError: Another engine holds it.
        OSError: The folder cannot be written.
    """
    state_dir.mkdir(mode=0o700, parents=True, exist_ok=True)
    with (state_dir / LOCK_FILE).open("wb") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise LinkError(
                f"another watch was started with {state_dir} just now; end that first, or use "
                "another --state-dir"
            ) from None
        yield
