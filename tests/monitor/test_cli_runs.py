"""Tests for monitor.cli_runs.

Source: hand-worked here: what is refused, with which words and which exit code.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import monitor.record.run_folder
import monitor.replay
from monitor.cli import main
from monitor.errors import MonitorError, Problem, RecordError, StandError
from monitor.record.journal import JournalCheck
from monitor.record.run_folder import RunRow
from monitor.replay import ReplayResult

ERROR = Problem("bench.toml", 7, "channels.PT-1.unit", "unknown unit 'baar'")


def run(*arguments: str) -> Result:
    """Run a command in this process."""
    return CliRunner().invoke(main, arguments)


def test_an_empty_folder_of_runs_is_told(tmp_path: Path) -> None:
    done = run("runs", "--run-dir", str(tmp_path))

    assert (done.exit_code, done.output) == (0, f"no runs in {tmp_path}\n")


def test_runs_are_listed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    row = RunRow(tmp_path / "run-a", "bench", 0, 0, "closed", 0)
    monkeypatch.setattr(monitor.record.run_folder, "list_runs", lambda _folder: [row])
    done = run("runs", "--run-dir", str(tmp_path))

    assert done.output.splitlines()[1].startswith("run-a")


@pytest.fixture
def replaying(
    monkeypatch: pytest.MonkeyPatch,
) -> Callable[[ReplayResult | MonitorError], list[Path]]:
    """Have a replay give something prepared; note of which folder."""

    def prepare(result: ReplayResult | MonitorError) -> list[Path]:
        asked: list[Path] = []

        def replay_run(folder: Path) -> ReplayResult:
            asked.append(folder)
            if isinstance(result, MonitorError):
                raise result
            return result

        monkeypatch.setattr(monitor.replay, "replay_run", replay_run)
        return asked

    return prepare


CHECK = JournalCheck(1, "aa", 0, "", 0)
EQUAL = ReplayResult("equal", 1, 1, 0, 0, 0, 0, "", "", 1, (), CHECK)
DIFFERS = ReplayResult("differs", 1, 1, 0, 0, 0, 1, "new", "old", 1, (), CHECK)


@pytest.mark.parametrize(
    ("result", "code", "words"),
    [
        (EQUAL, 0, "equal"),
        (DIFFERS, 1, "DIFFERS at line 1"),
        (RecordError("run-a", "holds no log"), 1, "run-a: holds no log"),
        (StandError([ERROR]), 2, "bench.toml:7: error"),
    ],
)
def test_a_replay_tells_its_verdict_by_word_and_exit_code(
    result: ReplayResult | MonitorError,
    code: int,
    words: str,
    tmp_path: Path,
    replaying: Callable[[ReplayResult | MonitorError], list[Path]],
) -> None:
    replaying(result)
    done = run("replay", str(tmp_path))

    assert done.exit_code == code
    assert words in done.output


def test_a_run_may_be_named_by_its_path_or_as_it_is_listed(
    tmp_path: Path, replaying: Callable[[ReplayResult | MonitorError], list[Path]]
) -> None:
    asked = replaying(EQUAL)
    folder = tmp_path / "run-a"
    folder.mkdir()
    run("replay", str(folder))
    run("replay", "run-a", "--run-dir", str(tmp_path))

    assert asked == [folder, folder]


def test_a_run_that_does_not_exist_is_a_mistake_on_the_command_line(tmp_path: Path) -> None:
    done = run("replay", "run-b", "--run-dir", str(tmp_path))

    assert done.exit_code == 2
    assert "run-b" in done.output
