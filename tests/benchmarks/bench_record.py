"""The recorder: how fast it writes, and how many bytes a sample takes.

Both on 16-bit counts with a noise of three counts. The disk is the one that the temporary
folder is on (TMPDIR); on a tmpfs a sync costs nothing.
"""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from drivers.reading import Block
from monitor.record.frame import Frame
from monitor.record.log_reader import read_log
from monitor.record.writer import RunStart, RunWriter
from monitor.samples import Admitted
from tests.benchmarks.row import Row

START_NS = 1_795_000_000_000_000_000
NS_PER_S = 1_000_000_000
CHANNELS = 100
NOISE_COUNTS = 3.0
SYNC_S = 1.0
#: Rows of a step that is as large as the writer takes without being asked twice.
BULK_ROWS = 2_000

Frames = list[Frame]


def run(quick: bool) -> list[Row]:
    """Measure; the log is read back and must hold what was written."""
    seconds = 2 if quick else 120
    rows = [_size_row(rate_hz, 30 if quick else seconds) for rate_hz in (10, 30, 100)]
    return [*_speed_rows(0.5 if quick else 8.0), *rows]


def counts_frames(rate_hz: int, seconds: int) -> Frames:
    """Give one step a second of one instrument with all channels."""
    random = np.random.default_rng(rate_hz)
    base = random.integers(5_000, 60_000, CHANNELS).astype(float)
    signals = tuple(f"channel_{number}" for number in range(CHANNELS))
    frames = []
    for second in range(seconds):
        # Arrival as of a real port: even, with some tenths of a millisecond of jitter.
        jitter_ns = np.rint(random.normal(0, 1e5, rate_hz)).astype(np.int64)
        t_ns = START_NS + second * NS_PER_S + np.arange(rate_hz) * (NS_PER_S // rate_hz)
        base += random.normal(0, 0.3, CHANNELS)
        counts = np.rint(base + random.normal(0, NOISE_COUNTS, (rate_hz, CHANNELS)))
        block = Block("panel", signals, np.sort(t_ns + jitter_ns), counts)
        until_ns = START_NS + (second + 1) * NS_PER_S
        frames.append(Frame(second + 1, until_ns, (Admitted(block),), (), 0, ""))
    return frames


def _size_row(rate_hz: int, seconds: int) -> Row:
    """Say how many bytes of log a sample takes, everything included."""
    frames = counts_frames(rate_hz, seconds)
    with tempfile.TemporaryDirectory() as name:
        writer = _started(Path(name))
        empty = writer.bytes_written
        for frame in frames:
            writer.write([frame])
        size = writer.bytes_written - empty
        writer.close({})
        _check(writer.folder, frames)
    per_sample = size / (len(frames) * rate_hz * CHANNELS)
    return Row(
        name=f"recorder: bytes a sample, {CHANNELS} channels x {rate_hz} Hz, 1 s frames",
        ours=f"{per_sample:.3f} B",
        limit="8 B as numbers",
        ratio=per_sample,
        aim="<= 0.7",
        note=f"16-bit counts, noise of {NOISE_COUNTS:.0f} counts, times with jitter",
    )


def _speed_rows(for_s: float) -> list[Row]:
    """Say how many samples are written in a second, synced each second."""
    frames = _bulk_frames()
    with tempfile.TemporaryDirectory() as name:
        ours, packed = _recorded(Path(name), frames, for_s)
        raw = _written_raw(Path(name) / "raw", [_raw_bytes(frame) for frame in frames], for_s)
        same = _written_raw(Path(name) / "same", [os.urandom(packed)] * len(frames), for_s)
    figure = f"{ours / 1e6:.1f} M samples/s"
    return [
        Row(
            name="recorder: samples/s, fdatasync each second, against the readings' raw bytes",
            ours=figure,
            limit=f"{raw / 1e6:.1f} M samples/s",
            ratio=ours / raw,
            aim=">= 0.5",
            note="raw: times and numbers as they lie in memory, 8 B each",
        ),
        Row(
            name="recorder: the same, against the bytes that the recorder itself writes",
            ours=figure,
            limit=f"{same / 1e6:.1f} M samples/s",
            ratio=ours / same,
            aim=">= 0.5",
            note=(
                f"{packed / (BULK_ROWS * CHANNELS):.2f} B a sample: packing takes more time "
                "than it saves this disk; a stand of 100 x 100 Hz needs 0.01 M samples/s"
            ),
        ),
    ]


def _bulk_frames() -> Frames:
    """Give a few large steps, to be written again and again."""
    return counts_frames(BULK_ROWS, 8)


def _recorded(run_dir: Path, frames: Frames, for_s: float) -> tuple[float, int]:
    """Record for a time; give samples a second, and bytes a step."""
    writer = _started(run_dir)
    written: Frames = []

    def steps() -> Iterator[int]:
        while True:
            for frame in frames:
                step = Frame(len(written) + 1, frame.until_ns, frame.admitted, (), 0, "")
                written.append(step)
                writer.write([step])
                if writer.is_file_full:
                    writer.start_file(b"")
                yield BULK_ROWS * CHANNELS

    rate = _paced(steps(), writer.sync, for_s)
    packed = writer.bytes_written // len(written)
    writer.close({})
    _check(writer.folder, written)
    return rate, packed


def _written_raw(path: Path, parts: list[bytes], for_s: float) -> float:
    """Write bytes for a time; give samples a second."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND)

    def steps() -> Iterator[int]:
        while True:
            for part in parts:
                os.write(handle, part)
                yield BULK_ROWS * CHANNELS

    try:
        return _paced(steps(), lambda: os.fdatasync(handle), for_s)
    finally:
        os.close(handle)
        path.unlink()


def _paced(steps: Iterator[int], sync: Callable[[], None], for_s: float) -> float:
    """Take steps for a time, sync each second and at the end; give samples a second."""
    began_s = synced_s = time.perf_counter()
    samples = 0
    for count in steps:
        samples += count
        now_s = time.perf_counter()
        if now_s - synced_s >= SYNC_S:
            sync()
            synced_s = time.perf_counter()
        if now_s - began_s >= for_s:
            break
    sync()
    return samples / (time.perf_counter() - began_s)


def _raw_bytes(frame: Frame) -> bytes:
    """Give times and numbers as they lie in memory."""
    return b"".join(
        part.block.t_ns.tobytes() + part.block.values.tobytes() for part in frame.admitted
    )


def _started(run_dir: Path) -> RunWriter:
    """Begin a run."""
    return RunWriter.create(run_dir, RunStart("bench", "", START_NS, b""))


def _check(folder: Path, frames: Frames) -> None:
    """Read the log back: every reading as it was, none more, none less."""
    wanted = iter(frames)
    for item in read_log(folder):
        if isinstance(item, Frame):
            frame = next(wanted)
            (got,), (row,) = item.admitted, frame.admitted
            assert item.seq == frame.seq
            assert (got.block.t_ns == row.block.t_ns).all()
            assert (got.block.values == row.block.values).all()
    assert next(wanted, None) is None
