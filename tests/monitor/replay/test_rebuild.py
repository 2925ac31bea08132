"""Tests for monitor.replay.rebuild.

Source: hand-worked here: pressure in bar is the current in mA less 4, temperature half the
counts, and the computed channel twice the pressure.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow
import pyarrow.parquet
import pytest

from drivers.reading import Block
from monitor.errors import RecordError
from monitor.events import HostEvent
from monitor.record.run_folder import run_state
from monitor.replay.rebuild import rebuild
from monitor.samples import Admitted

S = 1_000_000_000


def rows_of(folder: Path, tag: str) -> list[tuple[Any, ...]]:
    """Give time in ns from the start, raw, value, quality and late of a channel's rows."""
    table = pyarrow.parquet.read_table(folder / "samples-001.parquet")
    started_ns = json.loads((folder / "summary.json").read_text())["started_ns"]
    times = table.column("time").cast(pyarrow.int64()).to_pylist()
    rest = [table.column(name).to_pylist() for name in ("raw", "value", "quality", "late")]
    tags = table.column("tag").to_pylist()
    rows = zip(times, *rest, strict=True)
    return [
        (row[0] - started_ns, *row[1:]) for row, t in zip(rows, tags, strict=True) if t == tag
    ]


def summary_of(folder: Path) -> dict[str, Any]:
    """Read a summary."""
    return dict(json.loads((folder / "summary.json").read_text(encoding="utf-8")))


def test_tables_hold_raw_and_units_of_measured_and_computed_channels(bench: Any) -> None:
    bench.ramp([2])
    bench.close()

    rebuild(bench.folder)

    ms = [1200, 1400, 1600, 1800]
    assert rows_of(bench.folder, "PT-1") == [
        (t * 1_000_000, 6.0, 2.0, "good", False) for t in ms
    ]
    assert rows_of(bench.folder, "TT-1") == [
        (t * 1_000_000, 1.0, 0.5, "good", False) for t in (1200, 1400, 1800)
    ]
    assert rows_of(bench.folder, "PY-1") == [
        (t * 1_000_000, None, 4.0, "good", False) for t in ms
    ]


def test_bad_and_late_readings_are_in_the_tables_as_what_they_are(bench: Any) -> None:
    start_ns = bench.pipeline.until_ns

    def reading(t_ns: int, ma: float, late: bool) -> Admitted:
        block = Block("panel", ("ma",), np.array([t_ns]), np.array([[ma]]))
        return Admitted(block, np.array([True]) if late else None)

    bench.step([reading(start_ns + 5, 3.0, late=False)])
    bench.step([reading(start_ns + 7, 5.0, late=True)])
    bench.close()

    rebuild(bench.folder)

    rows = rows_of(bench.folder, "PT-1")
    assert rows[0] == (S + 5, 3.0, None, "loop current fault", False)
    assert (S + 7, 5.0, None, None, True) in rows
    assert summary_of(bench.folder)["late_rows"] == 1


def test_the_summary_says_what_the_run_came_to(lived: Any) -> None:
    result = rebuild(lived.folder)

    got = summary_of(lived.folder)
    assert (got["closed"], got["stand"], got["title"]) == (True, "bench", "Leak bench")
    assert got["started"] == "2020-05-01T12:00:00.000000000Z"
    assert got["ended"] == "2020-05-01T12:00:17.000000000Z"
    assert (got["lasted_s"], got["steps"], got["rows"]) == (17.0, 17, 8 * 4)
    assert (got["late_rows"], got["dropped_rows"], got["gaps"]) == (0, 0, [])
    assert got["journal"] == {
        "lines": 20,
        "head": result.journal.head,
        "intact": True,
        "replay": "equal",
    }
    assert [(row["name"], row["lasted_s"]) for row in got["phases"]] == [
        ("ground", 6.0),
        ("climb", 10.0),
    ]
    assert got["alarms"]["PT-1.high"] == {"raised": 2, "active_s": 2.0 + 1.0}
    assert got["alarms"]["PT-1.stale"]["raised"] == 1
    assert got["tables"] == ["samples-001.parquet"]


