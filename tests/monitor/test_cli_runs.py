"""Tests for monitor.cli_runs.

Source: hand-worked here: what is refused, with which words and which exit code.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import monitor.record.run_folder
import monitor.rehearse.together
import monitor.replay
from monitor.cli import main
from monitor.errors import MonitorError, Problem, RecordError, StandError
from monitor.events import Event, Field
from monitor.record.journal import JournalCheck, JournalWriter
from monitor.record.run_folder import JOURNAL_FILE, RunRow
from monitor.rehearse.run import RunOutcome
from monitor.rehearse.subject import SuggestError
from monitor.rehearse.together import Rehearsal
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


@pytest.fixture
def recorded(tmp_path: Path) -> Path:
    """Give a folder with two runs that have a journal, of one alarm each."""
    for name in ("run-a", "run-b"):
        folder = tmp_path / name
        folder.mkdir()
        writer = JournalWriter(folder / JOURNAL_FILE, is_new=True)
        fields: dict[str, Field] = {"priority": "low", "is_annunciated": True}
        writer.append([Event(10, "alarm.raised", f"{name}.high", fields)])
        writer.close()
    return tmp_path


def test_alarm_figures_are_told_of_runs_named_either_way(recorded: Path) -> None:
    done = run("figures", str(recorded / "run-a"), "run-b", "--run-dir", str(recorded))

    assert done.exit_code == 0
    assert done.output.startswith("alarm figures of 2 runs")
    assert "run-b was never closed" in done.output
    assert "run-a.high" in done.output


def test_a_run_named_twice_counts_once(recorded: Path) -> None:
    done = run("figures", "run-a", str(recorded / "run-a"), "--run-dir", str(recorded))

    assert done.output.startswith("alarm figures of run-a")


def test_the_same_numbers_are_had_as_json(recorded: Path) -> None:
    done = run("figures", "run-a", "--json", "--run-dir", str(recorded))
    document = json.loads(done.output)

    assert done.exit_code == 0
    assert document["total"]["load"]["activations"] == 1
    assert document["notes"][0].startswith("run-a ")


def test_a_target_that_is_not_met_is_no_failure(recorded: Path) -> None:
    path = recorded / "run-a" / JOURNAL_FILE
    path.unlink()
    writer = JournalWriter(path, is_new=True)
    fields: dict[str, Field] = {"priority": "low", "is_annunciated": True}
    writer.append([Event(10, "alarm.raised", "PT-1.high", fields)] * 11)
    writer.close()
    done = run("figures", "run-a", "--run-dir", str(recorded))

    assert "NOT MET" in done.output
    assert done.exit_code == 0


def test_figures_of_a_changed_journal_are_shown_and_end_with_exit_code_1(
    recorded: Path,
) -> None:
    path = recorded / "run-a" / JOURNAL_FILE
    path.write_bytes(path.read_bytes().replace(b'"n":1', b'"n":2'))
    done = run("figures", "run-a", "--run-dir", str(recorded))

    assert done.exit_code == 1
    assert "run-a HAS A CHANGED JOURNAL: line 1" in done.output
    assert "run-a.high" in done.output


def test_a_run_whose_journal_cannot_be_read_is_told(recorded: Path) -> None:
    (recorded / "run-a" / JOURNAL_FILE).unlink()
    done = run("figures", "run-a", "--run-dir", str(recorded))

    assert done.exit_code == 1
    assert "journal.jsonl: cannot be read" in done.output


@pytest.mark.parametrize("names", [[], ["run-c"]])
def test_figures_of_no_run_are_a_mistake_on_the_command_line(
    names: list[str], recorded: Path
) -> None:
    assert run("figures", *names, "--run-dir", str(recorded)).exit_code == 2


@pytest.fixture
def rehearsing(
    monkeypatch: pytest.MonkeyPatch,
) -> Callable[[Rehearsal | MonitorError | OSError], list[tuple[object, ...]]]:
    """Have a rehearsal give something prepared; note what it was asked for."""

    def prepare(result: Rehearsal | MonitorError | OSError) -> list[tuple[object, ...]]:
        asked: list[tuple[object, ...]] = []

        def rehearse_all(
            folders: list[Path], stand: Path, limit: str, progress: Callable[[float], None]
        ) -> Rehearsal:
            asked.append(([folder.name for folder in folders], stand.name, limit))
            progress(0.5)
            if isinstance(result, Exception):
                raise result
            return result

        monkeypatch.setattr(monitor.rehearse.together, "rehearse_all", rehearse_all)
        return asked

    return prepare


OUTCOME = RunOutcome("run-a", 0, 60_000_000_000, (), {}, ("has no phase 'climb'",))


@pytest.fixture
def two_runs(tmp_path: Path) -> list[str]:
    """Give what names two runs and a stand file."""
    for name in ("run-a", "run-b"):
        (tmp_path / name).mkdir()
    (tmp_path / "new.toml").write_text("", encoding="utf-8")
    stand = str(tmp_path / "new.toml")
    return ["rehearse", "run-a", "run-b", "--stand", stand, "--run-dir", str(tmp_path)]


def test_a_rehearsal_is_told_and_a_difference_is_no_failure(
    two_runs: list[str], rehearsing: Callable[[Rehearsal], list[tuple[object, ...]]]
) -> None:
    asked = rehearsing(Rehearsal((OUTCOME,), None))
    done = run(*two_runs, "--suggest", "PT-1.high")

    assert asked == [(["run-a", "run-b"], "new.toml", "PT-1.high")]
    assert done.exit_code == 0
    assert done.output.splitlines()[0].startswith("1 run, 1 min 00 s: nothing differs")
    assert "note: has no phase 'climb'" in done.output


def test_a_rehearsal_can_be_told_to_programs(
    two_runs: list[str], rehearsing: Callable[[Rehearsal], list[tuple[object, ...]]]
) -> None:
    rehearsing(Rehearsal((OUTCOME,), None))

    assert json.loads(run(*two_runs, "--json").output)["runs"][0]["run"] == "run-a"


@pytest.mark.parametrize(
    ("problem", "code"),
    [
        (RecordError("run-a", "holds no log"), 2),
        (StandError([ERROR]), 2),
        (SuggestError("no limit 'PT-9.high' in the new stand"), 2),
        (OSError("the disk is gone"), 1),
    ],
)
def test_a_rehearsal_that_cannot_be_says_why(
    problem: MonitorError | OSError,
    code: int,
    two_runs: list[str],
    rehearsing: Callable[[MonitorError | OSError], list[tuple[object, ...]]],
) -> None:
    rehearsing(problem)
    done = run(*two_runs)

    assert (done.exit_code, done.output) == (code, f"{problem}\n")


def test_a_rehearsal_needs_a_run_and_a_stand(two_runs: list[str]) -> None:
    assert run("rehearse", *two_runs[3:]).exit_code == 2
    assert run("rehearse", "run-a").exit_code == 2
    assert run(*two_runs, "no-such-run").exit_code == 2
