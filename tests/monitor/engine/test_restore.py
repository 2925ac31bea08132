"""Tests for monitor.engine.restore.

Source: hand-worked here; what is restored is compared, byte for byte, with the pipeline that
wrote the log and was killed.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from drivers.reading import Block
from monitor.engine import restore as module
from monitor.engine.restore import Restorer, run_to_go_on_with
from monitor.events import Action, Control, Event, HostEvent, LinkChange
from monitor.pipeline import Pipeline
from monitor.record.frame import Frame
from monitor.record.input_log import log_files
from monitor.record.writer import RunStart, RunWriter
from monitor.samples import Admitted
from tests.monitor.engine.bench_stand import SECOND_NS, stand

STAND = stand(on_delay_s=0.5)
START_NS = 1_000 * SECOND_NS


class Killed:
    """An engine without loop and clock: it writes a frame of one second at a time."""

    def __init__(self, run_dir: Path) -> None:
        self.pipeline = Pipeline(STAND.plan, START_NS)
        start = RunStart(STAND.name, STAND.text, START_NS, self.pipeline.save())
        self.writer = RunWriter.create(run_dir, start)
        self.folder = self.writer.folder
        self.events: list[Event] = []
        self.seconds = 0
        self.seq = 0

    def second(
        self,
        value: float,
        *whats: Action | LinkChange | HostEvent,
        writes_frame: bool = True,
        writes_events: bool = True,
    ) -> tuple[Event, ...]:
        """Live through one second at 10 Hz; write what a kill lets it write."""
        begin_ns = START_NS + self.seconds * SECOND_NS
        self.seconds += 1
        t_ns = begin_ns + np.arange(1, 11, dtype=np.int64) * (SECOND_NS // 10)
        values = np.full((10, 2), value)
        controls = tuple(
            Control(begin_ns + 5 + n, self._next_seq(), what) for n, what in enumerate(whats)
        )
        admitted = (Admitted(Block("panel", ("a", "b"), t_ns, values)),)
        step = self.pipeline.step(admitted, controls, begin_ns + SECOND_NS)
        frame = Frame(self.seconds, step.until_ns, admitted, controls, 0, "")
        self.events += step.events
        frames = [frame] if writes_frame else []
        self.writer.write(frames, step.events if writes_events else ())
        return step.events

    def _next_seq(self) -> int:
        self.seq += 1
        return self.seq

    def restored(self) -> Restorer:
        """Die; give a restorer that has run to its end."""
        self.writer.abandon()
        restorer = Restorer(self.folder, STAND.plan)
        self.seen = [event for step in restorer.steps() for event in step.events]
        return restorer


@pytest.fixture
def killed(tmp_path: Path) -> Killed:
    made = Killed(tmp_path)
    made.second(10.0, HostEvent("run_started"), LinkChange("panel", True, "opened"))
    made.second(60.0, Action("enter_phase", "climb", "K"))
    made.second(90.0, Action("acknowledge", "*", "K"))
    return made


def test_the_pipeline_is_as_it_was(killed: Killed) -> None:
    run = killed.restored().run

    assert run.pipeline.save() == killed.pipeline.save()
    assert (run.started_ns, run.until_ns) == (START_NS, START_NS + 3 * SECOND_NS)
    assert (run.unwritten, run.lines_ahead, run.problems) == ([], 0, [])


def test_joining_frames_changes_nothing(
    killed: Killed, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "_FRAMES", 1)
    run = killed.restored().run

    assert run.pipeline.save() == killed.pipeline.save()
    assert killed.seen == killed.events


def test_it_starts_from_the_newest_state_and_shows_the_events_before_it(
    killed: Killed,
) -> None:
    killed.writer.start_file(killed.pipeline.save())
    before = len(killed.events)
    killed.second(20.0, Action("note", "", "K", "after the state"))
    killed.second(95.0)

    restorer = killed.restored()

    assert restorer.run.pipeline.save() == killed.pipeline.save()
    assert restorer.run.shown == killed.events[:before]
    assert killed.seen == killed.events[before:]
    assert [path.name for path in restorer.older] == ["input-001.log"]
    assert restorer.run.started_ns == START_NS


def test_events_that_a_kill_kept_from_the_journal_are_found(killed: Killed) -> None:
    lost = killed.second(10.0, Action("note", "", "K", "last words"), writes_events=False)

    run = killed.restored().run

    assert len(lost) >= 2
    assert tuple(run.unwritten) == lost


def test_events_lost_behind_a_state_are_found_too(killed: Killed) -> None:
    killed.writer.start_file(killed.pipeline.save())
    killed.second(95.0)
    lost = killed.second(10.0, Action("note", "", "K", "last words"), writes_events=False)

    assert tuple(killed.restored().run.unwritten) == lost


def test_a_journal_ahead_of_the_log_is_told(killed: Killed) -> None:
    ahead = killed.second(10.0, Action("note", "", "K", "only here"), writes_frame=False)

    run = killed.restored().run

    assert run.lines_ahead == len(ahead) > 0
    assert run.unwritten == []


def test_a_state_that_is_ahead_of_the_journal_is_not_started_from(killed: Killed) -> None:
    killed.second(10.0, Action("note", "", "K", "lost"))
    killed.writer.start_file(killed.pipeline.save())
    killed.second(20.0)
    killed.writer.abandon()
    journal = killed.folder / "journal.jsonl"
    lines = journal.read_bytes().splitlines(keepends=True)
    journal.write_bytes(b"".join(lines[:-2]))

    restorer = killed.restored()

    assert restorer.older == []
    assert restorer.run.unwritten == killed.events[-2:]
    assert restorer.run.pipeline.save() == killed.pipeline.save()


def test_a_missing_journal_is_made_again_from_the_log(killed: Killed) -> None:
    killed.writer.abandon()
    (killed.folder / "journal.jsonl").unlink()

    assert killed.restored().run.unwritten == killed.events


def test_steps_that_were_lost_are_made_good_by_the_next_state(killed: Killed) -> None:
    killed.second(99.0, Action("enter_phase", "ground", "K"), writes_frame=False)
    killed.second(30.0)
    killed.writer.start_file(killed.pipeline.save())
    killed.second(40.0)
    killed.writer.abandon()
    # Without its state the last file cannot be started from: the first one is read, too.
    monkey = pytest.MonkeyPatch()
    with monkey.context() as patch:
        patch.setattr(module, "_first_to_read", lambda *_: 0)
        run = killed.restored().run

    assert run.problems == ["steps 4 to 4 are missing"]
    assert run.pipeline.phase == "ground"
    assert run.unwritten == []
    assert run.pipeline.save() == killed.pipeline.save()


def test_many_small_frames_are_one_step(killed: Killed) -> None:
    killed.restored()
    whole = len(list(Restorer(killed.folder, STAND.plan).steps()))
    monkey = pytest.MonkeyPatch()
    with monkey.context() as patch:
        patch.setattr(module, "_FRAMES", 2)
        halved = len(list(Restorer(killed.folder, STAND.plan).steps()))
    files = log_files(killed.folder)
    by_cells = len(list(module.Replay(killed.folder, STAND.plan, files, cells=20).steps()))

    assert (whole, halved, by_cells) == (1, 2, 3)


def test_damage_is_told(killed: Killed) -> None:
    killed.writer.abandon()
    path = log_files(killed.folder)[0]
    path.write_bytes(path.read_bytes()[:-5])

    run = killed.restored().run

    assert len(run.problems) == 1
    assert "input-001.log" in run.problems[0]
    assert run.until_ns == START_NS + 2 * SECOND_NS


def test_a_damaged_head_does_not_hide_the_steps(killed: Killed) -> None:
    killed.writer.abandon()
    path = log_files(killed.folder)[0]
    data = bytearray(path.read_bytes())
    data[30] ^= 0xFF
    path.write_bytes(bytes(data))

    restorer = Restorer(killed.folder, STAND.plan)

    assert len(list(restorer.steps())) >= 1
    assert len(restorer.run.problems) >= 1


def test_a_broken_line_of_the_journal_is_left_out(killed: Killed) -> None:
    killed.writer.start_file(killed.pipeline.save())
    killed.writer.abandon()
    journal = killed.folder / "journal.jsonl"
    lines = journal.read_bytes().splitlines()
    journal.write_bytes(b"\n".join([lines[0], b"rubbish", *lines[2:]]) + b"\n")

    shown = killed.restored().run.shown

    assert shown == [killed.events[0], *killed.events[2:]]


def test_an_open_run_of_the_same_stand_file_is_found(killed: Killed, tmp_path: Path) -> None:
    killed.writer.abandon()

    assert run_to_go_on_with(tmp_path, STAND.name, STAND.text) == killed.folder


@pytest.mark.parametrize(
    ("name", "text"), [("other", STAND.text), (STAND.name, STAND.text + "# edited\n")]
)
def test_a_run_of_another_stand_or_file_is_not(
    killed: Killed, tmp_path: Path, name: str, text: str
) -> None:
    killed.writer.abandon()

    assert run_to_go_on_with(tmp_path, name, text) is None


def test_a_run_that_is_being_written_or_was_closed_is_not(
    killed: Killed, tmp_path: Path
) -> None:
    assert run_to_go_on_with(tmp_path, STAND.name, STAND.text) is None

    killed.writer.close({"closed": True})

    assert run_to_go_on_with(tmp_path, STAND.name, STAND.text) is None


def test_only_the_newest_run_of_the_stand_counts(killed: Killed, tmp_path: Path) -> None:
    killed.writer.abandon()
    start = RunStart(STAND.name, STAND.text, START_NS + 60 * SECOND_NS, b"")
    newer = RunWriter.create(tmp_path, start)
    newer.close({"closed": True})
    (tmp_path / "run-9999-empty").mkdir()

    assert run_to_go_on_with(tmp_path, STAND.name, STAND.text) is None


def test_a_folder_without_runs_or_none_at_all_has_none(tmp_path: Path) -> None:
    assert run_to_go_on_with(tmp_path, STAND.name, STAND.text) is None
    assert run_to_go_on_with(tmp_path / "not there", STAND.name, STAND.text) is None
