"""Tests for configs.

Source: Pt100 at 15, 20 and 25 °C from IEC 60751:2008, table 1; the rest hand-worked here.
"""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import msgspec
import numpy as np
import pytest

from drivers.instruments import mqtt_settings, polled_settings, serial_lines
from drivers.reading import Block
from drivers.registry import instrument_kinds
from monitor.events import Action, Control
from monitor.pipeline import Pipeline, Step
from monitor.samples import Admitted
from monitor.stand import schema, schema_limits, schema_phases
from monitor.stand.load import load_stand
from monitor.stand.model import Stand
from monitor.stand.summary import describe_check

CONFIGS = Path(__file__).parents[2] / "configs"
FILES = sorted(CONFIGS.glob("*.toml"))
#: A day on which the calibrations in the files hold.
TODAY = date(2026, 11, 24)
S = 1_000_000_000
START_NS = 1_800_000_000 * S


def test_every_key_of_a_stand_file_is_listed_for_those_who_write_one() -> None:
    listed = set(re.findall(r"\w+", (CONFIGS / "README.md").read_text(encoding="utf-8")))
    modules = (
        schema, schema_limits, schema_phases, mqtt_settings, polled_settings, serial_lines,
    )  # fmt: skip
    tables = {
        table
        for module in modules
        for table in vars(module).values()
        if isinstance(table, type) and issubclass(table, msgspec.Struct)
    }
    keys = {field.encode_name for table in tables for field in msgspec.structs.fields(table)}

    assert len(keys) > 100
    assert keys - listed == set()


def test_there_are_stand_files() -> None:
    assert {path.name for path in FILES} >= {"gondola.toml", "small_bench.toml"}


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_each_stand_file_loads_without_a_warning(path: Path) -> None:
    stand = load_stand(path, instrument_kinds(), today=TODAY)

    assert stand.warnings == ()
    assert stand.name == path.stem


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_each_stand_file_has_a_summary_with_every_limit(path: Path) -> None:
    stand = load_stand(path, instrument_kinds(), today=TODAY)
    text = "\n".join(describe_check(stand))

    assert stand.limit_times
    assert all(f"\n{time.id} " in text for time in stand.limit_times)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_each_alarm_of_a_stand_file_says_what_to_do(path: Path) -> None:
    stand = load_stand(path, instrument_kinds(), today=TODAY)

    silent = [
        alarm.id
        for alarm in stand.plan.alarms.alarms
        if alarm.priority != "journal" and not alarm.response
    ]
    assert silent == []


# ------------------------------------------------------------------- the small bench at work


@pytest.fixture
def bench() -> Stand:
    return load_stand(CONFIGS / "small_bench.toml", instrument_kinds(), today=TODAY)


def readings(
    seconds: int, kpa: float, ohm: float, gauge_kpa: float, from_s: int = 0
) -> list[Admitted]:
    """Give what logger and gauge send over some seconds."""
    t_ns = START_NS + (from_s + np.arange(1, seconds + 1, dtype=np.int64)) * S
    ma = 4.0 + 16.0 * kpa / 600.0
    logger = np.tile([ma, ohm], (seconds, 1))
    gauge = np.full((len(t_ns[::2]), 1), gauge_kpa)
    return [
        Admitted(Block("logger", ("vessel_ma", "vessel_ohm"), t_ns, logger)),
        Admitted(Block("reference", ("pressure",), t_ns[::2] + 1, gauge)),
    ]


def newest(stand: Stand, step: Step, tag: str) -> float:
    column = stand.plan.channels.column[tag]
    return float(step.grid.value[step.grid.count[column] - 1, column])


def test_the_small_bench_turns_currents_and_resistances_into_values(bench: Stand) -> None:
    pipeline = Pipeline(bench.plan, START_NS)

    step = pipeline.step(readings(10, 500.0, 109.73, 499.0), [], START_NS + 10 * S + 2)

    # 109.73 ohm is 25 degC, by the table to 0.01 ohm, that is 0.026 K.
    assert newest(bench, step, "TT-101") == pytest.approx(25.0, abs=0.015)
    assert newest(bench, step, "PT-101") == pytest.approx(500.0, abs=1e-9)
    assert newest(bench, step, "PDY-101") == pytest.approx(1.0, abs=1e-9)
    assert newest(bench, step, "PY-101") == pytest.approx(500 * 293.15 / 298.15, abs=0.03)


