"""Makes tables and summary of a run anew, as a process of its own.

python -m monitor.replay --rebuild RUN
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from monitor.errors import MonitorError
from monitor.replay.rebuild import rebuild

#: The engine of the next run goes first.
_NICENESS = 10


def main(arguments: Sequence[str]) -> int:
    """Rebuild; give 0, or 1 with the reason on standard error."""
    parser = argparse.ArgumentParser(prog="python -m monitor.replay")
    parser.add_argument("--rebuild", metavar="RUN", type=Path, required=True)
    folder: Path = parser.parse_args(arguments).rebuild
    os.nice(max(_NICENESS - os.nice(0), 0))
    try:
        rebuild(folder)
    except (MonitorError, OSError) as error:
        print(error, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
