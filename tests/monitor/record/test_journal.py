"""Tests for monitor.record.journal.

Source: SHA-256 by hashlib, JSON by the standard library's json; the rest hand-worked here.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from monitor.errors import RecordError
from monitor.events import Event
from monitor.record.journal import JournalWriter, iso_time, line_hash, read_lines, verify

MakeEvent = Callable[[int], Event]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Give the place of a journal."""
    return tmp_path / "journal.jsonl"


@pytest.fixture
def written(path: Path, make_event: MakeEvent) -> bytes:
    """Write a journal of five lines; give its bytes."""
    journal = JournalWriter(path, is_new=True)
    journal.append([make_event(number) for number in range(5)])
    journal.sync()
    journal.close()
    return path.read_bytes()


def test_each_line_holds_the_event_and_the_hash_of_the_line_before(written: bytes) -> None:
    lines = written.splitlines()

    rows = [json.loads(line) for line in lines]
    assert [row["n"] for row in rows] == [1, 2, 3, 4, 5]
    assert rows[3] == {
        "n": 4,
        "time": "2026-11-18T11:06:40.300000000Z",
        "t_ns": 1_795_000_000_300_000_000,
        "kind": "action.note",
        "subject": "PT-3",
        "fields": {"number": 3, "value": 0.375, "text": "drück", "none": None},
        "prev": hashlib.sha256(lines[2]).hexdigest(),
    }
    assert rows[0]["prev"] == ""


def test_an_untouched_journal_verifies(path: Path, written: bytes) -> None:
    check = verify(path)

    assert (check.count, check.broken_line, check.why, check.torn_bytes) == (5, 0, "", 0)
    assert check.head == line_hash(written.splitlines()[-1])


@pytest.mark.parametrize(
    ("change", "broken_line", "why"),
    [
        (
            lambda lines: [*lines[:2], lines[2].replace(b"PT-2", b"PT-9"), *lines[3:]],
            4,
            "follow",
        ),
        (lambda lines: [*lines[:1], *lines[2:]], 2, "has the number 3"),
        (lambda lines: [lines[0], *lines], 2, "has the number 1"),
        (lambda lines: [*lines[:2], b"{}", *lines[3:]], 3, "is no line of a journal"),
        (lambda lines: [lines[0].replace(b"40.0", b"41.0"), *lines[1:]], 1, "states two times"),
    ],
)
def test_a_changed_journal_does_not_verify(
    path: Path,
    written: bytes,
    change: Callable[[list[bytes]], list[bytes]],
    broken_line: int,
    why: str,
) -> None:
    path.write_bytes(b"".join(line + b"\n" for line in change(written.splitlines())))

    check = verify(path)

    assert check.broken_line == broken_line
    assert why in check.why


def test_a_journal_cut_anywhere_gives_its_whole_lines_and_counts_the_rest(
    path: Path, written: bytes
) -> None:
    for cut in range(len(written)):
        path.write_bytes(written[:cut])
        check = verify(path)

        whole = written[:cut].count(b"\n")
        assert (check.count, check.broken_line) == (whole, 0)
        assert check.torn_bytes == cut - len(b"".join(written.splitlines(True)[:whole]))


def test_zeros_at_the_end_are_torn_even_where_a_newline_survived(
    path: Path, written: bytes
) -> None:
    path.write_bytes(written[:-300] + bytes(299) + b"\n" + bytes(50))

    lines, torn_bytes = read_lines(path)

    whole = written[:-300].splitlines(True)[:-1]
    assert [line + b"\n" for line in lines] == whole
    assert torn_bytes == len(written) + 50 - len(b"".join(whole))


@pytest.mark.parametrize("tail", [b"", b'{"n":6,"ti', bytes(70)])
def test_a_journal_is_gone_on_with_behind_its_last_whole_line(
    path: Path, written: bytes, make_event: MakeEvent, tail: bytes
) -> None:
    path.write_bytes(written + tail)
    journal = JournalWriter(path, is_new=False)
    journal.append([make_event(5)])
    journal.sync()
    journal.close()

    check = verify(path)
    assert (check.count, check.broken_line, check.torn_bytes) == (6, 0, 0)
    assert path.read_bytes().startswith(written)
    assert (journal.count, journal.head, journal.torn_bytes) == (6, check.head, len(tail))


def test_a_sync_without_new_lines_asks_nothing_of_the_disk(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal = JournalWriter(path, is_new=True)
    asked: list[int] = []
    monkeypatch.setattr("os.fdatasync", asked.append)
    journal.sync()
    journal.close()

    assert asked == []


def test_an_empty_journal_is_gone_on_with(path: Path, make_event: MakeEvent) -> None:
    path.touch()
    journal = JournalWriter(path, is_new=False)
    journal.append([make_event(0)])
    journal.close()

    assert verify(path).count == 1


def test_two_writers_at_once_are_refused(path: Path) -> None:
    journal = JournalWriter(path, is_new=True)
    before = journal.size
    with pytest.raises(RecordError, match="another process is recording this run"):
        JournalWriter(path, is_new=False)
    journal.close()

    JournalWriter(path, is_new=False).close()
    assert before == 0


def test_lines_whose_write_failed_are_written_when_it_works_again(
    path: Path, make_event: MakeEvent, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal = JournalWriter(path, is_new=True)
    journal.append([make_event(0)])
    journal.sync()
    with monkeypatch.context() as patch:
        # Half of the line reaches the file, as on a disk that fills up.
        file = journal._file
        write = type(file).write

        def torn(self: object, data: bytes) -> None:
            write(file, data[: len(data) // 2])
            raise OSError(28, "No space left on device")

        patch.setattr(type(file), "write", torn)
        with pytest.raises(OSError, match="No space"):
            journal.append([make_event(1)])
        with pytest.raises(OSError, match="No space"):
            journal.recover()
    journal.recover()
    journal.append([make_event(2)])
    journal.sync()
    journal.close()

    check = verify(path)
    assert (check.count, check.broken_line, check.torn_bytes) == (3, 0, 0)


def test_lines_whose_sync_failed_are_written_again(
    path: Path, make_event: MakeEvent, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal = JournalWriter(path, is_new=True)
    journal.append([make_event(0)])
    with monkeypatch.context() as patch:

        def fail(handle: int) -> None:
            raise OSError(5, "Input/output error")

        patch.setattr("os.fdatasync", fail)
        with pytest.raises(OSError, match="Input/output"):
            journal.sync()
    # What a disk may keep of lines whose sync failed: nothing.
    path.write_bytes(b"")
    journal.recover()
    journal.close()

    assert verify(path).count == 1
    assert verify(path).broken_line == 0


def test_a_journal_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="nowhere: cannot be read: No such file"):
        verify(tmp_path / "nowhere")


def test_times_are_written_to_the_nanosecond() -> None:
    assert iso_time(1) == "1970-01-01T00:00:00.000000001Z"
    assert iso_time(1_795_000_000_123_456_789) == "2026-11-18T11:06:40.123456789Z"
