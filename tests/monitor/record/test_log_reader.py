"""Tests for monitor.record.log_reader.

Source: hand-worked here.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import msgspec
import pytest

from monitor.errors import RecordError
from monitor.record.frame import Frame
from monitor.record.frames import FrameKind, RawFrame, frame_bytes, run_seed, scan
from monitor.record.input_log import LOG_VERSION, FileHead, LogWriter, log_files
from monitor.record.log_reader import (
    LogDamage,
    LogItem,
    MissingSteps,
    read_head,
    read_log,
    run_name,
)
from monitor.record.payload import PackEncoder

RUN = "run-2026-11-24T210000Z-gondola"
HEAD = FileHead(LOG_VERSION, RUN, "gondola", 5, 1, 5, -1, 0, "", b"state")

Make = Callable[..., Frame]
Flat = Callable[[Frame], object]


def write(folder: Path, make: Make, steps: Sequence[Sequence[int]], first: int = 1) -> Path:
    """Write a further file of packs with these steps; give its path."""
    log, encoder = LogWriter(folder, RUN), PackEncoder()
    log.start_file(msgspec.structs.replace(HEAD, seq=first))
    for pack in steps:
        log.append(encoder.encode([make(seq) for seq in pack]))
    log.close()
    return log_files(folder)[-1]


def steps_of(items: Sequence[LogItem]) -> list[int]:
    """Give the numbers of the steps."""
    return [item.seq for item in items if isinstance(item, Frame)]


def shape(items: Sequence[LogItem]) -> list[object]:
    """Give items in short: numbers of steps, names of damaged files, spans of missing steps."""
    short: list[object] = []
    for item in items:
        if isinstance(item, Frame):
            short.append(item.seq)
        elif isinstance(item, LogDamage):
            short.append(item.file)
        elif isinstance(item, MissingSteps):
            short.append((item.first, item.end))
    return short


def pieces_of(path: Path) -> list[RawFrame]:
    """Give the frames of an intact file."""
    return [p for p in scan(path.read_bytes(), run_seed(RUN)) if isinstance(p, RawFrame)]


def test_what_was_written_is_read(tmp_path: Path, make_frame: Make, flat: Flat) -> None:
    write(tmp_path, make_frame, [[1, 2], [3]])
    write(tmp_path, make_frame, [[4]], first=4)

    items = list(read_log(tmp_path))

    assert [type(item) for item in items] == [FileHead, Frame, Frame, Frame, FileHead, Frame]
    got = [flat(item) for item in items if isinstance(item, Frame)]
    assert got == [flat(make_frame(seq)) for seq in (1, 2, 3, 4)]


def test_the_log_cut_at_every_byte_of_its_last_two_frames_never_gives_a_false_row(
    tmp_path: Path, make_frame: Make, flat: Flat
) -> None:
    path = write(tmp_path, make_frame, [[1], [2], [3, 4], [5]])
    whole = path.read_bytes()
    *_, before_last, last = pieces_of(path)
    wanted = [flat(make_frame(seq)) for seq in range(1, 6)]

    for cut in range(before_last.offset, len(whole)):
        path.write_bytes(whole[:cut])
        items = list(read_log(tmp_path))

        got = [flat(item) for item in items if isinstance(item, Frame)]
        assert got == wanted[: 4 if cut >= last.offset else 2]
        damage = [item for item in items if isinstance(item, LogDamage)]
        lost = cut - (last.offset if cut >= last.offset else before_last.offset)
        assert sum(item.length for item in damage) == lost


def test_the_log_with_a_zeroed_tail_never_gives_a_false_row(
    tmp_path: Path, make_frame: Make, flat: Flat
) -> None:
    path = write(tmp_path, make_frame, [[1], [2], [3, 4], [5]])
    whole = path.read_bytes()
    *_, before_last, last = pieces_of(path)
    wanted = [flat(make_frame(seq)) for seq in range(1, 6)]

    for zeroed_from in range(before_last.offset, len(whole) - 1):
        path.write_bytes(whole[:zeroed_from] + bytes(len(whole) - zeroed_from + 4096))
        items = list(read_log(tmp_path))

        got = [flat(item) for item in items if isinstance(item, Frame)]
        assert got == wanted[: 4 if zeroed_from >= last.offset else 2]
        assert any(isinstance(item, LogDamage) for item in items)


def test_a_flipped_bit_anywhere_never_gives_a_false_row(
    tmp_path: Path, make_frame: Make, flat: Flat
) -> None:
    path = write(tmp_path, make_frame, [[1], [2], [3]])
    whole = path.read_bytes()
    wanted = {seq: flat(make_frame(seq)) for seq in (1, 2, 3)}

    for place in range(len(whole)):
        rotten = bytearray(whole)
        rotten[place] ^= 1 << place % 8
        path.write_bytes(rotten)
        (tmp_path / "name").write_text(RUN)
        items = list(read_log(tmp_path))

        for item in items:
            if isinstance(item, Frame):
                assert flat(item) == wanted[item.seq]
        assert any(isinstance(item, LogDamage) for item in items)


def test_a_gap_in_the_middle_is_stated(tmp_path: Path, make_frame: Make) -> None:
    path = write(tmp_path, make_frame, [[1], [2, 3, 4], [5]])
    raw = next(piece for piece in pieces_of(path) if piece.seq == 2)
    data = bytearray(path.read_bytes())
    data[raw.offset + 30] ^= 4
    path.write_bytes(data)

    items = list(read_log(tmp_path))

    assert shape(items) == ["input-001.log", 1, (2, 5), 5]
    (damage,) = (item for item in items if isinstance(item, LogDamage))
    assert damage.offset == raw.offset


def test_a_missing_file_is_stated(tmp_path: Path, make_frame: Make) -> None:
    for steps in ([1, 2], [3, 4], [5, 6]):
        write(tmp_path, make_frame, [steps], first=steps[0])
    log_files(tmp_path)[1].unlink()

    assert shape(list(read_log(tmp_path))) == [1, 2, (3, 5), 5, 6]


def test_steps_before_the_first_head_left_are_missing_too(
    tmp_path: Path, make_frame: Make
) -> None:
    path = write(tmp_path, make_frame, [[1], [2]])
    raw = next(p for p in pieces_of(path) if p.kind is FrameKind.PACK)
    data = path.read_bytes()
    path.write_bytes(data[: raw.offset] + data[raw.offset + 40 :])

    assert shape(list(read_log(tmp_path)))[-2:] == [(1, 2), 2]


@pytest.mark.parametrize("damaged", [None, 2, 3, 4])
def test_steps_that_were_written_again_are_given_once(
    tmp_path: Path, make_frame: Make, flat: Flat, damaged: int | None
) -> None:
    first = write(tmp_path, make_frame, [[1], [2], [3], [4]])
    write(tmp_path, make_frame, [[2], [3], [4], [5]], first=2)
    if damaged is not None:
        raw = next(p for p in pieces_of(first) if (p.kind, p.seq) == (FrameKind.PACK, damaged))
        data = bytearray(first.read_bytes())
        data[raw.offset + 25] ^= 1
        first.write_bytes(data)

    items = list(read_log(tmp_path))

    assert steps_of(items) == [1, 2, 3, 4, 5]
    assert not any(isinstance(item, MissingSteps) for item in items)
    got = [flat(item) for item in items if isinstance(item, Frame)]
    assert got == [flat(make_frame(seq)) for seq in range(1, 6)]


def test_a_step_that_only_the_older_file_has_whole_is_taken_from_there(
    tmp_path: Path, make_frame: Make
) -> None:
    write(tmp_path, make_frame, [[1], [2], [3], [4]])
    second = write(tmp_path, make_frame, [[2], [3], [4], [5]], first=2)
    raw = next(p for p in pieces_of(second) if (p.kind, p.seq) == (FrameKind.PACK, 3))
    data = bytearray(second.read_bytes())
    data[raw.offset + 25] ^= 1
    second.write_bytes(data)

    assert steps_of(list(read_log(tmp_path))) == [1, 2, 3, 4, 5]


def test_packs_that_overlap_give_each_step_once(tmp_path: Path, make_frame: Make) -> None:
    write(tmp_path, make_frame, [[1, 2], [3, 4]])
    write(tmp_path, make_frame, [[4, 5]], first=4)

    assert shape(list(read_log(tmp_path))) == [1, 2, 3, 4, 5]


def test_a_new_file_that_has_nothing_yet_takes_nothing_away(
    tmp_path: Path, make_frame: Make
) -> None:
    write(tmp_path, make_frame, [[1], [2]])
    write(tmp_path, make_frame, [], first=2)

    assert steps_of(list(read_log(tmp_path))) == [1, 2]


def test_a_damaged_layout_is_made_good_by_its_next_statement(
    tmp_path: Path, make_frame: Make
) -> None:
    path = write(tmp_path, make_frame, [[seq] for seq in range(1, 70)])
    raw = next(piece for piece in pieces_of(path) if piece.kind is FrameKind.LAYOUT)
    data = bytearray(path.read_bytes())
    data[raw.offset + 20] ^= 1
    path.write_bytes(data)

    items = list(read_log(tmp_path))

    assert steps_of(items) == list(range(1, 70))
    assert [item.offset for item in items if isinstance(item, LogDamage)] == [raw.offset]


def test_packs_whose_layout_is_lost_are_damage(tmp_path: Path, make_frame: Make) -> None:
    path = write(tmp_path, make_frame, [[1], [2]])
    raw = next(piece for piece in pieces_of(path) if piece.kind is FrameKind.LAYOUT)
    data = bytearray(path.read_bytes())
    data[raw.offset + 20] ^= 1
    path.write_bytes(data)

    items = list(read_log(tmp_path))

    assert steps_of(items) == []
    whys = [item.why for item in items if isinstance(item, LogDamage)]
    assert len(whys) == 3
    assert "is lost" in whys[1]


def test_without_an_intact_head_the_folder_tells_the_runs_name(
    tmp_path: Path, make_frame: Make
) -> None:
    folder = tmp_path / RUN
    folder.mkdir()
    path = write(folder, make_frame, [[1], [2]])
    path.write_bytes(b"\0" + path.read_bytes()[1:])

    assert shape(list(read_log(folder))) == ["input-001.log", 1, 2]


def test_the_name_is_taken_from_any_head(tmp_path: Path, make_frame: Make) -> None:
    path = write(tmp_path, make_frame, [[1]])
    write(tmp_path, make_frame, [[2]], first=2)
    path.write_bytes(b"\0" + path.read_bytes()[1:])

    assert run_name(tmp_path) == RUN
    assert read_head(path) is None
    assert steps_of(list(read_log(tmp_path))) == [1, 2]


def test_some_files_can_be_read_alone(tmp_path: Path, make_frame: Make) -> None:
    for seq in (1, 2, 3):
        write(tmp_path, make_frame, [[seq]], first=seq)

    assert shape(list(read_log(tmp_path, log_files(tmp_path)[1:]))) == [2, 3]


def test_a_folder_without_a_log_is_told(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="no input log here"):
        list(read_log(tmp_path))


def test_a_file_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="cannot be read: No such file"):
        list(read_log(tmp_path, [tmp_path / "input-001.log"]))


@pytest.mark.parametrize(
    ("payload", "why"),
    [
        (
            msgspec.msgpack.encode(msgspec.structs.replace(HEAD, version=LOG_VERSION + 1)),
            "written by a newer version",
        ),
        (msgspec.msgpack.encode({"version": 1}), "its head is of another kind"),
    ],
)
def test_a_log_of_another_version_is_not_guessed_at(
    tmp_path: Path, payload: bytes, why: str
) -> None:
    (tmp_path / "input-001.log").write_bytes(frame_bytes(FrameKind.HEAD, 1, payload, 0))

    with pytest.raises(RecordError, match=why):
        list(read_log(tmp_path))
