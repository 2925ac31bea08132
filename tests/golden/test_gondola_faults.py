"""Tests for drivers.virtual.memory.

Source: hand-worked here from the rig's faults and from the setpoints, windows and delays in
configs/gondola.toml; each time stands beside why. The whole product is between: rig, wires,
drivers, stand file, pipeline.
"""

from __future__ import annotations

import tomllib
from datetime import date
from typing import Any

import pytest

from drivers.registry import instrument_kinds
from drivers.virtual.memory import MemoryWires
from drivers.virtual.scenario import Scenario, scenario_from
from monitor.events import Control, Event, HostEvent
from monitor.pipeline import Pipeline
from monitor.samples import Admitted
from monitor.stand.load import load_stand
from tests.golden.test_gondola import ROOT, START_NS, controls_of

SHIPPED = ROOT / "drivers" / "virtual" / "scenarios" / "gondola.toml"
#: The climb is that of the demo, up to the hold at 1020 s.
HOLD_S = 1020.0
STUCK = {"kind": "sensor_stuck", "target": "chamber_ma"}
HOLE = {"kind": "cabin_leak", "size": 150}
FLOW = {"kind": "valve_stuck", "target": "emergency", "size": 0.0}
STEPS: list[dict[str, Any]] = [
    {"at_s": 1030.0, "fault_on": [STUCK]},
    {"at_s": 1075.0, "fault_off": [{"kind": "sensor_stuck", "target": "chamber_ma"}]},
    {"at_s": 1080.0, "fault_on": [HOLE]},
    {"at_s": 1110.0, "fault_off": [{"kind": "cabin_leak"}], "fault_on": [FLOW]},
    {
        "at_s": 1120.0,
        "enter_phase": "descent",
        "set": {"chamber_target_pa": 101325.0},
        "note": "Down.",
    },
]
#: A hole of 150 mm2 takes 0.7 kPa/s out of the cabin. A line through 15 s of which the last
#: t s fall at that rate falls at 3 (t / 15)^2 of it: 3 kPa/min, 7 %, after 2.3 s.
EXPECTED = [
    ("PT-101.stuck", 1060.2, 0.5, "Stuck at 1030 s, for 30 s."),
    ("PT-401.rate_of_fall", 1082.4, 0.6, "The hole is there at 1080 s; see above."),
    ("PT-401.low", 1087.6, 1.0, "From 37.9 to 34 kPa in 5.6 s, and a delay of 2 s."),
    ("FT-302.expected", 1360.0, 0.5, "240 s after the descent began."),
]


def scenario() -> Scenario:
    """Give the climb of the demo, and then the faults."""
    shipped = tomllib.loads(SHIPPED.read_text(encoding="utf-8"))
    climb = [step for step in shipped["steps"] if step["at_s"] <= HOLD_S]
    return scenario_from({"title": "Faults", "end_s": 1370.0, "steps": [*climb, *STEPS]})


@pytest.fixture(scope="module")
def raised() -> list[Event]:
    """Give every alarm that was raised and annunciated, in order."""
    path = ROOT / "configs" / "gondola.toml"
    stand = load_stand(path, instrument_kinds(), today=date(2026, 11, 24))
    settings = {entry.name: entry.settings for entry in stand.instruments}
    pipeline = Pipeline(stand.plan, START_NS)
    controls = [Control(START_NS + 1, 0, HostEvent("run_started"))]
    admitted: list[Admitted] = []
    events: list[Event] = []
    seq = 1
    for number, moment in enumerate(MemoryWires(settings, scenario(), 1, START_NS), 1):
        new = controls_of(moment, seq)
        seq += len(new)
        controls += new
        admitted += [Admitted(block) for block in moment.blocks]
        if number % 50 == 0 and moment.t_ns - stand.lag_ns > START_NS:
            events += pipeline.step(admitted, controls, moment.t_ns - stand.lag_ns).events
            admitted, controls = [], []
    events += pipeline.step(admitted, controls, moment.t_ns).events
    return [
        one for one in events if one.kind == "alarm.raised" and one.fields["is_annunciated"]
    ]


@pytest.mark.parametrize(("subject", "at_s", "within_s", "why"), EXPECTED)
def test_each_fault_is_told_in_time(
    subject: str, at_s: float, within_s: float, why: str, raised: list[Event]
) -> None:
    times = [(one.t_ns - START_NS) / 1e9 for one in raised if one.subject == subject]

    assert len(times) == 1, why
    assert times[0] == pytest.approx(at_s, abs=within_s), why


def test_the_fall_of_the_cabin_is_told_before_its_low_pressure(raised: list[Event]) -> None:
    order = [one.subject for one in raised if one.subject.startswith("PT-401.")]

    assert order[:2] == ["PT-401.rate_of_fall", "PT-401.low"]
