"""Tests for monitor.rehearse.run.

Source: hand-worked here. A second of the bench has four rows at 0.2, 0.4, 0.6 and 0.8 s; its
high limit has setpoint 10 and deadband 1, and no delay.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from monitor.errors import RecordError, StandError
from monitor.events import Action, LinkChange
from monitor.record.input_log import log_files
from monitor.rehearse.compare import Change, Only
from monitor.rehearse.run import RunOutcome, case_of, end_of, rehearse

S = 1_000_000_000


def found(outcome: RunOutcome) -> list[tuple[str, Change, float]]:
    """Give each alarm that differs: its limit, what became of it, by how many seconds."""
    return [
        (row.limit, one.change, one.shift_ns / S)
        for row in outcome.limits
        for one in row.differences
        if one.differs
    ]


def close(bench: Any) -> Path:
    """End a run; give its folder."""
    bench.close()
    folder: Path = bench.folder
    return folder


def test_with_its_own_stand_nothing_differs(bench: Any, new_stand: Any) -> None:
    bench.ramp([1, 12, 3, 12, 12])
    bench.say(LinkChange("panel", is_up=False, why="unplugged", cure="plug it in"))
    bench.say()
    bench.say(LinkChange("panel", is_up=True, why="it answers"))
    bench.say(Action("enter_phase", "climb", "A. Roe", "go"))
    bench.say(Action("shelve", "PT-1.stale", "A. Roe"))
    bench.ramp([14, 5])

    outcome = rehearse(case_of(close(bench), new_stand()))

    assert not outcome.differs
    assert outcome.notes == ()
    assert outcome.changes == {}
    assert sum(len(row.differences) for row in outcome.limits) >= 3


def test_a_lower_setpoint_comes_earlier(bench: Any, new_stand: Any) -> None:
    # 9.5 is beyond 9 and not beyond 10; 12 comes 2 s after it.
    bench.ramp([1, 9.5, 9.5, 12, 1])

    outcome = rehearse(case_of(close(bench), new_stand(("setpoint = 10", "setpoint = 9"))))

    assert found(outcome) == [("PT-1.high", Change.EARLIER, -2.0)]
    assert outcome.changes == {"PT-1.high": ("setpoint 10 → 9",)}


def test_a_higher_setpoint_loses_the_alarm(bench: Any, new_stand: Any) -> None:
    bench.ramp([1, 12, 1])

    outcome = rehearse(case_of(close(bench), new_stand(("setpoint = 10", "setpoint = 13"))))

    assert found(outcome) == [("PT-1.high", Change.LOST, 0.0)]


def test_what_is_suppressed_in_a_phase_now_is_told(bench: Any, new_stand: Any) -> None:
    bench.say(Action("enter_phase", "climb", "A. Roe", "go"))
    bench.ramp([12, 1])
    new = new_stand(('priority = "high"', 'priority = "high"\nsuppressed_in = ["climb"]'))

    outcome = rehearse(case_of(close(bench), new))

    (row,) = (row for row in outcome.limits if row.differs)
    assert [one.is_hidden_now for one in row.differences] == [True]


def test_limits_of_one_stand_only_are_told(bench: Any, new_stand: Any) -> None:
    bench.ramp([1, 12, 1])
    new = new_stand(("[channels.PT-1.limits.high]", "[channels.PT-1.limits.high_high]"))

    outcome = rehearse(case_of(close(bench), new))

    assert [(row.limit, row.only) for row in outcome.limits if row.differs] == [
        ("PT-1.high_high", Only.NEW),
        ("PT-1.high", Only.OLD),
    ]


def test_an_act_on_an_alarm_that_is_no_more_is_refused_and_told(
    bench: Any, new_stand: Any
) -> None:
    bench.ramp([12])
    for _ in range(2):
        bench.say(Action("acknowledge", "PT-1.high", "A. Roe"))
    new = new_stand(("[channels.PT-1.limits.high]", "[channels.PT-1.limits.high_high]"))

    outcome = rehearse(case_of(close(bench), new))

    assert [note for note in outcome.notes if "refused" in note] == [
        "refused 2 times: acknowledge PT-1.high: no alarm 'PT-1.high' on this stand"
    ]


def test_a_phase_that_is_no_more_is_told(bench: Any, new_stand: Any) -> None:
    bench.say(Action("enter_phase", "climb", "A. Roe", "go"))
    new = new_stand(('name = "climb"', 'name = "rise"'))

    outcome = rehearse(case_of(close(bench), new))

    assert outcome.notes == (
        "has no phase 'climb'",
        "is not entered: phase 'climb' at 12:00:02 UTC",
        "refused: enter_phase climb: no phase 'climb' on this stand",
    )


def test_of_many_refusals_the_first_are_told_and_the_rest_counted(
    bench: Any, new_stand: Any
) -> None:
    acts = [Action("shelve", "PT-1.high", "A. Roe", "x", seconds=60 + n) for n in range(2)]
    verbs = ("reset", "unshelve", "out_of_service", "return_to_service", "acknowledge")
    for n in range(12):
        bench.say(Action("enter_phase", "climb" if n % 2 else "ground", "A. Roe", "go"))
    bench.say(*acts, *(Action(verb, "PT-1.high", "A. Roe", "x") for verb in verbs))
    new = new_stand(('name = "climb"', 'name = "rise"'), ('name = "ground"', 'name = "rest"'))

    notes = rehearse(case_of(close(bench), new)).notes

    assert sum(note.startswith("is not entered") for note in notes) == 10
    assert "and 2 more of that kind" in notes


def test_a_refusal_that_the_run_had_too_is_not_told(bench: Any, new_stand: Any) -> None:
    bench.say(Action("enter_phase", "nowhere", "A. Roe", "go"))

    assert rehearse(case_of(close(bench), new_stand())).notes == ()


def test_an_edit_in_the_run_is_told_because_it_counts_under_both(
    bench: Any, new_stand: Any
) -> None:
    bench.say(Action("edit_limit", "PT-1.high", "A. Roe", "drift", changes={"setpoint": 13.0}))
    bench.ramp([12, 1])

    outcome = rehearse(case_of(close(bench), new_stand(("setpoint = 10", "setpoint = 11"))))

    assert outcome.notes == (
        "PT-1.high was edited in the run: from then on the edit counts under the new stand too",
    )
    assert not outcome.differs


def test_another_first_phase_is_told(bench: Any, new_stand: Any) -> None:
    new = new_stand(('[[phases]]\nname = "ground"', '[[phases]]\nname = "rest"'))

    assert rehearse(case_of(close(bench), new)).notes == (
        "begins in phase 'rest', and began in 'ground'",
        "has no phase 'ground'",
    )


def test_what_is_missing_in_the_log_is_told_and_no_saved_state_is_taken(
    bench: Any, new_stand: Any
) -> None:
    bench.ramp([1, 2])
    bench.step((bench.block(16),), is_recorded=False)
    # The state behind the gap knows of the alarm; the readings do not show it.
    bench.writer.start_file(bench.pipeline.save())
    bench.ramp([9.5, 9.5])

    outcome = rehearse(case_of(close(bench), new_stand()))

    assert outcome.notes == (
        "in the log: steps 4 to 4 are in no file; what came in them is lost to both",
    )
    assert all(not row.differences for row in outcome.limits)


def test_damage_of_the_log_is_told(bench: Any, new_stand: Any) -> None:
    bench.ramp([1])
    folder = close(bench)
    path = log_files(folder)[0]
    path.write_bytes(path.read_bytes() + b"rest")

    (note,) = rehearse(case_of(folder, new_stand())).notes

    assert note.startswith("in the log: input-001.log: 4 bytes from byte")


def test_late_readings_stay_out_as_in_the_run(bench: Any, new_stand: Any) -> None:
    bench.ramp([1, 1])
    late = bench.block(16)
    bench.ramp([1])
    bench.step((type(late)(late.block, late.block.t_ns > 0),))

    outcome = rehearse(case_of(close(bench), new_stand()))

    (high,) = (row for row in outcome.limits if row.limit == "PT-1.high")
    assert high.differences == ()


def test_a_signal_that_was_not_recorded_is_refused_with_its_place(
    bench: Any, new_stand: Any
) -> None:
    new = new_stand(
        ('fields = ["ma", "counts"]', 'fields = ["ma", "counts", "mas"]'),
        ('"panel.counts"', '"panel.mas"'),
    )
    folder = close(bench)

    with pytest.raises(StandError) as caught:
        case_of(folder, new)

    (problem,) = caught.value.problems
    assert problem.key == "channels.TT-1.source"
    assert new.read_text().splitlines()[problem.line - 1] == 'source = "panel.mas"'
    assert (
        problem.text
        == f"'panel.mas' was not recorded in {folder.name}; did you mean 'panel.ma'?"
    )


def test_a_calibration_is_judged_as_of_the_day_of_the_run(bench: Any, new_stand: Any) -> None:
    # It was due a month after the run; by now it is long overdue, which would mark events.
    bench.ramp([12, 1])

    assert rehearse(case_of(close(bench), new_stand())).differs is False


def test_the_listener_hears_how_far_it_is_and_the_watcher_sees_each_step(
    bench: Any, new_stand: Any
) -> None:
    bench.ramp([1, 2, 3])
    heard: list[int] = []
    seen: list[int] = []

    outcome = rehearse(
        case_of(close(bench), new_stand()),
        heard.append,
        lambda step: seen.append(step.until_ns),
    )

    assert heard == seen == [outcome.ended_ns]


def test_a_folder_without_a_log_is_no_run(tmp_path: Path, new_stand: Any) -> None:
    with pytest.raises(RecordError):
        case_of(tmp_path, new_stand())


def test_the_end_of_a_run_is_that_of_its_journal(bench: Any, tmp_path: Path) -> None:
    bench.ramp([1, 2])
    folder = close(bench)

    assert end_of(folder) == bench.pipeline.until_ns
    assert end_of(tmp_path) is None
    (folder / "journal.jsonl").write_bytes(b"no line\n")
    assert end_of(folder) is None
