"""Limits alone and the whole pipeline, against one time-major minimum and maximum.

The limit of every row is ``block.max(axis=0)`` and ``block.min(axis=0)`` over the same numbers,
taken in the same run: no code can look at every value for less.
"""

from __future__ import annotations

import time
from collections.abc import Sequence

import numpy as np

from drivers.reading import Block
from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.channels.formula import parse_formula
from monitor.channels.plan import ChannelsPlan, Computed, CurrentLoop, Linear, Measured
from monitor.events import Event
from monitor.limits.plan import Kind, Limit, Place
from monitor.limits.stage import Limits
from monitor.pipeline import Pipeline, Plan
from monitor.samples import Admitted, Floats, Grid
from tests.benchmarks.row import Row

CHANNELS = 1000
INSTRUMENTS = 10
ROW_NS = 10_000_000
START_NS = 1_790_000_000_000_000_000
SECOND_NS = 1_000_000_000
ROUNDS = 7

SETPOINTS = (
    (Kind.HIGH_HIGH, 95.0),
    (Kind.HIGH, 90.0),
    (Kind.LOW, 10.0),
    (Kind.LOW_LOW, 5.0),
)

AIMS_OF_LIMITS = {
    "quiet": 3,
    "5 % in alarm": 15,
    "all in alarm": 60,
    "5 % crossing": 15,
    "5 % on a setpoint": 15,
}

#: What a load adds to the busy channels in every second twenty steps. The noise of 1 then lies
#: between the high limit and high-high and seldom crosses either, or right on high-high, where
#: nearly every second sample is a crossing.
_STEP_OF = {"5 % crossing": 42.5, "5 % on a setpoint": 45.0}


def limits() -> tuple[Limit, ...]:
    """Make four limits on each channel."""
    return tuple(
        Limit(
            f"P{column}.{kind}",
            column,
            kind,
            setpoint,
            deadband=1.0,
            on_delay_ns=SECOND_NS,
            off_delay_ns=SECOND_NS,
        )
        for column in range(CHANNELS)
        for kind, setpoint in SETPOINTS
    )


