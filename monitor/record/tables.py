"""Samples as Parquet tables that any analysis program opens: raw and units side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyarrow
import pyarrow.parquet

from monitor.samples import QUALITY_TEXT, Bytes, Flags, Floats, Ints

#: Rows after which a new file begins.
FILE_ROWS = 20_000_000
#: Rows that are written together.
_GROUP_ROWS = 500_000

_DICTIONARY = pyarrow.dictionary(pyarrow.int32(), pyarrow.string())
SCHEMA = pyarrow.schema(
    [
        ("time", pyarrow.timestamp("ns", tz="UTC")),
        ("tag", _DICTIONARY),
        ("raw", pyarrow.float64()),
        ("value", pyarrow.float64()),
        ("unit", _DICTIONARY),
        ("quality", _DICTIONARY),
        ("late", pyarrow.bool_()),
    ]
)


@dataclass(frozen=True, slots=True)
class Samples:
    """Rows of one channel.

    Attributes:
        channel: Its position among those of the tables.
        t_ns: Times.
        raw: As the instrument sent it; NaN where nothing was sent.
        value: In the channel's unit; NaN where bad, and for late rows.
        quality: See ``monitor.samples.Quality``; late rows have none.
        late: Recorded and not evaluated; None when no row is.
    """

    channel: int
    t_ns: Ints
    raw: Floats
    value: Floats
    quality: Bytes
    late: Flags | None = None


class TableWriter:
    """Writes ``samples-NNN.parquet``; earlier ones of the folder are replaced.

    Args:
        folder: The run's folder.
        channels: Tag and unit of each channel.
    """

    def __init__(self, folder: Path, channels: Sequence[tuple[str, str]]) -> None:
        """Begin with no rows."""
        self._folder = folder
        self._tags = pyarrow.array([tag for tag, _ in channels], pyarrow.string())
        # Each unit once: of a dictionary that repeats itself, the Parquet writer fills the room
        # of what it leaves out with whatever lies in memory.
        units = list(dict.fromkeys(unit for _, unit in channels))
        self._units = pyarrow.array(units, pyarrow.string())
        self._unit_of = np.array([units.index(unit) for _, unit in channels], np.int32)
        self._codes = {code: number for number, code in enumerate(QUALITY_TEXT)}
        self._qualities = pyarrow.array(QUALITY_TEXT.values(), pyarrow.string())
        self._pending: list[Samples] = []
        self._pending_rows = 0
        self._writer: pyarrow.parquet.ParquetWriter | None = None
        self._file_rows = 0
        self._drafts: list[Path] = []
        self.rows = 0

    def add(self, samples: Samples) -> None:
        """Add rows of a channel."""
        if not len(samples.t_ns):
            return
        self._pending.append(samples)
        self._pending_rows += len(samples.t_ns)
        if self._pending_rows >= _GROUP_ROWS:
            self._flush()

    def close(self) -> list[Path]:
        """Write the rest; put the new files in place of the old ones and give them."""
        self._flush()
        self._end_file()
        for old in self._folder.glob("samples-*.parquet"):
            old.unlink()
        return [draft.rename(draft.with_name(draft.name[1:-5])) for draft in self._drafts]

    def abandon(self) -> None:
        """Leave the old files and remove the drafts."""
        self._end_file()
        for draft in self._drafts:
            draft.unlink(missing_ok=True)

    def _flush(self) -> None:
        """Write what is pending as one group of rows."""
        if not self._pending:
            return
        table = self._table(self._pending)
        self._pending, self._pending_rows = [], 0
        if self._writer is None:
            name = f".samples-{len(self._drafts) + 1:03d}.parquet.part"
            self._drafts.append(self._folder / name)
            self._writer = pyarrow.parquet.ParquetWriter(
                self._drafts[-1],
                SCHEMA,
                compression="zstd",
                use_dictionary=[name for name in SCHEMA.names if name != "time"],
                column_encoding={"time": "DELTA_BINARY_PACKED"},
            )
        self._writer.write_table(table)
        self.rows += len(table)
        self._file_rows += len(table)
        if self._file_rows >= FILE_ROWS:
            self._end_file()

    def _end_file(self) -> None:
        """Finish the present file."""
        if self._writer is not None:
            self._writer.close()
            self._writer = None
            self._file_rows = 0

    def _table(self, parts: Sequence[Samples]) -> pyarrow.Table:
        """Put rows of several channels together."""
        sizes = [len(part.t_ns) for part in parts]
        channel = np.repeat(np.array([part.channel for part in parts], np.int32), sizes)
        late = np.concatenate(
            [np.zeros(len(p.t_ns), np.bool_) if p.late is None else p.late for p in parts]
        )
        quality = np.concatenate([part.quality for part in parts])
        codes = np.zeros(256, np.int32)
        codes[list(self._codes)] = list(self._codes.values())
        time = pyarrow.array(np.concatenate([part.t_ns for part in parts]))
        columns = [
            time.cast(SCHEMA.field("time").type),
            pyarrow.DictionaryArray.from_arrays(channel, self._tags),
            _nullable(np.concatenate([part.raw for part in parts])),
            _nullable(np.concatenate([part.value for part in parts])),
            pyarrow.DictionaryArray.from_arrays(self._unit_of[channel], self._units),
            pyarrow.DictionaryArray.from_arrays(
                pyarrow.array(codes[quality], mask=late), self._qualities
            ),
            pyarrow.array(late),
        ]
        return pyarrow.Table.from_arrays(columns, schema=SCHEMA)


def _nullable(numbers: Floats) -> pyarrow.Array:
    """Turn NaN into the absence of a number."""
    return pyarrow.array(numbers, mask=np.isnan(numbers))
