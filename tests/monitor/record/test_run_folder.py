"""Tests for monitor.record.run_folder.

Source: the run's name is the one in the design; the rest is hand-worked here.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from monitor.errors import RecordError
from monitor.record.frame import Frame
from monitor.record.input_log import log_files
from monitor.record.run_folder import (
    create_run_folder,
    find_open,
    list_runs,
    log_end,
    run_folder_name,
    run_state,
    write_summary,
)
from monitor.record.writer import RunStart, RunWriter

NINE_PM_NS = int(datetime(2026, 11, 24, 21, tzinfo=UTC).timestamp()) * 1_000_000_000

Make = Callable[..., Frame]


def started(run_dir: Path, stand: str = "gondola", at_ns: int = NINE_PM_NS) -> RunWriter:
    """Begin a run."""
    return RunWriter.create(run_dir, RunStart(stand, "[stand]\n", at_ns, b""))


def test_a_run_is_named_by_its_start_and_its_stand() -> None:
    assert run_folder_name("gondola", NINE_PM_NS) == "run-2026-11-24T210000Z-gondola"
    assert run_folder_name("bay 3/left", NINE_PM_NS) == "run-2026-11-24T210000Z-bay_3_left"


def test_a_folder_holds_the_stand_file_as_it_was_read(tmp_path: Path) -> None:
    folder = create_run_folder(tmp_path / "runs", "gondola", "[stand]\n# ü\n", NINE_PM_NS)

    assert (folder / "stand.toml").read_bytes() == "[stand]\n# ü\n".encode()


def test_two_runs_of_one_second_have_two_folders(tmp_path: Path) -> None:
    names = [create_run_folder(tmp_path, "g", "", NINE_PM_NS).name for _ in range(3)]

    first = "run-2026-11-24T210000Z-g"
    assert names == [first, f"{first}-2", f"{first}-3"]


def test_runs_are_listed_with_what_people_ask_for(tmp_path: Path, make_frame: Make) -> None:
    closed = started(tmp_path, at_ns=make_frame(1).until_ns)
    closed.write([make_frame(1), make_frame(2)])
    closed.close({"closed": True})
    left = started(tmp_path, "bench", make_frame(3).until_ns)
    left.abandon()
    (tmp_path / "notes").mkdir()
    (tmp_path / "run-of-something-else").mkdir()

    rows = list_runs(tmp_path)

    assert [(row.folder, row.stand, row.state) for row in rows] == [
        (closed.folder, "gondola", "closed"),
        (left.folder, "bench", "open"),
    ]
    assert rows[0].started_ns == make_frame(1).until_ns
    assert rows[0].duration_ns == make_frame(2).until_ns - make_frame(1).until_ns
    assert rows[1].duration_ns == 0
    files = [path.stat().st_size for path in closed.folder.iterdir()]
    assert rows[0].size_bytes == sum(files)


def test_no_folder_of_runs_is_no_runs(tmp_path: Path) -> None:
    assert list_runs(tmp_path / "nowhere") == []


def test_a_run_that_cannot_be_read_is_listed_with_the_reason(tmp_path: Path) -> None:
    started(tmp_path).abandon()
    (path,) = log_files(list_runs(tmp_path)[0].folder)
    path.write_bytes(bytes(100))

    (row,) = list_runs(tmp_path)

    assert row.problem == "no file of its input log has an intact head"


def test_a_run_that_is_being_written_is_told_from_one_that_was_left(tmp_path: Path) -> None:
    writer = started(tmp_path)
    assert run_state(writer.folder) == "recording"
    assert find_open(tmp_path, "gondola") is None

    writer.abandon()

    assert run_state(writer.folder) == "open"
    assert find_open(tmp_path, "gondola") == writer.folder
    assert find_open(tmp_path, "bench") is None


def test_only_the_newest_run_of_a_stand_is_gone_on_with(tmp_path: Path) -> None:
    started(tmp_path).abandon()
    newer = started(tmp_path, at_ns=NINE_PM_NS + 10**9)
    newer.close({"closed": True})

    assert find_open(tmp_path, "gondola") is None


@pytest.mark.parametrize("summary", [b"", b"{", b'{"closed": false}', b'{"closed": 3}', b"{}"])
def test_a_summary_that_does_not_say_closed_leaves_the_run_open(
    tmp_path: Path, summary: bytes
) -> None:
    writer = started(tmp_path)
    writer.abandon()
    (writer.folder / "summary.json").write_bytes(summary)

    assert run_state(writer.folder) == "open"


def test_a_run_without_a_journal_is_open(tmp_path: Path) -> None:
    writer = started(tmp_path)
    writer.abandon()
    (writer.folder / "journal.jsonl").unlink()

    assert run_state(writer.folder) == "open"


def test_a_summary_can_be_read_by_people_and_programs(tmp_path: Path) -> None:
    write_summary(tmp_path, {"closed": True, "text": "ü"})

    text = (tmp_path / "summary.json").read_text(encoding="utf-8")
    assert json.loads(text) == {"closed": True, "text": "ü"}
    assert text.count("\n") == 4


def test_the_end_of_a_log_is_found_across_files(tmp_path: Path, make_frame: Make) -> None:
    writer = started(tmp_path)
    writer.write([make_frame(1), make_frame(2), make_frame(3), make_frame(4)])
    writer.start_file(b"")
    fresh = log_end(writer.folder)
    writer.write([make_frame(5)])
    writer.abandon()

    end = log_end(writer.folder)

    assert (fresh.next_seq, fresh.until_ns) == (5, make_frame(4).until_ns)
    # Every fourth step has a control of its own number.
    assert (fresh.control_seq, end.control_seq) == (4, 4)
    assert (end.next_seq, end.until_ns) == (6, make_frame(5).until_ns)
    assert end.head.started_ns == NINE_PM_NS


def test_steps_that_were_to_be_written_again_still_count(
    tmp_path: Path, make_frame: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    writer = started(tmp_path)
    writer.write([make_frame(1), make_frame(2)])
    with monkeypatch.context() as patch:
        # The sync fails, and the kill comes when the new file has its head and nothing else.
        patch.setattr("monitor.record.input_log.LogWriter._write", lambda *_: None)
        writer._log._is_broken = True
        writer.recover()
    writer.abandon()

    end = log_end(writer.folder)

    assert [end.head.seq, end.next_seq] == [1, 3]


def test_the_end_is_found_when_the_last_head_is_damaged(
    tmp_path: Path, make_frame: Make
) -> None:
    writer = started(tmp_path)
    for seq in (1, 2, 3):
        writer.write([make_frame(seq)])
        writer.start_file(b"")
    writer.write([make_frame(4)])
    writer.abandon()
    for path in log_files(writer.folder)[2:]:
        path.write_bytes(b"\0" + path.read_bytes()[1:])

    end = log_end(writer.folder)

    assert (end.next_seq, end.head.seq) == (5, 2)


def test_a_log_without_an_intact_head_has_no_end(tmp_path: Path) -> None:
    writer = started(tmp_path)
    writer.abandon()
    shutil.copy(writer.folder / "stand.toml", log_files(writer.folder)[0])

    with pytest.raises(RecordError, match="no file of its input log has an intact head"):
        log_end(writer.folder)