def blocks_of(load: str, rows: int, steps: int) -> list[Floats]:
    """Make the values of *steps* blocks: noise of 1 about 50, some of it elsewhere."""
    rng = np.random.default_rng(7)
    out = []
    busy = {"quiet": 0, "all in alarm": CHANNELS}.get(load, CHANNELS // 20)
    for step in range(steps):
        value = rng.normal(50.0, 1.0, (rows, CHANNELS))
        if load in _STEP_OF:
            # Every twentieth step they go over the high limit or come back.
            value[:, :busy] += _STEP_OF[load] if step // 20 % 2 else 0.0
        else:
            # Over the high limit, below high-high, the noise well inside the deadband.
            value[:, :busy] = 92.5 + 0.2 * (value[:, :busy] - 50.0)
        out.append(value)
    return out


def mean_of_quickest_us(rounds: Sequence[Sequence[int]]) -> float:
    """Give the mean over steps, in us, of each step's quickest time in several rounds.

    The rounds do the same work, so what a step takes longer in one of them is not its own.
    """
    return float(np.array(rounds).min(axis=0).mean()) / 1000


def extremes_us(values: Sequence[Floats]) -> float:
    """Give the mean time of the numpy pass over a block, in us."""
    rounds = []
    for _ in range(ROUNDS):
        times = []
        for value in values:
            start = time.perf_counter_ns()
            value.max(axis=0)
            value.min(axis=0)
            times.append(time.perf_counter_ns() - start)
        rounds.append(times)
    return mean_of_quickest_us(rounds)


def _limits_row(load: str, rows: int, steps: int) -> Row:
    """Measure the limits alone."""
    values = blocks_of(load, rows, steps)
    quality = np.zeros((rows, CHANNELS), dtype=np.uint8)
    count = np.full(CHANNELS, rows)
    offsets = (np.arange(1, rows + 1) * ROW_NS)[:, None] + np.zeros(CHANNELS, dtype=np.int64)
    grids = [
        Grid(START_NS + step * rows * ROW_NS + offsets, value, quality, count)
        for step, value in enumerate(values)
    ]
    rounds, raised = [], 0
    for _ in range(ROUNDS):
        stage = Limits(limits(), CHANNELS, Place("test"), START_NS)
        times, raised = [], 0
        for step, grid in enumerate(grids):
            until_ns = START_NS + (step + 1) * rows * ROW_NS
            start = time.perf_counter_ns()
            edges = stage.step(grid, until_ns)
            times.append(time.perf_counter_ns() - start)
            raised += len(edges)
        rounds.append(times[steps // 5 :])
    ours = mean_of_quickest_us(rounds)
    expects_edges = load != "quiet" and steps * rows * ROW_NS > 1.1 * SECOND_NS
    assert bool(raised) is expects_edges, (load, rows, raised)
    bare = extremes_us(values)
    return Row(
        f"limits, {rows} rows, {load}",
        f"{ours:.1f} us/step",
        f"{bare:.1f} us",
        ours / bare,
        f"<= {AIMS_OF_LIMITS[load]}",
        _note_of(load, rows),
    )


def _note_of(load: str, rows: int) -> str:
    """Say what a reader must know of a row."""
    if load == "5 % on a setpoint":
        return "about 250 crossings a step, each walked by itself: 0.6 us"
    return "" if rows == 10 else "no aim was set for this block: that of 10 rows"


def plan(computed: int) -> Plan:
    """Make a plan of 1000 channels on ten instruments, with 100 formulas or none."""
    measured = tuple(
        Measured(
            f"P{c}",
            f"i{c // 100}",
            f"s{c % 100}",
            CurrentLoop(0.0, 100.0) if c % 2 else Linear(),
            60 * SECOND_NS,
        )
        for c in range(CHANNELS)
    )
    formulas = tuple(
        Computed(
            f"D{i}",
            parse_formula("a - b"),
            (("a", f"P{i}"), ("b", f"P{(i + 500) % CHANNELS}")),
            f"P{i}",
            SECOND_NS,
        )
        for i in range(computed)
    )
    alarms = tuple(Alarm(x.id, x.id.split(".")[0], Priority.LOW, "m") for x in limits())
    return Plan(ChannelsPlan(measured, (), formulas), limits(), AlarmsPlan(alarms, ("test",)))


def arriving(rows: int, steps: int) -> list[tuple[list[Admitted], int]]:
    """Make what ten instruments hand over in each step, and its W."""
    signals = tuple(f"s{i}" for i in range(100))
    is_loop = (np.arange(CHANNELS) % 2).astype(bool)
    out = []
    for step, value in enumerate(blocks_of("quiet", rows, steps)):
        raw = np.where(is_loop, 4.0 + 0.16 * value, value)
        t_ns = START_NS + (step * rows + np.arange(1, rows + 1)) * ROW_NS
        blocks = [
            Admitted(
                Block(
                    f"i{i}",
                    signals,
                    t_ns,
                    np.ascontiguousarray(raw[:, i * 100 : i * 100 + 100]),
                )
            )
            for i in range(INSTRUMENTS)
        ]
        out.append((blocks, int(t_ns[-1])))
    return out


def _pipeline_row(computed: int, rows: int, steps: int, aim: str) -> Row:
    """Measure whole steps."""
    one, times = plan(computed), []
    for _ in range(3):
        pipeline = Pipeline(one, START_NS)
        for blocks, until_ns in arriving(rows, steps):
            start = time.perf_counter_ns()
            pipeline.step(blocks, [], until_ns)
            times.append(time.perf_counter_ns() - start)
    assert pipeline.channels.last_t_ns.min() == until_ns
    ours = float(np.sort(times)[len(times) // 4]) / 1000
    bare = extremes_us(blocks_of("quiet", rows, steps))
    return Row(
        f"pipeline, {rows} rows, {computed} formulas",
        f"{ours:.0f} us/step",
        f"{bare:.1f} us",
        ours / bare,
        aim,
        "lower quartile of the steps",
    )


def _same_events_however_cut() -> int:
    """One whole step must tell the same as many small ones; give the number of events."""
    values = np.concatenate(blocks_of("5 % crossing", 10, 60))
    signals = tuple(f"s{i}" for i in range(100))
    t_ns = START_NS + np.arange(1, len(values) + 1) * ROW_NS

    def events(cuts: list[int]) -> list[Event]:
        pipeline, told, first = Pipeline(plan(0), START_NS), [], 0
        for cut in cuts:
            part = slice(first, cut)
            raw = values[part].copy()
            raw[:, 1::2] = 4.0 + 0.16 * raw[:, 1::2]
            blocks = [
                Admitted(Block(f"i{i}", signals, t_ns[part], raw[:, i * 100 : i * 100 + 100]))
                for i in range(INSTRUMENTS)
            ]
            told += pipeline.step(blocks, [], int(t_ns[cut - 1])).events
            first = cut
        return told

    whole = events([len(values)])
    assert whole == events([*range(7, len(values), 7), len(values)])
    assert len(whole) > 20
    return len(whole)


def run(quick: bool) -> list[Row]:
    """Measure everything; in quick mode with a few steps only."""
    _same_events_however_cut()
    steps = 60 if quick else 400
    rows = [_limits_row(load, 10, steps) for load in AIMS_OF_LIMITS]
    if not quick:
        rows += [
            _limits_row(load, n, 200) for n in (1, 100) for load in ("quiet", "5 % in alarm")
        ]
    rows.append(_pipeline_row(0, 10, steps // 2, "<= 60"))
    rows.append(_pipeline_row(100, 10, steps // 2, "<= 300"))
    return rows