def test_the_summary_counts_each_channel(lived: Any) -> None:
    rebuild(lived.folder)

    pressure = summary_of(lived.folder)["channels"]["PT-1"]
    # 8 steps of readings at 1, 2, 12, 12, 3, 4, 14 and 5 bar, four rows each.
    assert (pressure["unit"], pressure["good"]) == ("bar", 32)
    assert (pressure["min"], pressure["max"], pressure["mean"]) == (1.0, 14.0, 53 / 8)
    # Until the first reading at 1.2 s, and from the lost link at 9 s to the reading at 14.2 s.
    assert pressure["bad_s"] == pytest.approx(1.2 + 5.2)


def test_the_summary_has_the_alarm_figures_of_the_run(lived: Any) -> None:
    rebuild(lived.folder)

    got = summary_of(lived.folder)["alarm_figures"]
    # High twice; stale once; the lost link, and what it makes of the sensors, as journalled.
    lines = (lived.folder / "journal.jsonl").read_text(encoding="utf-8").splitlines()
    shown = [
        line for line in lines if '"alarm.raised"' in line and '"is_annunciated":true' in line
    ]
    assert got["load"]["activations"] == len(shown)
    assert {"subject": "PT-1.high", "count": 2} in got["frequent"]["ten"]
    assert (got["lasted_ns"], got["load"]["bins"]) == (17 * S, 1)


def test_tables_and_summary_are_the_same_each_time(lived: Any) -> None:
    rebuild(lived.folder)
    first = {path.name: path.read_bytes() for path in lived.folder.iterdir()}

    rebuild(lived.folder)

    assert {path.name: path.read_bytes() for path in lived.folder.iterdir()} == first


def test_a_run_that_was_not_closed_stays_open(bench: Any) -> None:
    bench.ramp([1])
    bench.writer.abandon()

    rebuild(bench.folder)

    assert summary_of(bench.folder)["closed"] is False
    assert run_state(bench.folder) == "open"


def test_drops_stops_and_gaps_are_in_the_summary(bench: Any) -> None:
    bench.say(HostEvent("readings_dropped", "", {"rows": 7}))
    bench.say(HostEvent("recording_stopped", "disk full"))
    bench.step((), (), is_recorded=False)
    bench.ramp([1])
    bench.close()

    rebuild(bench.folder)

    got = summary_of(bench.folder)
    assert (got["dropped_rows"], got["recording_stops"]) == (7, 1)
    assert got["gaps"] == ["steps 4 to 4 are in no file"]
    assert got["journal"]["replay"] == "gaps"


def test_a_journal_that_differs_does_not_keep_the_tables_from_being_made(
    bench: Any, lines: Any
) -> None:
    bench.ramp([1])
    bench.writer.start_file(bench.pipeline.save())
    bench.ramp([2])
    bench.close()
    whole = lines(bench.folder)
    (bench.folder / "journal.jsonl").write_bytes(b"".join([whole[0], b"{}\n", *whole[2:]]))

    result = rebuild(bench.folder)

    assert (result.verdict, result.line) == ("differs", 2)
    got = summary_of(bench.folder)
    assert (got["journal"]["replay"], got["journal"]["intact"]) == ("differs", False)
    assert got["channels"]["PT-1"]["good"] == 8


def test_a_run_that_is_being_recorded_is_left_alone(bench: Any) -> None:
    with pytest.raises(RecordError, match="is being recorded"):
        rebuild(bench.folder)
    bench.writer.abandon()


def test_what_fails_halfway_leaves_no_drafts(
    lived: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    rebuild(lived.folder)
    before = sorted(path.name for path in lived.folder.iterdir())

    def fail(self: object, until_ns: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("monitor.record.tables._GROUP_ROWS", 1)
    monkeypatch.setattr("monitor.replay.raw.RawRows.forget", fail)
    with pytest.raises(OSError, match="No space"):
        rebuild(lived.folder)

    assert sorted(path.name for path in lived.folder.iterdir()) == before
