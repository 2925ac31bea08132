"""Plans, blocks and whole runs for the tests of the channel stage, some of them random."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from hypothesis import strategies as st

from drivers.reading import Block
from monitor.channels.draft import Since
from monitor.channels.formula import parse_formula
from monitor.channels.plan import (
    ChannelsPlan,
    Computed,
    Conversion,
    Linear,
    Measured,
)
from monitor.channels.stage import Channels
from monitor.events import Control, HostEvent, LinkChange
from monitor.samples import Admitted, Grid

MS = 1_000_000
S = 1_000 * MS
START_NS = 1_790_000_000 * S
NAN = float("nan")
FAR_S = 1000.0


def measured(
    tag: str,
    source: str,
    conversion: Conversion | None = None,
    *,
    stale_s: float = FAR_S,
    span: tuple[float, float] = (-np.inf, np.inf),
    is_overdue: bool = False,
) -> Measured:
    """Make a channel of the signal *source*, ``instrument.signal``."""
    instrument, signal = source.split(".")
    return Measured(
        tag,
        instrument,
        signal,
        conversion or Linear(),
        round(stale_s * S),
        *span,
        is_calibration_overdue=is_overdue,
    )


def computed(tag: str, text: str, clock: str, skew_s: float = FAR_S, **inputs: str) -> Computed:
    """Make a computed channel; *inputs* gives the tag for each name."""
    return Computed(tag, parse_formula(text), tuple(inputs.items()), clock, round(skew_s * S))


def block(
    instrument: str,
    times_s: Sequence[float],
    *,
    is_old: bool = False,
    late: Sequence[bool] | None = None,
    **columns: Sequence[float],
) -> Admitted:
    """Make an admitted block; times in s after the start, one keyword for each signal."""
    t_ns = np.array([START_NS + round(t * S) for t in times_s], dtype=np.int64)
    values = np.array(list(columns.values()), dtype=np.float64).T.reshape(
        len(t_ns), len(columns)
    )
    one = Block(instrument, tuple(columns), t_ns, values, is_old=is_old)
    return Admitted(one, None if late is None else np.array(late, dtype=np.bool_))


def link(t_s: float, instrument: str, *, is_up: bool, seq: int = 0) -> Control:
    """Make a link change *t_s* after the start."""
    return Control(START_NS + round(t_s * S), seq, LinkChange(instrument, is_up, "why"))


def rows_of(plan: ChannelsPlan, grid: Grid, tag: str) -> list[tuple[float, float | None, int]]:
    """Give (s after the start, value or None for NaN, quality) of a column's own rows."""
    c = plan.column[tag]
    return [
        (
            (int(grid.t_ns[k, c]) - START_NS) / S,
            None if np.isnan(grid.value[k, c]) else float(grid.value[k, c]),
            int(grid.quality[k, c]),
        )
        for k in range(int(grid.count[c]))
    ]


# Random runs.

LINES = ("a", "b", "c", "d", "e", "f")
NODE = ("g", "h")


@dataclass(frozen=True)
class Run:
    """What is handed over in a run, in the order of its arrival, and where the run ends."""

    blocks: tuple[Block, ...]
    controls: tuple[Control, ...]
    until_ns: int
    phases: tuple[Since, ...] = ()


#: Numbers that are something particular to at least one of the conversions.
PARTICULAR = np.array(
    [
        *(NAN, 0.0, -0.0, 1.0, 2.5, 3.6, 3.7, 3.8, 4.0, 7.5, 12.0, 20.5, 20.7, 21.0, 25.0),
        *(60.0, 100.0, 138.5, -3.0, -7.0, 400.0, 1e150, np.inf),
    ]
)
USUAL = np.array([4.5, 5.0, 7.0, 11.0, 19.0])
_LAST_TICK = 40


@st.composite
def runs(draw: st.DrawFn) -> Run:
    """Draw a run of 4 s: steady rows with mishaps from one instrument, odd ones of another."""
    blocks = [*draw(_steady()), *draw(st.lists(_odd("node", NODE), max_size=8))]
    blocks += draw(st.lists(_odd("lines", LINES), max_size=2))
    order = draw(st.permutations(range(len(blocks))))
    controls = draw(st.lists(st.tuples(st.integers(1, _LAST_TICK), _happenings()), max_size=5))
    return Run(
        tuple(blocks[i] for i in order),
        tuple(Control(tick(at), seq, what) for seq, (at, what) in enumerate(controls)),
        tick(draw(st.integers(_LAST_TICK, _LAST_TICK + 60))),
        draw(_phases()),
    )