@pytest.mark.parametrize(
    ("kpa", "ohm", "raised"),
    [
        (500.0, 107.79, []),
        # Cooled from 20 to 15 degC, nothing lost: 500 * 288.15 / 293.15.
        (491.47, 105.85, ["PT-101.low"]),
        (497.0, 107.79, ["PT-101.low", "PY-101.low"]),
    ],
)
def test_the_small_bench_tells_a_leak_from_cooling(
    kpa: float, ohm: float, raised: list[str], bench: Stand
) -> None:
    pipeline = Pipeline(bench.plan, START_NS)
    hold = Control(START_NS + 1, 1, Action("enter_phase", "hold", "M. Orlo"))

    step = pipeline.step(readings(200, kpa, ohm, kpa), [hold], START_NS + 200 * S + 2)

    assert [e.subject for e in step.events if e.kind == "alarm.raised"] == raised


def test_the_small_bench_tells_that_its_two_sensors_disagree(bench: Stand) -> None:
    pipeline = Pipeline(bench.plan, START_NS)

    step = pipeline.step(readings(60, 500.0, 107.79, 497.0), [], START_NS + 60 * S + 2)

    assert [e.subject for e in step.events if e.kind == "alarm.raised"] == [
        "PT-100.disagreement"
    ]


def filled(bench: Stand, kpa_per_s: float, phase: str) -> list[str]:
    """Fill the bench for a minute; give the alarms."""
    pipeline = Pipeline(bench.plan, START_NS)
    enter = Control(START_NS + 1, 1, Action("enter_phase", phase, "M. Orlo"))
    t_ns = START_NS + np.arange(1, 61, dtype=np.int64) * S
    ma = 4.0 + 16.0 * (200.0 + kpa_per_s * np.arange(60)) / 600.0
    values = np.column_stack([ma, np.full(60, 107.79)])
    block = Block("logger", ("vessel_ma", "vessel_ohm"), t_ns, values)

    step = pipeline.step([Admitted(block)], [enter], START_NS + 60 * S)
    return [e.subject for e in step.events if e.kind == "alarm.raised"]


# 100 kPa/min are 1.667 kPa/s.
@pytest.mark.parametrize(
    ("kpa_per_s", "phase", "raised"),
    [(1.6, "fill", False), (1.7, "fill", True), (1.7, "settle", False)],
)
def test_the_small_bench_is_filled_no_faster_than_its_note_says(
    kpa_per_s: float, phase: str, raised: bool, bench: Stand
) -> None:
    assert ("PT-101.rate_of_rise" in filled(bench, kpa_per_s, phase)) is raised


# ------------------------------------------------------------ what must come on the gondola


@pytest.mark.parametrize(("flow_ma", "raised_s"), [(4.0, [240.0]), (12.0, [])])
def test_the_gondola_tells_that_the_emergency_flow_does_not_come(
    flow_ma: float, raised_s: list[float]
) -> None:
    stand = load_stand(CONFIGS / "gondola.toml", instrument_kinds(), today=TODAY)
    pipeline = Pipeline(stand.plan, START_NS)
    descent = Control(START_NS + 1, 1, Action("enter_phase", "descent", "K. Vale"))
    t_ns = START_NS + np.arange(1, 301, dtype=np.int64) * S
    flow = Block("gas_panel", ("emergency_ma",), t_ns, np.full((300, 1), flow_ma))

    step = pipeline.step([Admitted(flow)], [descent], START_NS + 300 * S)

    assert [
        round((event.t_ns - START_NS) / S, 1)
        for event in step.events
        if event.subject == "FT-302.expected" and event.kind == "alarm.raised"
    ] == raised_s
