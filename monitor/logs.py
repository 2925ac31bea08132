"""Where a watch writes what is of use to the one who mends it, not to the one who watches."""

from __future__ import annotations

import logging
from logging.handlers import RotatingFileHandler
from pathlib import Path

LOG_FILE = "watch.log"
#: Size at which the file is turned over, in bytes; one older file is kept.
LARGEST_LOG = 1 << 20


def keep_log(folder: Path, *, is_told: bool) -> Path:
    """Write what the program logs to a file of bounded size; give its path.

    Args:
        folder: Where the file lies; made if it is not there.
        is_told: Show warnings on standard error too. Not while a table fills the terminal.
    """
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    path = folder / LOG_FILE
    handlers: list[logging.Handler] = [
        RotatingFileHandler(path, maxBytes=LARGEST_LOG, backupCount=1, encoding="utf-8")
    ]
    if is_told:
        teller = logging.StreamHandler()
        teller.setLevel(logging.WARNING)
        handlers.append(teller)
    line = "%(asctime)s %(levelname)s %(name)s: %(message)s"
    logging.basicConfig(level=logging.INFO, format=line, handlers=handlers, force=True)
    return path