def _phases() -> st.SearchStrategy[tuple[Since, ...]]:
    """Draw phases that begin by hand or, from the next ns on, by a reading."""
    begins = st.lists(
        st.tuples(st.integers(1, _LAST_TICK), st.sampled_from([0, 1])), max_size=4
    )
    return begins.map(
        lambda found: tuple(Since(tick(at) + after, tick(at)) for at, after in sorted(found))
    )


def tick(number: int) -> int:
    """Give an instant of the grid on which everything in a random run happens."""
    return START_NS + number * 100 * MS


def _happenings() -> st.SearchStrategy[LinkChange | HostEvent]:
    return st.one_of(
        st.builds(
            LinkChange, st.sampled_from(["lines", "node", "none"]), st.booleans(), st.just("")
        ),
        st.builds(
            HostEvent,
            st.sampled_from(["recording_stopped", "recording_resumed", "run_started"]),
        ),
    )


@st.composite
def _steady(draw: st.DrawFn) -> list[Block]:
    """Draw what an instrument sends that reads every signal at every tick, now and then not."""
    rng = np.random.default_rng(draw(st.integers(0, 10_000)))
    first, blocks = draw(st.integers(1, 5)), []
    while first < _LAST_TICK:
        rows = draw(st.integers(1, 8))
        ticks = [t for t in range(first, first + rows) if t <= _LAST_TICK]
        numbers = PARTICULAR if draw(st.integers(0, 3)) == 0 else USUAL
        blocks.append(_block("lines", LINES, ticks, numbers, rng))
        first += rows + draw(st.sampled_from([0, 0, 0, 0, 7, 12]))
    return blocks


@st.composite
def _odd(draw: st.DrawFn, instrument: str, signals: tuple[str, ...]) -> Block:
    """Draw a block with any times, in any order, of some signals, perhaps kept by a broker."""
    rng = np.random.default_rng(draw(st.integers(0, 10_000)))
    chosen = draw(st.sampled_from([signals, signals[:1], signals[::-1], (*signals[1:], "z")]))
    ticks = draw(st.lists(st.integers(1, _LAST_TICK), min_size=1, max_size=4))
    if draw(st.booleans()):
        ticks = sorted(set(ticks))
    made = _block(instrument, chosen, ticks, PARTICULAR, rng)
    return replace(made, is_old=draw(st.integers(0, 4)) == 0)


def _block(
    instrument: str,
    signals: tuple[str, ...],
    ticks: Sequence[int],
    numbers: np.ndarray,
    rng: np.random.Generator,
) -> Block:
    values = rng.choice(numbers, (len(ticks), len(signals)))
    t_ns = np.array([tick(t) for t in ticks], dtype=np.int64)
    return Block(instrument, signals, t_ns, values)


def run_in_steps(
    plan: ChannelsPlan, run: Run, cuts: Sequence[int], restore_before: int = -1
) -> dict[str, bytes]:
    """Give every column's own rows as bytes, and what was counted.

    Args:
        plan: The channels.
        run: What is handed over; each block in time for the W that its first row needs, and
            none before the ones that arrived before it.
        cuts: Ends of the steps, rising, the last one the end of the run.
        restore_before: Number of the step before which state is saved and loaded.
    """
    stage = Channels(plan, START_NS)
    parts: dict[str, list[bytes]] = {tag: [] for tag in plan.column}
    left = list(run.blocks)
    before_ns = START_NS
    for number, until_ns in enumerate(cuts):
        if number == restore_before:
            saved = {name: array.copy() for name, array in stage.state().items()}
            stage = Channels(plan, START_NS)
            stage.load_state(saved)
        needed = [i for i, one in enumerate(left) if one.t_ns.min() <= until_ns]
        due, left = left[: max(needed, default=-1) + 1], left[max(needed, default=-1) + 1 :]
        controls = [one for one in run.controls if before_ns < one.t_ns <= until_ns]
        grid = stage.step([Admitted(one) for one in due], controls, until_ns)
        stage.finish(grid, [one for one in run.phases if before_ns < one.start_ns <= until_ns])
        before_ns = until_ns
        for tag, c in plan.column.items():
            n = int(grid.count[c])
            columns = (grid.t_ns[:n, c], grid.value[:n, c], grid.quality[:n, c])
            rows = zip(*(column.tolist() for column in columns), strict=True)
            parts[tag] += [repr(row).encode() for row in rows]
    found = {tag: b" ".join(rows) for tag, rows in parts.items()}
    held = (stage.last_t_ns, stage.last_value, stage.last_quality)
    return found | {
        "newest": b"".join(array.tobytes() for array in held),
        "counts": repr(stage.counts).encode(),
        "state": repr([(k, v.tobytes()) for k, v in stage.state().items()]).encode(),
    }
