"""Rehearsal: ten million samples through limits in long blocks, and a recorded hour.

The limit of the first rows is four plain numpy compares over the same arrays, each with one
number for all channels, which is the quickest that numpy can do: no deadbands, no delays, no
times. The events of a long block are asserted to be those of blocks of ten rows.

The recorded hours have no limit beside them: the figure is seconds for an hour of data, of a
log as the engine writes it (a pack a second), both pipelines included.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from drivers.reading import Block
from drivers.registry import instrument_kinds
from monitor.events import Control, HostEvent
from monitor.limits.edges import Edge
from monitor.limits.plan import Place
from monitor.limits.stage import Limits
from monitor.pipeline import Pipeline
from monitor.record.frame import Frame
from monitor.record.writer import RunStart, RunWriter
from monitor.rehearse.together import Rehearsal, rehearse_all
from monitor.samples import Admitted, Floats, Grid
from monitor.stand.load import load_stand
from tests.benchmarks.bench_pipeline import CHANNELS, SECOND_NS, SETPOINTS, limits
from tests.benchmarks.row import Row

ROWS = 10_000
#: Rows of a long block, and of the short ones that must give the same events.
LONG, SHORT = 5_000, 10
ROW_NS = 100_000_000
START_NS = 1_790_000_000 * SECOND_NS
PLACE = Place("test")
ROUNDS = 5

AIMS = {"quiet": 1, "busy": 3}

INSTRUMENTS, SIGNALS = 3, 10


def values_of(load: str, rows: int) -> Floats:
    """Make noise of 1 about 50; busy: a twentieth of the channels cross and come back.

    They stand 20 s over the high limit, below high-high, and 20 s where they were.
    """
    rng = np.random.default_rng(7)
    value = rng.normal(50.0, 1.0, (rows, CHANNELS))
    if load == "busy":
        is_over = np.arange(rows) // 200 % 2 == 1
        value[is_over, : CHANNELS // 20] += 42.5
    return value


def grids_of(value: Floats, height: int) -> Iterator[Grid]:
    """Cut values into blocks of *height* rows."""
    count = np.full(CHANNELS, height)
    quality = np.zeros((height, CHANNELS), dtype=np.uint8)
    for first in range(0, len(value), height):
        t_ns = START_NS + (first + np.arange(1, height + 1)) * ROW_NS
        part = value[first : first + height]
        yield Grid(t_ns[:, None] + np.zeros(CHANNELS, dtype=np.int64), part, quality, count)


def edges_of(grids: list[Grid]) -> tuple[list[Edge], float]:
    """Run the limits over blocks; give the edges and the time, in ms."""
    stage = Limits(limits(), CHANNELS, PLACE, START_NS)
    edges: list[Edge] = []
    start = time.perf_counter_ns()
    for grid in grids:
        edges += stage.step(grid, int(grid.t_ns[-1, 0]))
    return edges, (time.perf_counter_ns() - start) / 1e6


def compares_ms(grids: list[Grid]) -> float:
    """Compare every value with four setpoints; give the time, in ms."""
    high_high, high, low, low_low = (setpoint for _, setpoint in SETPOINTS)
    start = time.perf_counter_ns()
    for grid in grids:
        np.greater(grid.value, high_high)
        np.greater(grid.value, high)
        np.less(grid.value, low)
        np.less(grid.value, low_low)
    return (time.perf_counter_ns() - start) / 1e6


def _limits_row(load: str, rows: int) -> Row:
    """Measure the limits alone, in long blocks."""
    value = values_of(load, rows)
    grids = list(grids_of(value, min(LONG, rows)))
    rounds = [(edges_of(grids), compares_ms(grids)) for _ in range(ROUNDS)]
    edges = rounds[0][0][0]
    assert edges == edges_of(list(grids_of(value, SHORT)))[0]
    assert (len(edges) > 0) is (load == "busy")
    ours, bare = min(x[0][1] for x in rounds), min(x[1] for x in rounds)
    return Row(
        f"rehearsal, {rows * CHANNELS / 1e6:g} M samples, {load}",
        f"{ours:.0f} ms",
        f"{bare:.0f} ms",
        ours / bare,
        f"<= {AIMS[load]}",
        _note_of(len(edges)),
    )


def _note_of(edges: int) -> str:
    """Say what a reader must know of a row."""
    return f"four compares a value; long blocks; {edges} edges"


def stand_text(high: float) -> str:
    """Write a stand of thirty channels with four limits each."""
    lines = ["[stand]", 'name = "bench"', "[[phases]]", 'name = "test"']
    fields = ", ".join(f'"s{signal}"' for signal in range(SIGNALS))
    for i in range(INSTRUMENTS):
        lines += [f"[instruments.i{i}]", 'kind = "serial_lines"', f'port = "/dev/ttyS{i}"']
        lines += ["baud = 115200", 'separator = ","', f"fields = [{fields}]"]
    for c in range(INSTRUMENTS * SIGNALS):
        source = f"i{c // SIGNALS}.s{c % SIGNALS}"
        lines += [f"[channels.PT-{c}]", 'unit = "kPa"', f'source = "{source}"']
        lines += ["range = [0, 200]", "stale_after_s = 5"]
        for kind, setpoint in (("high_high", 125.0), ("high", high), ("low", 80.0)):
            lines += [f"[channels.PT-{c}.limits.{kind}]", f"setpoint = {setpoint}"]
            lines += ["deadband = 3", 'priority = "low"', "on_delay_s = 1", 'response = "x"']
    return "\n".join(lines) + "\n"


@contextmanager
def recorded(seconds: int) -> Iterator[tuple[Path, Path]]:
    """Record a run at ten rows a second, in steps of a row; give its folder and a stand."""
    with tempfile.TemporaryDirectory() as name:
        folder, text = Path(name), stand_text(110.0)
        path = folder / "new.toml"
        path.write_text(text, encoding="utf-8")
        day = datetime.fromtimestamp(START_NS // SECOND_NS, UTC).date()
        plan = load_stand(path, instrument_kinds(), today=day).plan
        state = Pipeline(plan, START_NS).save()
        writer = RunWriter.create(folder / "runs", RunStart("bench", text, START_NS, state))
        begun = Control(START_NS + 1, 1, HostEvent("run_started"))
        writer.write([Frame(1, START_NS + 1, (), (begun,), 0, "")], [])
        rng = np.random.default_rng(7)
        for second in range(seconds):
            writer.write(_frames(second, rng), [])
        writer.close({"closed": True})
        path.write_text(stand_text(107.0), encoding="utf-8")
        yield writer.folder, path


def _frames(second: int, rng: np.random.Generator) -> list[Frame]:
    """Make the steps of a second: a slow wave through the high limit, with noise."""
    signals = tuple(f"s{i}" for i in range(SIGNALS))
    frames = []
    for row in range(second * 10, second * 10 + 10):
        t_ns = START_NS + (row + 1) * ROW_NS
        level = 100 + 8 * np.sin(row / 3000)
        raw = np.round(level + rng.normal(0, 0.5, (INSTRUMENTS, 1, SIGNALS)), 2)
        blocks = (Block(f"i{i}", signals, np.array([t_ns]), raw[i]) for i in range(INSTRUMENTS))
        frames.append(Frame(row + 2, t_ns, tuple(Admitted(x) for x in blocks), (), 0, ""))
    return frames


def _hours_row(seconds: int) -> Row:
    """Measure the rehearsal of a recorded run with a lower setpoint and a suggestion."""
    with recorded(seconds) as (folder, stand):
        start = time.perf_counter()
        found: Rehearsal = rehearse_all([folder], stand, "PT-3.high")
        took_s = time.perf_counter() - start
    assert found.outcomes[0].differs is (seconds >= 600)
    assert found.suggestion is not None
    per_hour_s = took_s / seconds * 3600
    return Row(
        f"rehearsal of {seconds / 3600:.3g} h, 30 channels at 10 Hz",
        f"{took_s:.2f} s",
        "-",
        per_hour_s,
        "<= 10",
        "ratio: seconds for an hour of data; nearly all of it is reading the log",
    )


def run(quick: bool) -> list[Row]:
    """Measure everything; in quick mode with little data."""
    rows = 1_000 if quick else ROWS
    found = [_limits_row(load, rows) for load in AIMS]
    found.append(_hours_row(600 if quick else 3600))
    return found
