"""A process that records steps of known content until it is killed.

    python killed_writer.py RUN_DIR

It goes on with the run in RUN_DIR if there is one. After each write it says the number of the
step that is written, after each sync the number with a ``+`` before it.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

from drivers.reading import Block
from monitor.events import Control, Event, HostEvent
from monitor.record import writer as writing
from monitor.record.frame import Frame
from monitor.record.run_folder import list_runs
from monitor.record.writer import RunStart, RunWriter
from monitor.samples import Admitted

START_NS = 1_795_000_000_000_000_000
STEP_NS = 100_000_000
SYNC_S = 0.2
ROWS = 8


def frame_of(seq: int) -> Frame:
    """Give a step whose readings all follow from its number."""
    t_ns = START_NS + seq * STEP_NS + np.arange(1, ROWS + 1) * 1_000_000
    random = np.random.default_rng(seq)
    values = np.rint(random.normal(30_000, 20, (ROWS, 12)))
    values[:, 3] /= 100
    values[:, 4] = random.normal(size=ROWS)
    until_ns = START_NS + (seq + 1) * STEP_NS
    detail = HostEvent("readings_dropped", f"step {seq}", {"rows": seq})
    controls = (Control(until_ns, seq, detail),) if seq % 5 == 0 else ()
    block = Block("panel", tuple("abcdefghijkl"), t_ns, values)
    return Frame(seq, until_ns, (Admitted(block),), controls, 0, "")


def events_of(seq: int) -> list[Event]:
    """Give the events of a step: two at every third."""
    if seq % 3:
        return []
    t_ns = START_NS + (seq + 1) * STEP_NS
    return [Event(t_ns, "action.note", f"{seq}.{n}", {"number": seq}) for n in range(2)]


def main(run_dir: Path) -> None:
    """Record until killed."""
    # Small files, so that kills fall into the change from one to the next as well.
    writing.FILE_BYTES = 20_000
    rows = list_runs(run_dir)
    if rows:
        run = RunWriter.resume(rows[0].folder, b"")
    else:
        run = RunWriter.create(run_dir, RunStart("gondola", "", START_NS, b""))
    synced_s = time.monotonic()
    while True:
        seq = run.next_seq
        run.write([frame_of(seq)], events_of(seq))
        print(seq, flush=True)
        if time.monotonic() - synced_s >= SYNC_S:
            run.sync()
            synced_s = time.monotonic()
            print(f"+{seq}", flush=True)
        if run.is_file_full:
            run.start_file(b"")
        time.sleep(0.001)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
