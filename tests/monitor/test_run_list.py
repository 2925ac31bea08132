"""Tests for monitor.run_list.

Source: hand-worked here.
"""

from __future__ import annotations

from pathlib import Path

from monitor.record.run_folder import RunRow, RunState
from monitor.run_list import run_lines

NS = 1_000_000_000
#: 2026-03-01 12:00:00 UTC.
NOON = 1_772_366_400 * NS


def row(name: str, state: RunState, problem: str = "") -> RunRow:
    """Give a run of 90 seconds and 2 MiB."""
    folder = Path("/runs") / name
    return RunRow(folder, "bench", NOON, 90 * NS, state, 2 << 20, problem)


def test_a_run_is_a_line_with_start_length_state_and_size() -> None:
    lines = run_lines([row("run-a", "closed")])

    assert lines[1].split("  ") == [
        "run-a", "2026-03-01 12:00:00", "1 min 30 s", "closed", "2.0 MiB"
    ]  # fmt: skip


def test_columns_are_as_wide_as_their_widest_cell() -> None:
    lines = run_lines([row("run-a", "closed"), row("run-long-name", "recording")])

    assert len({line.index("2026") for line in lines[1:]} | {lines[0].index("started")}) == 1


def test_a_run_that_was_not_closed_says_so() -> None:
    assert "not closed" in run_lines([row("run-a", "open")])[1]


def test_a_run_that_cannot_be_read_says_why() -> None:
    line = run_lines([row("run-a", "open", "no intact frame")])[1]

    assert "cannot be read" in line
    assert line.endswith("no intact frame")
