"""Random input for the pipeline: mixed rates, gaps, bad values, actions, phases, late rows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from drivers.reading import Block
from monitor.alarms.plan import Alarm, AlarmsPlan, AutomaticEntry, Priority
from monitor.channels.formula import parse_formula
from monitor.channels.plan import (
    ChannelsPlan,
    Computed,
    CurrentLoop,
    Filtered,
    Linear,
    Measured,
    NoStart,
    OffProfile,
    Slope,
    System,
    Take,
    ThermocoupleK,
    TimeTo,
    Unchanged,
    Voted,
)
from monitor.events import Action, Control, Event, HostEvent, LinkChange
from monitor.limits.condition import parse_condition
from monitor.limits.plan import NO_COLUMN, Kind, Limit
from monitor.pipeline import Pipeline, Plan
from monitor.samples import Admitted

S = 1_000_000_000
START_NS = 1_790_000_000 * S
SPAN_NS = 40 * S
PHASES = ("ground", "climb", "hold")
MODES = ("normal", "loop_only")

_LINES = ("a", "b", "c", "d")
_NODES = ("e",)


def plan_of(extra: int = 0) -> Plan:
    """Make a plan that has one of everything, and *extra* quiet channels before it."""
    measured = [
        Measured("A", "lines", "a", Linear(2.0, 1.0), 3 * S),
        Measured("B", "lines", "b", CurrentLoop(0.0, 100.0), 3 * S),
        Measured("C", "lines", "c", CurrentLoop(50.0, -50.0), 2 * S),
        Measured("T", "lines", "d", ThermocoupleK(cold_junction_tag="E"), 3 * S),
        Measured("E", "nodes", "e", Linear(), 4 * S, low=-100.0, high=100.0),
    ]
    others = [Measured(f"X{i}", "others", f"x{i}", Linear(), 2 * S) for i in range(extra)]
    computed = (
        Computed("D", parse_formula("a - e"), (("a", "A"), ("e", "E")), "A", 2 * S),
        Computed("Q", parse_formula("a / e"), (("a", "A"), ("e", "E")), "E", 2 * S),
        *(
            Voted(f"V{end}", ("A", "E", "C"), 2, 2 * S, take)
            for end, take in zip(("", "~upper", "~lower", "~spread"), Take, strict=True)
        ),
        Voted("W", ("A", "D"), 1, 2 * S, Take.UPPER),
        Computed("VD", parse_formula("v - a"), (("v", "V"), ("a", "A")), "V", 2 * S),
    )
    filtered = (
        Filtered("A~median", "A", median_of=3),
        Filtered("B~lag", "B", lag_ns=S),
        Filtered("E~mean", "E", mean_ns=4 * S),
        Filtered("V~median", "V", median_of=5),
    )
    derived = (
        Slope("A~slope", "A", 2 * S, S),
        TimeTo("A~time", "A~median", 3 * S, 8.0, True, 1.2816),
        TimeTo("B~time", "B", 4 * S, 10.0, False, 0.8416),
        Unchanged("C~same", "C", 0.5),
        NoStart("E~start", "E"),
        OffProfile("A~profile", "A", ((0, 0.0), (5 * S, 4.0), (9 * S, -3.0)), is_absolute=True),
        OffProfile("E~plan", "E~mean", ((0, -2.0), (30 * S, 5.0)), is_over_run=True),
    )
    system = (System("link:lines"), System("link:nodes"), System("host:recording"))
    channels = ChannelsPlan((*others, *measured), system, computed, filtered, derived)
    rows = _limits(channels)
    limits = tuple(limit for limit, _ in rows)
    column = channels.column
    return Plan(
        channels,
        limits,
        AlarmsPlan(
            tuple(alarm for _, alarm in rows),
            PHASES,
            MODES,
            conditions=(
                Limit("A above 2", column["A~median"], Kind.HIGH, 2.0, on_delay_ns=S),
                Limit("E below 3", column["E"], Kind.LOW, 3.0),
                Limit("B above 55", column["B"], Kind.HIGH, 55.0, deadband=2.0),
                Limit("A below 0", column["A"], Kind.LOW, 0.0, off_delay_ns=S // 2),
            ),
            automatic=(
                AutomaticEntry("climb", frozenset({"ground", "hold"}), (0, 1)),
                AutomaticEntry("hold", frozenset({"climb"}), (1, 2, 3)),
            ),
            forcible={one.tag: (one.low, one.high) for one in measured},
            lapses=tuple(
                (i, "climb") for i, one in enumerate(limits) if one.kind is Kind.PHASE_OVERLONG
            ),
        ),
    )


def _limits(channels: ChannelsPlan) -> list[tuple[Limit, Alarm]]:
    """Make limits of every kind, with every option somewhere."""
    column = channels.column

    def limit(tag: str, on: str, kind: Kind, setpoint: float, **more: object) -> Limit:
        return Limit(f"{tag}.{kind}", column[on], kind, setpoint, **more)  # type: ignore[arg-type]

    limits = [
        limit("A", "A~median", Kind.HIGH, 5.0, deadband=1.0, on_delay_ns=S, bridge_ns=S),
        limit("A", "A", Kind.LOW, -5.0, deadband=0.5, setpoint_in={"climb": -2.0}),
        limit("A", "A", Kind.STALE, 0.0),
        limit(
            "B", "B", Kind.HIGH_HIGH, 60.0, deadband=5.0, bridge_ns=S, raises_on_bad=True,
            setpoint_in={"climb": 40.0, "hold": 80.0, "loop_only": 50.0}, off_delay_ns=S,
        ),
        limit("B", "B~lag", Kind.HIGH, 50.0, deadband=2.0, on_delay_ns=2 * S, bridge_ns=2 * S),
        limit("B", "B", Kind.FAULT, 0.0, on_delay_ns=S // 2, bridge_ns=S),
        limit("C", "C", Kind.LOW_LOW, -10.0, on_delay_ns=S // 10, off_delay_ns=S // 5),
        limit("C", "C", Kind.STALE, 0.0, on_delay_ns=S),
        limit("D", "D", Kind.HIGH, 6.0, deadband=1.0, on_delay_ns=S // 4),
        limit("Q", "Q", Kind.LOW, 0.0, deadband=0.1),
        limit("T", "T", Kind.HIGH, 30.0, deadband=2.0),
        limit("E", "E", Kind.FAULT, 0.0),
        limit("link:nodes", "link:nodes", Kind.HIGH, 0.5, on_delay_ns=S),
        limit("host:recording", "host:recording", Kind.HIGH, 0.5),
        *_newer(limit),
    ]  # fmt: skip
    limits += _joined(limits)
    priorities = list(Priority)
    return [
        (one, _alarm(i, one, priorities[i % len(priorities)])) for i, one in enumerate(limits)
    ]


def _newer(limit: Callable[..., Limit]) -> list[Limit]:
    """Make limits that count, sleep, expect, and are watched in places only."""
    return [
        limit("D", "D", Kind.HIGH_HIGH, 3.0, deadband=0.5, n_of_m=(2, 4)),
        limit("D", "D", Kind.LOW, -3.0, n_of_m=(3, 3), off_delay_ns=S, bridge_ns=S // 2),
        limit("E", "E", Kind.HIGH, 4.0, deadband=1.0, is_arming=True, on_delay_ns=S // 2),
        limit(
            "E", "E", Kind.LOW, -4.0, deadband=1.0, is_arming=True, bridge_ns=S,
            watched_in=frozenset({"climb", "hold"}), raises_on_bad=True,
        ),
        limit(
            "A", "A", Kind.EXPECTED, 4.0, is_once=True, on_delay_ns=5 * S,
            watched_in=frozenset({"climb"}), setpoint_in={"loop_only": 6.0},
        ),
        limit(
            "C", "C", Kind.EXPECTED, -5.0, is_once=True, expects_low=True, deadband=1.0,
            on_delay_ns=2 * S, off_delay_ns=S, watched_in=frozenset({"ground", "loop_only"}),
        ),
        limit(
            "B", "B", Kind.LOW, 30.0, deadband=3.0, watched_in=frozenset({"hold"}),
            on_delay_ns=S, bridge_ns=S, n_of_m=(0, 0),
        ),
        limit(
            "D", "D", Kind.BUDGET, 1.0, deadband=1.0, n_of_m=(2, 3), is_arming=True,
            watched_in=frozenset({"ground", "hold"}), setpoint_in={"loop_only": 4.0},
        ),
        limit("D", "D", Kind.DEVIATION, 8.0, n_of_m=(1, 3), watched_in=frozenset({"ground"})),
        limit("A", "A~slope", Kind.RATE_OF_RISE, 6.0, deadband=1.0, bridge_ns=3 * S),
        limit(
            "A", "A~slope", Kind.RATE_OF_FALL, -6.0, deadband=1.0, bridge_ns=3 * S,
            raises_on_bad=True,
        ),
        limit("A", "A~time", Kind.TIME_TO_LIMIT, 5.0, deadband=1.0, on_delay_ns=S // 4),
        limit("B", "B~time", Kind.TIME_TO_LIMIT, 9.0, setpoint_in={"hold": 3.0}),
        limit("C", "C~same", Kind.STUCK, 0.5, on_delay_ns=S // 2, bridge_ns=S),
        limit("E", "E~start", Kind.LATE, 0.5, on_delay_ns=6 * S, bridge_ns=S),
        limit(
            "E", "E~start", Kind.MISSED, 0.5, on_delay_ns=3 * S, bridge_ns=S,
            watched_in=frozenset({"climb", "hold"}),
        ),
        limit("E", "E", Kind.OVERLONG, 0.5, on_delay_ns=3 * S, bridge_ns=S),
        limit("A2", "A~profile", Kind.DEVIATION, 6.0, watched_in=frozenset({"climb"})),
        limit("E", "E~plan", Kind.BUDGET, 3.0, deadband=0.5),
        limit("V", "V~upper", Kind.HIGH, 5.0, deadband=0.5, on_delay_ns=S // 4),
        limit("V", "V~lower", Kind.LOW, -5.0, deadband=0.5),
        limit("V", "V~spread", Kind.DISAGREEMENT, 15.0, bridge_ns=S // 2),
        limit("V", "V~median", Kind.HIGH_HIGH, 7.0, raises_on_bad=True, bridge_ns=S),
        limit("W", "W", Kind.HIGH, 9.0),
        limit("VD", "VD", Kind.STATE, 0.5),
    ]  # fmt: skip


def _joined(limits: Sequence[Limit]) -> list[Limit]:
    """Make what stands without a column: a phase that lasts, and combinations."""
    at = {one.id: i for i, one in enumerate(limits)}
    first = len(limits) + 1

    def joined(tag: str, text: str, inputs: Sequence[int], **more: object) -> Limit:
        names = tuple(zip("abc", inputs, strict=False))
        return Limit(
            f"{tag}.combination", NO_COLUMN, Kind.COMBINATION,
            condition=parse_condition(text), inputs=names, **more,
        )  # type: ignore[arg-type]  # fmt: skip

    return [
        Limit(
            "phase:climb.phase_overlong", NO_COLUMN, Kind.PHASE_OVERLONG,
            watched_in=frozenset({"climb"}), on_delay_ns=7 * S,
        ),
        joined("UA-1", "a and not b", [at["A.high"], at["B.high"]], on_delay_ns=S // 2),
        joined("UA-2", "a or at_least(2, a, b, c)", [at["B.high_high"], at["Q.low"], first]),
        joined("UA-3", "not a", [first + 1], off_delay_ns=S),
        joined("UA-4", "a and b", [at["A.stale"], first - 1], on_delay_ns=S),
        joined(
            "UA-5", "a or not b", [at["B.high_high"], at["A.low"]], on_delay_ns=S // 2,
            watched_in=frozenset({"climb", "loop_only"}),
        ),
    ]  # fmt: skip


#: Consequences of other alarms, some of a consequence, one of two.
_CAUSES = {
    "E.fault": ("link:nodes.high",),
    "E.late": ("E.fault",),
    "D.high": ("A.high", "link:nodes.high"),
    "A.stale": ("UA-1.combination",),
    "link:nodes.high": ("host:recording.high",),
}
_GROUPS = {"A.low": "first", "D.low": "first", "V.low": "first", "A.high": "up", "V.high": "up"}


def _alarm(i: int, one: Limit, priority: Priority) -> Alarm:
    """Make the alarm of a limit, with every option somewhere."""
    hidden_in = {"climb"} if i % 4 == 1 else {"loop_only"} if i % 7 == 2 else set()
    tag = one.id.split(".")[0]
    return Alarm(
        one.id,
        tag,
        priority,
        f"message {i}",
        is_latching=i % 3 == 0,
        suppressed_in=frozenset(hidden_in),
        suppressed_by=_CAUSES.get(one.id, ()),
        clears_by_itself=i % 5 == 2,
        realarm_ns=(i % 3) * 4 * S,
        milder=f"{tag}.high" if one.kind is Kind.HIGH_HIGH else "",
        group=_GROUPS.get(one.id, ""),
        lag_ns=(i % 4) * S // 4,
        period_ns=S // 4,
    )


@dataclass(frozen=True, slots=True)
class Arrival:
    """Something that is handed over at *at_ns*: a block or a control."""

    at_ns: int
    block: Block | None = None
    control: Control | None = None


def arrivals(rng: np.random.Generator) -> list[Arrival]:
    """Make a random run of 40 s, in the order in which it is handed over."""
    out = [*_lines(rng), *_nodes(rng), *_controls(rng)]
    out.sort(key=lambda one: one.at_ns)
    return out


def _walk(rng: np.random.Generator, rows: int, width: int) -> np.ndarray:
    """Make a wandering signal with steps, so that limits are crossed often."""
    steps = rng.normal(0, 1.0, (rows, width)) * rng.choice([0.1, 1.0, 4.0], (rows, width))
    return np.round(steps.cumsum(axis=0) % 20 - 10, 2)


def _lines(rng: np.random.Generator) -> list[Arrival]:
    """An instrument at 4 Hz in reads of several rows, with holes, faults and a gap."""
    period = S // 4
    rows = SPAN_NS // period
    t_ns = START_NS + np.arange(1, rows + 1) * period + rng.integers(0, period // 4, rows)
    values = _walk(rng, rows, 4)
    values[:, 1] = np.clip(12 + values[:, 1], 3.0, 21.5)
    values[:, 2] = np.clip(12 + values[:, 2], 3.0, 21.5)
    values[rng.random(values.shape) < 0.03] = np.nan
    out: list[Arrival] = []
    i = 0
    while i < rows:
        n = int(rng.integers(1, 5))
        part = slice(i, min(i + n, rows))
        block = Block("lines", _LINES, t_ns[part].astype(np.int64), values[part])
        if rng.random() > 0.06:
            out.append(Arrival(int(block.t_ns[-1]), block))
        i += n if rng.random() > 0.03 else n + int(rng.integers(8, 20))
    return out


def _nodes(rng: np.random.Generator) -> list[Arrival]:
    """A node at about 1 Hz, unequal stamps, packs out of order, equal times, old values."""
    t, out = START_NS, []
    while t < START_NS + SPAN_NS:
        t += int(rng.integers(S // 2, 3 * S))
        times = np.array([t - S // 4, t], dtype=np.int64)
        if rng.random() < 0.2:
            times = times[::-1].copy()
        values = np.round(rng.normal(0, 5, (2, 1)), 1)
        if rng.random() < 0.1:
            values *= 40
        is_old = bool(rng.random() < 0.1)
        block = Block("nodes", _NODES, times, values, is_old=is_old)
        out.append(Arrival(t, block))
        if rng.random() < 0.15:
            out.append(Arrival(t, replace(block, values=values + 1)))
    return out


def _controls(rng: np.random.Generator) -> list[Arrival]:
    """Actions, link changes and host events, some of them refused."""
    limits = [limit.id for limit in plan_of().limits]
    rows: list[Action | LinkChange | HostEvent] = [HostEvent("run_started", "a run")]
    for _ in range(45):
        subject = str(rng.choice([*limits, "*"]))
        second = str(rng.choice(["", "A. Marl", "B. voss "]))
        rows.append(
            [
                Action("acknowledge", subject, "A. Marl"),
                Action("acknowledge", "*", "B. Voss"),
                Action("acknowledge", " ".join(rng.choice(limits, 5)), "B. Voss"),
                Action("reset", str(rng.choice([subject, "*"])), "A. Marl"),
                Action("silence", "", "A. Marl"),
                Action("lamp_test", "", "A. Marl"),
                Action("enter_phase", str(rng.choice([*PHASES, "moon"])), "A. Marl"),
                Action("enter_mode", str(rng.choice([*MODES, "moon"])), "A. Marl", "a try"),
                _edit(rng),
                Action(
                    "shelve", subject, "B. Voss", "noisy", float(rng.integers(1, 9)), second
                ),
                Action("unshelve", subject, "B. Voss"),
                Action("out_of_service", subject, "B. Voss", "sensor out", 0.0, second),
                Action("return_to_service", subject, "B. Voss", "sensor back"),
                _forced(rng, second),
                Action("unforce", str(rng.choice(list("ABCTE"))), "B. Voss"),
                LinkChange("lines", bool(rng.random() < 0.5), "unplugged", "plug it in"),
                LinkChange("nodes", bool(rng.random() < 0.5), "broker gone"),
                HostEvent(
                    "recording_stopped" if rng.random() < 0.5 else "recording_resumed", "disk"
                ),
            ][int(rng.integers(18))]
        )
    times = np.sort(rng.integers(1, SPAN_NS // (S // 4), len(rows))) * (S // 4)
    times[0] = 1
    return [
        Arrival(START_NS + int(t), control=Control(START_NS + int(t), seq, what))
        for seq, (t, what) in enumerate(zip(times, rows, strict=True))
    ]


def _forced(rng: np.random.Generator, second: str) -> Action:
    """Force a value, now and then to what the sensor cannot give."""
    tag = str(rng.choice(list("ABCTE")))
    value = float(rng.choice([-300.0, -8.0, 0.25, 7.0, 45.0]))
    seconds = float(rng.choice([0.25, 2.0, 6.5]))
    return Action("force", tag, "B. Voss", "stuck", seconds, second, {"value": value})


def _edit(rng: np.random.Generator) -> Action:
    """Edit one of some limits."""
    subject, changes = [
        ("A.low", {"setpoint": float(rng.integers(-9, 2))}),
        ("A.low", {"setpoint_in.climb": float(rng.integers(-9, 2)), "deadband": 0.25}),
        ("C.low_low", {"setpoint": -8.0, "on_delay_s": 0.5}),
        ("E.high", {"setpoint": 3.0, "deadband": 2.0}),
        ("D.high_high", {"setpoint": 7.0}),
        ("A.expected", {"setpoint": 5.0, "on_delay_s": 2.0}),
        ("UA-1.combination", {"on_delay_s": float(rng.integers(0, 3))}),
        ("E.fault", {"on_delay_s": 1.0}),
    ][int(rng.integers(8))]
    return Action(
        "edit_limit", subject, "B. Voss", "too tight", second="A. Marl", changes=changes
    )


@dataclass(frozen=True, slots=True)
class Result:
    """What a run gave, to the byte."""

    events: tuple[Event, ...]
    saved: bytes


def run_in_cuts(
    plan: Plan,
    rows: Sequence[Arrival],
    cuts: Sequence[int],
    *,
    restore_at: int = -1,
    start_ns: int = START_NS,
) -> Result:
    """Run *rows* in steps that end at *cuts*; each row is handed over in time for its W.

    Args:
        plan: The stand.
        rows: In the order in which they are handed over.
        cuts: Rising W of each step; the last must be after everything.
        restore_at: Number of the step before which the pipeline is saved and restored.
        start_ns: When the run starts.
    """
    pipeline = Pipeline(plan, start_ns)
    events: list[Event] = []
    left = list(rows)
    for number, until_ns in enumerate(cuts):
        if number == restore_at:
            pipeline = Pipeline.restore(plan, pipeline.save())
        due = [one for one in left if _first_ns(one) <= until_ns]
        left = [one for one in left if _first_ns(one) > until_ns]
        step = pipeline.step(
            [Admitted(one.block) for one in due if one.block is not None],
            [one.control for one in due if one.control is not None],
            until_ns,
        )
        events.extend(step.events)
    return Result(tuple(events), pipeline.save())


def _first_ns(one: Arrival) -> int:
    """Give the earliest time in an arrival."""
    return one.control.t_ns if one.control else int(one.block.t_ns.min())  # type: ignore[union-attr]


def cuts_of(rng: np.random.Generator, pieces: int) -> list[int]:
    """Cut the run into about *pieces* steps at random, some of them at due times."""
    random = rng.integers(1, SPAN_NS, pieces)
    at_due = rng.integers(1, SPAN_NS // (S // 4), pieces) * (S // 4)
    ends = {int(x) for x in (*random, *at_due)}
    return [*(START_NS + x for x in sorted(ends)), START_NS + SPAN_NS + 20 * S]


def noise_of(channels: int, rng: np.random.Generator) -> list[Arrival]:
    """Make blocks for the extra channels of :func:`plan_of`, at 2 Hz."""
    signals = tuple(f"x{i}" for i in range(channels))
    times = START_NS + np.arange(1, SPAN_NS // (S // 2)) * (S // 2)
    return [
        Arrival(
            int(t),
            Block("others", signals, np.array([t]), rng.normal(0, 9, (1, channels))),
        )
        for t in times
    ]


def shifted(one: Arrival, by_ns: int) -> Arrival:
    """Give the same arrival at another time."""
    block, control = one.block, one.control
    if block is not None:
        block = replace(block, t_ns=block.t_ns + by_ns)
    if control is not None:
        control = Control(control.t_ns + by_ns, control.seq, control.what)
    return Arrival(one.at_ns + by_ns, block, control)


def shifted_event(event: Event, by_ns: int) -> Event:
    """Give the same event at another time; every field in ns is a time."""
    fields = {
        name: value + by_ns if name.endswith("_ns") and isinstance(value, int) else value
        for name, value in event.fields.items()
    }
    return Event(event.t_ns + by_ns, event.kind, event.subject, fields)
