"""Tests for monitor.replay.__main__.

Source: hand-worked here.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from monitor.replay.__main__ import main


@pytest.fixture
def niced(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Keep what the process would have been niced by: the tests must not stay so."""
    steps: list[int] = []
    before = os.nice(0)

    def nice(step: int) -> int:
        steps.append(step)
        return before

    monkeypatch.setattr("os.nice", nice)
    return steps


def test_a_run_is_rebuilt_behind_everything_else(lived: Any, niced: list[int]) -> None:
    before = os.nice(0)
    niced.clear()
    code = main(["--rebuild", str(lived.folder)])

    assert code == 0
    assert (lived.folder / "samples-001.parquet").exists()
    assert niced == [0, max(10 - before, 0)]


def test_what_is_wrong_is_said_on_standard_error(
    tmp_path: Path, niced: list[int], capsys: pytest.CaptureFixture[str]
) -> None:
    code = main(["--rebuild", str(tmp_path)])

    assert code == 1
    assert "is it a run folder" in capsys.readouterr().err


def test_it_runs_as_a_process_of_its_own(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "monitor.replay", "--rebuild", str(tmp_path)],
        cwd=Path(__file__).parents[3],
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 1
    assert "is it a run folder" in done.stderr
