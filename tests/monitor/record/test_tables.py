"""Tests for monitor.record.tables.

Source: hand-worked here; read back with pyarrow.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pyarrow
import pyarrow.parquet
import pytest

from monitor.record.tables import SCHEMA, Samples, TableWriter
from monitor.samples import Quality

CHANNELS = [("PT-1", "bar"), ("TT-1", "degC")]


def samples(channel: int, *rows: tuple[int, float, float, int]) -> Samples:
    """Give rows of time, raw, value and quality."""
    t_ns, raw, value, quality = zip(*rows, strict=True)
    return Samples(
        channel,
        np.array(t_ns, np.int64),
        np.array(raw),
        np.array(value),
        np.array(quality, np.uint8),
    )


def read(path: Path) -> list[dict[str, object]]:
    """Give the rows of a file, times in ns."""
    table = pyarrow.parquet.read_table(path)
    assert table.schema.equals(SCHEMA)
    at = table.schema.get_field_index("time")
    times = table.column("time").cast(pyarrow.int64())
    rows = table.set_column(at, "time", times).to_pylist()
    return list(rows)


def test_raw_and_units_stand_side_by_side(tmp_path: Path) -> None:
    writer = TableWriter(tmp_path, CHANNELS)
    writer.add(samples(1, (5, 40.0, 20.0, Quality.GOOD), (6, 41.5, 20.75, Quality.FORCED)))
    writer.add(samples(0, (7, 3.1, np.nan, Quality.CURRENT_FAULT), (8, np.nan, np.nan, 0x83)))

    (path,) = writer.close()

    assert path == tmp_path / "samples-001.parquet"
    keys = ("time", "tag", "raw", "value", "unit", "quality", "late")
    assert [tuple(row[key] for key in keys) for row in read(path)] == [
        (5, "TT-1", 40.0, 20.0, "degC", "good", False),
        (6, "TT-1", 41.5, 20.75, "degC", "forced by hand", False),
        (7, "PT-1", 3.1, None, "bar", "loop current fault", False),
        (8, "PT-1", None, None, "bar", "stale", False),
    ]
    assert writer.rows == 4


def test_late_rows_are_marked(tmp_path: Path) -> None:
    writer = TableWriter(tmp_path, CHANNELS)
    late = Samples(
        0,
        np.array([1], np.int64),
        np.array([4.0]),
        np.array([np.nan]),
        np.array([0], np.uint8),
        np.array([True]),
    )
    writer.add(late)

    (row,) = read(writer.close()[0])

    assert (row["raw"], row["value"], row["quality"], row["late"]) == (4.0, None, None, True)


def test_times_are_utc_to_the_nanosecond(tmp_path: Path) -> None:
    writer = TableWriter(tmp_path, CHANNELS)
    writer.add(samples(0, (1_795_000_000_123_456_789, 1.0, 1.0, 0)))

    column = pyarrow.parquet.read_table(writer.close()[0]).column("time")

    assert str(column.type) == "timestamp[ns, tz=UTC]"
    assert column.cast(pyarrow.int64()).to_pylist() == [1_795_000_000_123_456_789]
    coarse = column.cast(pyarrow.timestamp("s", tz="UTC"), safe=False).to_pylist()
    assert coarse == [datetime(2026, 11, 18, 11, 6, 40, tzinfo=UTC)]


def test_counts_take_little_room(tmp_path: Path) -> None:
    writer = TableWriter(tmp_path, CHANNELS)
    counts = np.rint(np.random.default_rng(1).normal(30_000, 3, 100_000))
    t_ns = 1_795_000_000_000_000_000 + np.arange(100_000) * 10_000_000
    writer.add(Samples(0, t_ns, counts, counts * 0.5, np.zeros(100_000, np.uint8)))

    (path,) = writer.close()

    # Raw, value and time: without dictionaries and compression they would be 24.
    assert path.stat().st_size / 100_000 < 5


def test_long_runs_go_into_several_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("monitor.record.tables.FILE_ROWS", 3)
    monkeypatch.setattr("monitor.record.tables._GROUP_ROWS", 2)
    writer = TableWriter(tmp_path, CHANNELS)
    for number in range(7):
        writer.add(samples(0, (number, 1.0, 1.0, 0)))

    files = writer.close()

    assert [path.name for path in files] == ["samples-001.parquet", "samples-002.parquet"]
    assert [[row["time"] for row in read(path)] for path in files] == [[0, 1, 2, 3], [4, 5, 6]]


def test_new_tables_take_the_place_of_the_old_ones_only_when_they_are_whole(
    tmp_path: Path,
) -> None:
    for number in (1, 2):
        (tmp_path / f"samples-00{number}.parquet").write_bytes(b"old")
    first = TableWriter(tmp_path, CHANNELS)
    first.add(samples(0, (1, 1.0, 1.0, 0)))
    first._flush()
    first.abandon()
    kept = sorted(path.name for path in tmp_path.iterdir())
    second = TableWriter(tmp_path, CHANNELS)
    second.add(samples(0, (1, 1.0, 1.0, 0)))
    second.close()

    assert kept == ["samples-001.parquet", "samples-002.parquet"]
    assert [path.name for path in tmp_path.iterdir()] == ["samples-001.parquet"]
    assert len(read(tmp_path / "samples-001.parquet")) == 1


def test_no_samples_give_no_table(tmp_path: Path) -> None:
    writer = TableWriter(tmp_path, CHANNELS)
    nothing = np.zeros(0)
    writer.add(Samples(0, np.zeros(0, np.int64), nothing, nothing, np.zeros(0, np.uint8)))

    assert writer.close() == []
    assert list(tmp_path.iterdir()) == []
