"""Random histories for the alarm stage: much at one instant, every option somewhere."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from monitor.alarms.items import Item, Moved
from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.alarms.stage import Alarms
from monitor.events import Action, Control, Event, Verb
from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import Place
from monitor.samples import Quality
from tests.monitor.reference.slow_alarms import SlowAlarms
from tests.monitor.reference.slow_channels import Sample

S = 1_000_000_000
PHASES, MODES = ("ground", "climb", "hold"), ("normal", "loop_only")
PEOPLE = ("A. Marl", "a. marl", "B. Voss", "")
TURNS = {
    Turn.RAISED: "raised",
    Turn.CLEARED: "cleared",
    Turn.PENDING_LOST: "lost",
    Turn.ARMED: "armed",
}
VERBS: tuple[Verb, ...] = (
    "acknowledge",
    "acknowledge",
    "reset",
    "shelve",
    "unshelve",
    "out_of_service",
    "return_to_service",
    "silence",
    "lamp_test",
)


def plan_of(rng: np.random.Generator, count: int = 12) -> AlarmsPlan:
    """Make a plan; causes are named in any order of positions, and never in a loop."""
    ids = [f"P{i}.high" for i in range(count)]
    order = rng.permutation(count).tolist()
    rows = []
    for i in range(count):
        before = [ids[k] for k in order[: order.index(i)]]
        causes = rng.choice(before, min(len(before), 2), replace=False).tolist()
        rows.append(
            Alarm(
                ids[i],
                f"P{i}",
                list(Priority)[int(rng.integers(5))],
                f"message {i}",
                is_latching=bool(rng.random() < 0.3),
                suppressed_in=frozenset(
                    name for name in (*PHASES, *MODES) if rng.random() < 0.15
                ),
                suppressed_by=tuple(causes) if rng.random() < 0.4 else (),
                clears_by_itself=bool(rng.random() < 0.2),
                realarm_ns=int(rng.integers(2, 6)) * S if rng.random() < 0.4 else 0,
                milder=str(rng.choice(before)) if before and rng.random() < 0.3 else "",
                group=str(rng.choice(["", "one", "two"])),
                lag_ns=int(rng.integers(0, 3)) * S // 2,
                period_ns=int(rng.integers(0, 3)) * S // 2,
            )
        )
    return AlarmsPlan(tuple(rows), PHASES, MODES, lapses=((0, "climb"), (1, "hold")))


@dataclass
class History:
    """What happens, in its order, and how good the values are all the time."""

    plan: AlarmsPlan
    items: list[Item] = field(default_factory=list)
    quality: list[int] = field(default_factory=list)


def history_of(rng: np.random.Generator, instants: int = 60) -> History:
    """Make a history; edges of a limit take turns, as the limits give them."""
    plan = plan_of(rng)
    count = len(plan.alarms)
    history = History(plan)
    history.quality = rng.choice([Quality.GOOD, Quality.STALE], count, p=[0.7, 0.3]).tolist()
    stands, place, t_ns = [False] * count, Place(PHASES[0], MODES[0]), 0
    for _ in range(instants):
        t_ns += int(rng.integers(1, 5)) * S // 2
        for _ in range(int(rng.integers(0, 3))):
            history.items.append(_control(rng, t_ns, plan))
        for moves in range(int(rng.integers(1, 3))):
            if moves or rng.random() < 0.15:
                place = _place(rng, place)
                is_phase = bool(rng.random() < 0.6)
                what = "phase" if is_phase else "mode"
                history.items.append(Moved(t_ns, what, place, "A. Marl", "on time"))
            for i in sorted(rng.choice(count, int(rng.integers(0, 4)), replace=False)):
                history.items.append(_edge(rng, t_ns, int(i), stands))
    return history


def _place(rng: np.random.Generator, place: Place) -> Place:
    """Give another phase or mode, or the same again."""
    if rng.random() < 0.5:
        return Place(str(rng.choice(PHASES)), place.mode)
    return Place(place.phase, str(rng.choice(MODES)))


def _control(rng: np.random.Generator, t_ns: int, plan: AlarmsPlan) -> Control:
    """Make something that a person does, or tries to do."""
    verb = VERBS[int(rng.integers(len(VERBS)))]
    ids = [alarm.id for alarm in plan.alarms]
    subject = str(rng.choice(ids))
    if verb in ("acknowledge", "reset") and rng.random() < 0.2:
        subject = "*"
    elif verb == "acknowledge" and rng.random() < 0.3:
        subject = " ".join(rng.choice([*ids, "moon"], 3, replace=False))
    seconds = float(rng.integers(1, 12)) / 2
    second = str(rng.choice(PEOPLE))
    return Control(t_ns, 0, Action(verb, subject, "A. Marl", "noisy", seconds, second))


def _edge(rng: np.random.Generator, t_ns: int, i: int, stands: list[bool]) -> Edge:
    """Let a limit turn."""
    turn = Turn(rng.choice([0, Turn.PENDING_LOST, Turn.ARMED], p=[0.9, 0.05, 0.05]) or 1)
    if turn is Turn.RAISED:
        turn = Turn.CLEARED if stands[i] else Turn.RAISED
        stands[i] = not stands[i]
    onset_ns = t_ns - int(rng.integers(0, 5)) * S // 2
    return Edge(t_ns, i, turn, onset_ns, 151.0, Quality.GOOD, 150.0)


def fast_run(
    history: History, cuts: list[int], restart_at: int = -1
) -> tuple[list[Event], Alarms]:
    """Run a history through the product, in steps that end at *cuts*."""
    stage, events, left = Alarms(history.plan, 0), list[Event](), list(history.items)
    for number, until_ns in enumerate(cuts):
        if number == restart_at:
            saved, stage = stage.state(), Alarms(history.plan, 7)
            stage.load_state(saved)
        due = [item for item in left if item.t_ns <= until_ns]
        left = left[len(due) :]
        new, _ = stage.step(due, until_ns, lambda i, _t: history.quality[i])
        events += new
    return events, stage


def slow_run(history: History, until_ns: int) -> SlowAlarms:
    """Run a history through the slow reference, one thing after the other."""

    def held_of(i: int) -> Sample:
        return Sample(0, 1.0, history.quality[i])

    slow = SlowAlarms(history.plan, Place(PHASES[0], MODES[0]), held_of)
    for item in history.items:
        fall_due_before(slow, item.t_ns)
        if isinstance(item, Edge):
            onset = (item.onset_ns, item.value or math.nan, item.quality, item.setpoint)
            slow.edges(item.t_ns, [(item.limit, TURNS[item.turn], onset)])
        elif isinstance(item, Moved):
            name = item.place.phase if item.what == "phase" else item.place.mode
            slow.say(item.t_ns, f"{item.what}.entered", name, by=item.by, reason=item.reason)
            slow.go(item.t_ns, item.place, is_phase=item.what == "phase")
        elif isinstance(item, Control) and isinstance(item.what, Action):
            slow.tell_edges()
            slow.act(item.t_ns, item.what)
    fall_due_before(slow, until_ns + 1)
    return slow


def fall_due_before(slow: SlowAlarms, t_ns: int) -> None:
    """Let everything happen that falls due by itself before an instant."""
    while True:
        if slow.waiting and slow.waiting_ns < t_ns:
            slow.tell_edges()
        dues = [due for due in slow.dues() if due < t_ns]
        if not dues:
            return
        slow.fall_due(min(dues))
