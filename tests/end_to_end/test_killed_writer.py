"""Tests for a run whose writer is killed at random moments, again and again.

Source: what was written follows from the number of its step; the moments come from the seed in
the test's name.
"""

from __future__ import annotations

import importlib.util
import json
import os
import random
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

from monitor.record.frame import Frame
from monitor.record.input_log import log_files
from monitor.record.journal import read_lines, verify
from monitor.record.log_reader import LogDamage, MissingSteps, read_log
from monitor.record.run_folder import list_runs

SCRIPT = Path(__file__).with_name("killed_writer.py")
ROOT = Path(__file__).parents[2]
KILLS = 20


def loaded() -> ModuleType:
    """Load the script, to know what it writes."""
    spec = importlib.util.spec_from_file_location("killed_writer", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def killed_after(run_dir: Path, after_s: float) -> tuple[int, int]:
    """Run the writer, kill it; give the newest step it said was written, and was synced.

    The time counts from its first step; a negative one kills it while it is starting.
    """
    child = subprocess.Popen(
        [sys.executable, str(SCRIPT), str(run_dir)],
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        text=True,
    )
    assert child.stdout is not None
    said = child.stdout.readline() if after_s >= 0 else ""
    try:
        child.wait(abs(after_s))
        raise AssertionError(f"the writer ended by itself after {said!r}")
    except subprocess.TimeoutExpired:
        child.kill()
    said += child.stdout.read()
    child.wait()
    child.stdout.close()
    whole = said.split("\n")[:-1]
    written = [int(line) for line in whole if not line.startswith("+")]
    synced = [int(line) for line in whole if line.startswith("+")]
    return max(written, default=0), max(synced, default=0)


def checked(folder: Path, script: ModuleType) -> int:
    """Check that everything in a run is as it was written; give its newest step."""
    items = list(read_log(folder))
    assert not any(isinstance(item, MissingSteps) for item in items)
    frames = [item for item in items if isinstance(item, Frame)]
    assert [frame.seq for frame in frames] == list(range(1, len(frames) + 1))
    for frame in frames:
        wanted = script.frame_of(frame.seq)
        (got,), (row,) = frame.admitted, wanted.admitted
        assert got.block.values.tobytes() == row.block.values.tobytes()
        assert got.block.t_ns.tobytes() == row.block.t_ns.tobytes()
        assert (frame.until_ns, frame.controls) == (wanted.until_ns, wanted.controls)
    # Only the last frame of a file can be torn: a writer goes on in a new one.
    damages = [item for item in items if isinstance(item, LogDamage)]
    assert len({item.file for item in damages}) == len(damages)
    assert all("never finished" in item.why for item in damages)
    return len(frames)


def assert_in_order(lines: list[bytes], steps: int, script: ModuleType) -> None:
    """Check that a journal holds events of recorded steps, in order and none twice.

    The log is written before the journal, so an event without its step cannot be.
    """
    said = [json.loads(line)["subject"] for line in lines]
    wanted = [event.subject for seq in range(1, steps + 1) for event in script.events_of(seq)]
    rest = iter(wanted)
    assert all(subject in rest for subject in said)
    assert len(wanted) - len(said) <= 2 * KILLS


@pytest.mark.parametrize("seed", [20261124])
def test_a_writer_that_is_killed_again_and_again_loses_and_invents_nothing(
    tmp_path: Path, seed: int
) -> None:
    script, moments = loaded(), random.Random(seed)
    newest, lines_before = 0, 0
    for kill in range(KILLS):
        # Every fifth is killed while it starts: it opens, cuts and begins files then.
        after_s = -moments.uniform(0.2, 0.5) if kill % 5 == 4 else moments.uniform(0.0, 0.5)
        written, synced = killed_after(tmp_path, after_s)
        rows = list_runs(tmp_path)
        assert len(rows) == 1
        assert (rows[0].state, rows[0].problem) == ("open", "")

        steps = checked(rows[0].folder, script)

        assert steps >= max(newest, written, synced)
        check = verify(rows[0].folder / "journal.jsonl")
        assert check.broken_line == 0
        lines, _ = read_lines(rows[0].folder / "journal.jsonl")
        assert len(lines) >= lines_before
        assert_in_order(lines, steps, script)
        newest, lines_before = steps, len(lines)
    assert newest > 200
    # Most of them lived long enough to begin a file of their own.
    assert len(log_files(rows[0].folder)) > KILLS // 2
