"""Tests for drivers.virtual.memory.

Source: tests/golden/gondola/expected.toml, by reason from the script and the rig's physics;
the whole product is between: rig, wires, drivers, stand file, pipeline.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from drivers.registry import instrument_kinds
from drivers.virtual.memory import MemoryWires, Moment
from drivers.virtual.scenario import load_scenario
from monitor.events import Action, Control, Event, HostEvent
from monitor.pipeline import Pipeline
from monitor.record.journal import Chain
from monitor.samples import Admitted
from monitor.stand.load import load_stand

ROOT = Path(__file__).parents[2]
EXPECTED = tomllib.loads(
    (Path(__file__).with_name("gondola") / "expected.toml").read_text(encoding="utf-8")
)
START_NS = 1_800_000_000_000_000_000


@dataclass(frozen=True)
class Run:
    """A run on the memory wire.

    Attributes:
        events: Everything the journal would hold.
        journal: The same, as the journal's bytes.
        counts: What the drivers could not use.
    """

    events: list[Event]
    journal: bytes
    counts: dict[str, int]


def controls_of(moment: Moment, seq: int) -> list[Control]:
    """Do what the script asks of the operator."""
    made = []
    for number, step in enumerate(moment.steps):
        verb = "enter_phase" if step.enter_phase else "note"
        what = Action(verb, step.enter_phase, "demo script", step.note)
        made.append(Control(moment.t_ns, seq + number, what))
    return made


@lru_cache(maxsize=2)
def run_with(seed: int, ticks_a_step: int) -> Run:
    """Play the whole script into a pipeline that is stepped every *ticks_a_step*."""
    stand = load_stand(
        ROOT / "configs" / "gondola.toml", instrument_kinds(), today=date(2026, 11, 24)
    )
    settings = {entry.name: entry.settings for entry in stand.instruments}
    wires = MemoryWires(settings, load_scenario("gondola"), seed, START_NS)
    pipeline, chain = Pipeline(stand.plan, START_NS), Chain()
    controls = [Control(START_NS + 1, 0, HostEvent("run_started"))]
    admitted: list[Admitted] = []
    events: list[Event] = []
    seq = 1
    for number, moment in enumerate(wires, 1):
        new = controls_of(moment, seq)
        seq += len(new)
        controls += new
        admitted += [Admitted(block) for block in moment.blocks]
        if number % ticks_a_step == 0 and moment.t_ns - stand.lag_ns > START_NS:
            events += pipeline.step(admitted, controls, moment.t_ns - stand.lag_ns).events
            admitted, controls = [], []
    events += pipeline.step(admitted, controls, moment.t_ns).events
    journal = b"\n".join(chain.line(event) for event in events)
    return Run(events, journal, dict(wires.sink.counts))


@pytest.fixture(scope="module")
def run() -> Run:
    """Give the run of seed 1."""
    return run_with(1, 50)


def at_s(event: Event) -> float:
    return (event.t_ns - START_NS) / 1e9


def test_something_is_expected() -> None:
    assert len(EXPECTED["events"]) > 20
    assert len(EXPECTED["quiet"]) == 2


def assert_found_in_order(events: list[Event], expected: list[dict[str, Any]]) -> None:
    """Find each expected event within its time, none before the one expected before it."""
    place = 0
    for wanted in expected:
        name = f"{wanted['kind']} {wanted['subject']} at {wanted['at_s']} s: {wanted['why']}"
        found = next(
            (
                n
                for n, event in enumerate(events[place:], place)
                if (event.kind, event.subject) == (wanted["kind"], wanted["subject"])
                and abs(at_s(event) - wanted["at_s"]) <= wanted["within_s"]
            ),
            None,
        )
        assert found is not None, f"missing: {name}"
        place = found + 1


def test_the_journal_holds_what_a_practitioner_expects_in_order(run: Run) -> None:
    assert_found_in_order(run.events, EXPECTED["events"])


@pytest.mark.parametrize("quiet", EXPECTED["quiet"], ids=lambda quiet: quiet["why"])
def test_nothing_is_raised_while_all_is_well(run: Run, quiet: dict[str, Any]) -> None:
    loud = [
        event
        for event in run.events
        if event.kind.startswith(("alarm.", "condition."))
        and event.kind not in ("alarm.cleared", "condition.off")
        and quiet["from_s"] < at_s(event) < quiet["until_s"]
    ]

    assert loud == []


def shown(run: Run) -> list[Event]:
    """Give the alarms that the conductor was shown."""
    return [
        event
        for event in run.events
        if event.kind == "alarm.annunciated"
        or (event.kind == "alarm.raised" and event.fields["is_annunciated"])
    ]


def test_the_conductor_is_shown_only_what_matters(run: Run) -> None:
    assert {event.subject for event in shown(run)} == set(EXPECTED["annunciated"]["only"])
    assert len(shown(run)) == len(EXPECTED["annunciated"]["only"])


def test_every_script_entry_is_in_the_journal(run: Run) -> None:
    steps = [step for step in load_scenario("gondola").steps if step.wants_operator]
    done = [e for e in run.events if e.kind in ("action.note", "phase.entered")]

    # The first phase needs no step.
    assert len(done) == len(steps) + 1


def test_the_drivers_could_use_all_that_the_rig_sent(run: Run) -> None:
    assert run.counts == {}


def test_the_same_seed_gives_the_same_journal_byte_for_byte(run: Run) -> None:
    # Also cut into other steps: the journal must not know.
    assert run_with(1, 7).journal == run.journal
    assert len(run.journal) > 10_000


@pytest.mark.soak
def test_another_seed_gives_the_same_events_within_their_times() -> None:
    other = run_with(2, 50)

    assert_found_in_order(other.events, EXPECTED["events"])
    assert {event.subject for event in shown(other)} == set(EXPECTED["annunciated"]["only"])
