"""Tests for monitor.replay.compare.

Source: hand-worked here; the lines on disk come from the same pipeline, run step by step as the
engine does.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from monitor.errors import RecordError
from monitor.events import Action, Event, HostEvent
from monitor.record.frames import RawFrame, run_seed, scan
from monitor.record.input_log import log_files
from monitor.record.journal import Chain
from monitor.replay.compare import replay_run

Lines = Callable[[Path], list[bytes]]


def put(folder: Path, lines: list[bytes]) -> None:
    """Replace a journal."""
    (folder / "journal.jsonl").write_bytes(b"".join(lines))


def forged(lines: list[bytes], change: Callable[[int, dict[str, Any]], None]) -> list[bytes]:
    """Change lines and mend the chain behind them, as one who knows it would."""
    chain, out = Chain(), []
    for number, line in enumerate(lines, 1):
        row = json.loads(line)
        change(number, row)
        event = Event(row["t_ns"], row["kind"], row["subject"], row["fields"])
        out.append(chain.line(event) + b"\n")
    return out


def flip(path: Path, number: int) -> None:
    """Flip a bit in the middle of a frame of a file, counted from its end."""
    data = bytearray(path.read_bytes())
    run = path.parent.name
    frames = [p for p in scan(bytes(data), run_seed(run)) if isinstance(p, RawFrame)]
    data[frames[number].offset + 22] ^= 1
    path.write_bytes(data)


@pytest.mark.parametrize("chunk_frames", [1, 2, 7, None])
def test_an_untouched_run_gives_its_journal_again_however_it_is_cut(
    lived: Any, chunk_frames: int | None
) -> None:
    result = replay_run(lived.folder, chunk_frames=chunk_frames)

    assert result.verdict == "equal"
    assert (result.lines_made, result.lines_recorded, result.steps) == (20, 20, 17)
    assert (result.lines_ahead, result.lines_behind, result.lines_unsure) == (0, 0, 0)
    assert (result.line, result.made, result.recorded, result.problems) == (0, "", "", ())
    assert result.is_good


def test_a_changed_line_is_found_and_both_are_shown(lived: Any, lines: Lines) -> None:
    whole = lines(lived.folder)
    put(
        lived.folder,
        [*whole[:2], whole[2].replace(b'"value":12.0', b'"value":9.0'), *whole[3:]],
    )

    result = replay_run(lived.folder)

    assert (result.verdict, result.line) == ("differs", 3)
    assert result.made.encode() + b"\n" == whole[2]
    assert json.loads(result.recorded)["fields"]["value"] == 9.0
    assert result.journal.broken_line == 4
    assert not result.is_good


def test_a_change_with_a_mended_chain_is_found_too(lived: Any, lines: Lines) -> None:
    def change(number: int, row: dict[str, Any]) -> None:
        if number == 5:
            row["fields"]["by"] = "B. Other"

    put(lived.folder, forged(lines(lived.folder), change))

    result = replay_run(lived.folder)

    assert result.journal.broken_line == 0
    assert (result.verdict, result.line) == ("differs", 5)
    assert "A. Roe" in result.made
    assert "B. Other" in result.recorded
    assert not result.is_good


def test_a_journal_whose_end_was_cut_off_is_behind(lived: Any, lines: Lines) -> None:
    put(lived.folder, [*lines(lived.folder)[:-3], b'{"torn'])

    result = replay_run(lived.folder)

    assert (result.verdict, result.lines_behind) == ("behind", 3)
    assert (result.lines_made, result.lines_recorded) == (20, 17)
    assert result.journal.torn_bytes == 6
    assert result.is_good


def test_a_journal_that_is_not_there_is_behind_by_all_its_lines(lived: Any) -> None:
    (lived.folder / "journal.jsonl").unlink()

    result = replay_run(lived.folder)

    assert (result.verdict, result.lines_behind, result.lines_recorded) == ("behind", 20, 0)


def test_a_log_whose_end_is_torn_leaves_the_journal_ahead(
    lived: Any, cut_log: Callable[[Path, int], None]
) -> None:
    cut_log(lived.folder, 1)

    result = replay_run(lived.folder)

    # The last step closed the run: one line.
    assert (result.verdict, result.lines_ahead) == ("ahead", 1)
    assert (result.lines_made, result.steps) == (19, 16)
    assert "never finished" in result.problems[0]
    assert result.is_good


def test_a_line_that_the_log_covers_and_does_not_give_differs(lived: Any, lines: Lines) -> None:
    def extra(number: int, row: dict[str, Any]) -> None:
        if number == 21:
            row["t_ns"] = json.loads(lines(lived.folder)[2])["t_ns"]

    whole = lines(lived.folder)
    put(lived.folder, forged([*whole, whole[-1].replace(b'"n":20', b'"n":21')], extra))

    result = replay_run(lived.folder)

    assert (result.verdict, result.line, result.made) == ("differs", 21, "")


def test_a_run_that_was_killed_and_gone_on_with_is_one_run(bench: Any) -> None:
    bench.ramp([1, 12])
    bench.go_on()
    bench.say(HostEvent("run_resumed", "", {"gap_ns": 5}))
    bench.ramp([12, 1])
    bench.close()

    result = replay_run(bench.folder)

    assert result.verdict == "equal"
    assert result.lines_made == result.lines_recorded == 6


def test_lines_that_were_ahead_at_a_power_cut_are_counted_and_the_rest_compared(
    bench: Any, lines: Lines, cut_log: Callable[[Path, int], None]
) -> None:
    bench.ramp([1])
    before = bench.pipeline.save()
    bench.ramp([12])
    bench.writer.abandon()
    cut_log(bench.folder, 1)
    # The engine goes on from what the log holds: the pressure was never high for it.
    bench.pipeline = type(bench.pipeline).restore(bench.plan, before)
    bench.go_on()
    bench.say(HostEvent("run_resumed"))
    bench.ramp([12])
    bench.close()

    result = replay_run(bench.folder)

    assert (result.verdict, result.lines_unsure, result.line) == ("gaps", 1, 0)
    assert (result.lines_recorded, result.lines_made) == (6, 5)
    put(bench.folder, lines(bench.folder)[:5])
    assert replay_run(bench.folder).verdict == "gaps"


def test_lines_put_in_where_nobody_went_on_are_found(bench: Any, lines: Lines) -> None:
    bench.ramp([1, 2])
    # A line that no reading or control has made, with a chain that holds.
    bench.writer.write(
        [], [Event(bench.pipeline.until_ns, "action.note", "", {"by": "Mallory"})]
    )
    bench.ramp([3, 12, 3])
    bench.close()

    result = replay_run(bench.folder, chunk_frames=1)

    assert (result.verdict, result.line, result.made) == ("differs", 3, "")
    assert "Mallory" in result.recorded


def test_the_same_is_found_when_steps_are_taken_together(bench: Any) -> None:
    bench.ramp([1, 2])
    bench.writer.write(
        [], [Event(bench.pipeline.until_ns, "action.note", "", {"by": "Mallory"})]
    )
    bench.ramp([3, 12, 3])
    bench.close()

    result = replay_run(bench.folder)

    assert (result.verdict, result.line) == ("differs", 3)
    assert "alarm.raised" in result.made
    assert "Mallory" in result.recorded


def test_readings_lost_on_a_full_disk_leave_lines_that_cannot_be_checked(bench: Any) -> None:
    bench.ramp([1, 2])
    for bar in (12, 3, 4):
        bench.step((bench.block(4 + bar),), is_recorded=False)
    bench.ramp([5])
    bench.writer.start_file(bench.pipeline.save())
    bench.ramp([12, 3])
    bench.close()

    result = replay_run(bench.folder)

    # Raised and cleared while nothing could be written: two lines; the other five are checked.
    assert (result.verdict, result.lines_unsure, result.line) == ("gaps", 2, 0)
    assert (result.lines_made, result.lines_recorded) == (5, 7)
    assert result.problems == ("steps 4 to 6 are in no file",)
    assert result.is_good


def test_behind_a_gap_lines_are_compared_again(bench: Any, lines: Lines) -> None:
    bench.ramp([1])
    bench.step([bench.block(5)], is_recorded=False)
    bench.ramp([5])
    bench.writer.start_file(bench.pipeline.save())
    bench.say(Action("note", "", "A. Roe", "all well"))
    bench.close()

    def change(number: int, row: dict[str, Any]) -> None:
        if number == 3:
            row["fields"]["text"] = "a leak"

    put(bench.folder, forged(lines(bench.folder), change))

    result = replay_run(bench.folder)

    assert (result.verdict, result.line) == ("differs", 3)


def test_a_line_changed_inside_a_gap_does_not_fit_the_log_behind_it(
    bench: Any, lines: Lines
) -> None:
    bench.ramp([1])
    note = Action("note", "", "A. Roe", "a leak")
    bench.step([bench.block(5)], [note], is_recorded=False)
    bench.ramp([5])
    bench.writer.start_file(bench.pipeline.save())
    bench.close()

    def change(number: int, row: dict[str, Any]) -> None:
        if number == 3:
            row["fields"]["text"] = "all well"

    put(bench.folder, forged(lines(bench.folder), change))

    result = replay_run(bench.folder)

    assert (result.verdict, result.line, result.made) == ("differs", 3, "")
    assert "all well" in result.recorded


def test_a_gap_without_a_state_behind_it_leaves_the_rest_unchecked(bench: Any) -> None:
    bench.ramp([1, 2, 3])
    bench.ramp([12, 3])
    bench.close()
    # From the end: closing, 3 bar, 12 bar, 3 bar.
    flip(log_files(bench.folder)[0], -4)

    result = replay_run(bench.folder)

    assert (result.verdict, result.lines_unsure, result.line) == ("gaps", 3, 0)
    assert (result.lines_made, result.lines_recorded) == (2, 5)
    assert result.problems[0].startswith("input-001.log: ")
    assert result.problems[1] == "steps 4 to 4 are in no file"


def test_a_damaged_head_where_a_run_was_gone_on_with_accuses_nobody(
    bench: Any, cut_log: Callable[[Path, int], None]
) -> None:
    bench.ramp([1])
    before = bench.pipeline.save()
    bench.ramp([12])
    bench.writer.abandon()
    cut_log(bench.folder, 1)
    bench.pipeline = type(bench.pipeline).restore(bench.plan, before)
    bench.go_on()
    bench.ramp([1])
    bench.close()
    flip(log_files(bench.folder)[1], 0)

    result = replay_run(bench.folder)

    assert (result.verdict, result.lines_unsure) == ("gaps", 1)


def test_a_folder_that_is_no_run_is_told(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="is it a run folder"):
        replay_run(tmp_path)
