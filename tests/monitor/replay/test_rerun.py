"""Tests for monitor.replay.rerun.

Source: hand-worked here.
"""

from __future__ import annotations

from typing import Any

import pytest

from monitor.channels.plan import Measured
from monitor.errors import RecordError, StandError
from monitor.record.input_log import log_files
from monitor.record.log_reader import LogDamage, MissingSteps
from monitor.replay.rerun import Passage, Rerun, Restart, run_facts


def shape(items: list[Any]) -> list[object]:
    """Give items in short: steps of passages, whether heads were taken up, spans missing."""
    short: list[object] = []
    for item in items:
        if isinstance(item, Passage):
            steps = [frame.seq for frame in item.frames]
            short.append((steps, item.is_sure))
        elif isinstance(item, Restart):
            short.append(item.is_restored)
        elif isinstance(item, MissingSteps):
            short.append(f"{item.first} to {item.end}")
        elif isinstance(item, LogDamage):
            short.append(item.file)
    return short


def test_the_stand_is_loaded_as_of_the_day_of_the_run(lived: Any) -> None:
    facts = run_facts(lived.folder)

    measured = facts.stand.plan.channels.measured[0]
    assert isinstance(measured, Measured)
    # Its calibration has been overdue since a month after the run.
    assert not measured.is_calibration_overdue
    assert facts.stand.plan == lived.plan
    assert facts.started_ns == lived.pipeline.until_ns - 17 * 10**9


def test_steps_are_taken_together_up_to_a_bound(lived: Any) -> None:
    items = list(Rerun(run_facts(lived.folder), most_frames=7))

    assert shape(items) == [
        False,
        ([1, 2, 3, 4, 5, 6, 7], True),
        ([8, 9, 10, 11, 12, 13, 14], True),
        ([15, 16, 17], True),
    ]
    assert isinstance(items[1], Passage)
    assert items[1].step.until_ns == items[1].frames[-1].until_ns


def test_the_grid_of_a_passage_is_bounded_too(
    lived: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    columns = len(lived.plan.channels.column)
    # Two steps of four rows.
    monkeypatch.setattr("monitor.replay.rerun._MOST_CELLS", 8 * columns)

    passages = [item for item in Rerun(run_facts(lived.folder)) if isinstance(item, Passage)]

    assert [frame.seq for frame in passages[0].frames] == [1, 2, 3]
    assert [frame.seq for frame in passages[1].frames] == [4, 5]


def test_behind_a_gap_the_pipeline_is_not_sure_until_it_finds_a_state(bench: Any) -> None:
    bench.ramp([1, 2, 3])
    bench.writer.start_file(bench.pipeline.save())
    bench.ramp([4])
    bench.step((), (), is_recorded=False)
    bench.ramp([5])
    bench.writer.start_file(bench.pipeline.save())
    bench.ramp([6])
    bench.close()

    items = list(Rerun(run_facts(bench.folder)))

    assert shape(items) == [
        False,
        ([1, 2, 3, 4], True),
        False,
        ([5], True),
        "6 to 7",
        ([7], False),
        True,
        ([8, 9], True),
    ]


def test_without_its_first_file_a_run_begins_at_the_next_state(bench: Any) -> None:
    bench.ramp([1, 2, 12])
    bench.writer.start_file(bench.pipeline.save())
    bench.ramp([12])
    bench.close()
    log_files(bench.folder)[0].unlink()

    items = list(Rerun(run_facts(bench.folder)))

    assert shape(items) == ["1 to 5", True, ([5, 6], True)]
    # The alarm stood already: it is not raised again.
    assert isinstance(items[2], Passage)
    assert [event.kind for event in items[2].step.events] == ["run.closed"]


def test_damage_is_passed_on(lived: Any) -> None:
    path = log_files(lived.folder)[0]
    path.write_bytes(path.read_bytes() + b"rest")

    assert shape(list(Rerun(run_facts(lived.folder))))[1] == "input-001.log"


def test_a_log_without_a_head_cannot_be_replayed(lived: Any) -> None:
    path = log_files(lived.folder)[0]
    path.write_bytes(b"\0" + path.read_bytes()[1:])

    with pytest.raises(RecordError, match="no input log with an intact head"):
        run_facts(lived.folder)


def test_a_stand_file_that_cannot_be_used_is_told(lived: Any) -> None:
    (lived.folder / "stand.toml").write_text("[stand]\n", encoding="utf-8")

    with pytest.raises(StandError, match=r"stand\.toml"):
        run_facts(lived.folder)
