"""Tests for monitor.engine.opening.

Source: hand-worked here.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from drivers.reading import Block
from monitor.channels.plan import ChannelsPlan, Linear, Measured
from monitor.engine import opening as module
from monitor.engine.gate import HANDOVER_NS
from monitor.engine.opening import OpenRun, open_run
from monitor.events import Action, Control, HostEvent
from monitor.record.frame import Frame
from monitor.samples import Admitted
from monitor.stand.model import Stand
from tests.monitor.engine.bench_stand import SECOND_NS, stand

STAND = stand(lag_s=0.5)


@pytest.fixture
def runs(tmp_path: Path) -> Iterator[list[OpenRun]]:
    """Give a list of runs that are given back after the test."""
    opened: list[OpenRun] = []
    yield opened
    for run in opened:
        run.writer.abandon()


def lived(run: OpenRun, value: float, what: Action | HostEvent) -> None:
    """Write one frame, as the heart would, and die."""
    t_ns = run.pipeline.until_ns + SECOND_NS
    block = Block("panel", ("a", "b"), np.array([t_ns]), np.array([[value, value]]))
    controls = (Control(t_ns - 1, run.writer.control_seq + 1, what),)
    step = run.pipeline.step([Admitted(block)], controls, t_ns)
    frame = Frame(run.writer.next_seq, t_ns, (Admitted(block),), controls, 0, "")
    run.writer.write([frame], step.events)
    run.writer.abandon()


def test_a_new_run_begins_now_with_everything_at_its_start(
    tmp_path: Path, runs: list[OpenRun]
) -> None:
    before_ns = time.time_ns()
    run = open_run(STAND, tmp_path, 1.0, may_resume=True)
    runs.append(run)

    assert before_ns <= run.started_ns <= time.time_ns()
    assert run.pipeline.until_ns == run.gate.until_ns == run.started_ns
    assert [event.what for event in run.first] == ["run_started"]
    assert run.older == ()
    assert (run.writer.next_seq, run.collector.frames) == (1, 0)
    assert (run.writer.folder / "stand.toml").read_text() == STAND.text


def test_an_open_run_is_gone_on_with(tmp_path: Path, runs: list[OpenRun]) -> None:
    first = open_run(STAND, tmp_path, 1.0, may_resume=True)
    lived(first, 60.0, Action("enter_phase", "climb", "K"))

    run = open_run(STAND, tmp_path, 1.0, may_resume=True)
    runs.append(run)

    assert run.writer.folder == first.writer.folder
    assert run.pipeline.save() == first.pipeline.save()
    assert run.gate.until_ns == first.pipeline.until_ns
    assert run.clock.now_ns() > first.pipeline.until_ns
    assert run.started_ns == first.started_ns
    assert run.collector.frames == 1
    assert run.gate.control(HostEvent("run_resumed"), 0).seq == first.writer.control_seq + 1
    snapshot = run.board.snapshot()
    assert snapshot.phase.name == "climb"
    assert [event.kind for event in snapshot.events][:1] == ["phase.entered"]
    assert run.board.history.answer(0, 0, 2**62, 10)[1].tolist() == [60.0]


def test_the_gap_is_stated(tmp_path: Path, runs: list[OpenRun]) -> None:
    first = open_run(STAND, tmp_path, 1.0, may_resume=True)
    lived(first, 60.0, HostEvent("run_started"))

    run = open_run(STAND, tmp_path, 1.0, may_resume=True)
    runs.append(run)

    (resumed,) = run.first
    assert resumed.what == "run_resumed"
    assert resumed.numbers == {"gap_ns": run.clock.anchor_ns - first.pipeline.until_ns}


def test_events_that_the_kill_kept_from_the_journal_are_written(
    tmp_path: Path, runs: list[OpenRun]
) -> None:
    first = open_run(STAND, tmp_path, 1.0, may_resume=True)
    lived(first, 60.0, Action("enter_phase", "climb", "K"))
    journal = first.writer.folder / "journal.jsonl"
    lines = journal.read_bytes().splitlines(keepends=True)
    journal.write_bytes(b"".join(lines[:-1]))

    runs.append(open_run(STAND, tmp_path, 1.0, may_resume=True))

    assert journal.read_bytes().splitlines(keepends=True) == lines


def test_a_journal_ahead_of_the_log_is_stated(
    tmp_path: Path, runs: list[OpenRun], caplog: pytest.LogCaptureFixture
) -> None:
    first = open_run(STAND, tmp_path, 1.0, may_resume=True)
    lived(first, 60.0, Action("enter_phase", "climb", "K"))
    log = first.writer.folder / "input-001.log"
    log.write_bytes(log.read_bytes()[:-3])

    run = open_run(STAND, tmp_path, 1.0, may_resume=True)
    runs.append(run)

    assert run.first[0].numbers["journal_lines_ahead"] > 0
    assert "input-001.log" in run.first[0].detail
    assert "never finished" in caplog.text


def test_a_run_that_died_with_a_full_disk_says_that_it_is_recorded_again(
    tmp_path: Path, runs: list[OpenRun]
) -> None:
    first = open_run(STAND, tmp_path, 1.0, may_resume=True)
    lived(first, 10.0, HostEvent("recording_stopped", "disk full"))

    run = open_run(STAND, tmp_path, 1.0, may_resume=True)
    runs.append(run)

    assert [event.what for event in run.first] == ["run_resumed", "recording_resumed"]


def test_a_new_run_is_begun_when_the_old_one_is_not_wanted(
    tmp_path: Path, runs: list[OpenRun]
) -> None:
    first = open_run(STAND, tmp_path, 1.0, may_resume=True)
    lived(first, 10.0, HostEvent("run_started"))

    run = open_run(STAND, tmp_path, 1.0, may_resume=False)
    runs.append(run)

    assert run.writer.folder != first.writer.folder


@pytest.mark.expects_warnings
@pytest.mark.parametrize(
    ("text", "may_resume", "why"),
    [
        (STAND.text, False, "it was not wanted"),
        (STAND.text + "# mended", True, "the stand file was changed since"),
    ],
)
def test_a_run_that_is_left_open_is_named_where_the_next_one_begins(
    tmp_path: Path, runs: list[OpenRun], text: str, may_resume: bool, why: str
) -> None:
    first = open_run(STAND, tmp_path, 1.0, may_resume=True)
    lived(first, 10.0, HostEvent("run_started"))

    run = open_run(replace(STAND, text=text), tmp_path, 1.0, may_resume=may_resume)
    runs.append(run)

    name = first.writer.folder.name
    told = f"{STAND.title}; {name} was not closed and is not gone on with: {why}"
    assert run.first == (HostEvent("run_started", told),)


def test_the_clock_of_a_run_from_the_future_goes_on_behind_it(
    tmp_path: Path, runs: list[OpenRun]
) -> None:
    first = open_run(STAND, tmp_path, 1.0, may_resume=True)
    # As after a clock step: what is recorded lies an hour ahead of the wall clock.
    first.pipeline.step([], [], first.started_ns + 3_600 * SECOND_NS)
    lived(first, 10.0, HostEvent("run_started"))

    run = open_run(STAND, tmp_path, 1.0, may_resume=True)
    runs.append(run)

    assert run.clock.now_ns() > first.pipeline.until_ns


def test_at_speed_the_way_over_the_wire_counts_as_often(
    tmp_path: Path, runs: list[OpenRun]
) -> None:
    slow = open_run(STAND, tmp_path / "a", 1.0, may_resume=True)
    fast = open_run(STAND, tmp_path / "b", 20.0, may_resume=True)
    runs += [slow, fast]

    assert slow.board.snapshot().stand.lag_s == pytest.approx(0.5)
    assert fast.board.snapshot().stand.lag_s == pytest.approx(0.5 + 19 * HANDOVER_NS / 1e9)


def test_a_restart_after_midnight_keeps_the_calibrations_of_the_first_day(
    tmp_path: Path, runs: list[OpenRun], monkeypatch: pytest.MonkeyPatch
) -> None:
    first = open_run(STAND, tmp_path, 1.0, may_resume=True)
    lived(first, 10.0, HostEvent("run_started"))
    overdue = replace(STAND, plan=replace(STAND.plan, channels=_overdue()))
    loaded: list[date | None] = []

    def load(path: Path, kinds: object, overrides: object, today: date) -> Stand:
        loaded.append(today)
        return STAND

    today = datetime.fromtimestamp(first.started_ns / SECOND_NS, UTC).date()
    monkeypatch.setattr(module, "_today", lambda: today + timedelta(days=1))
    monkeypatch.setattr(module, "load_stand", load)
    run = open_run(overdue, tmp_path, 1.0, may_resume=True)
    runs.append(run)

    assert loaded == [today]
    assert run.pipeline.plan == STAND.plan


def _overdue() -> ChannelsPlan:
    measured = (
        Measured("PT-1", "panel", "a", Linear(), SECOND_NS, is_calibration_overdue=True),
        *STAND.plan.channels.measured[1:],
    )
    return ChannelsPlan(measured, STAND.plan.channels.system)
