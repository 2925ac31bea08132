"""Tests for the rehearsal of a recorded run, as a process of its own.

Source: hand-worked here: the pressure of the run rises by 0.1 kPa each tenth of a second, so a
setpoint lower by 2 kPa is beyond it 2 s earlier.
"""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from drivers.reading import Block
from drivers.registry import instrument_kinds
from monitor.events import Action, Control, HostEvent
from monitor.pipeline import Pipeline
from monitor.record.frame import Frame
from monitor.record.writer import RunStart, RunWriter
from monitor.samples import Admitted
from monitor.stand.load import load_stand

STAND = """
[stand]
name = "bench"

[instruments.panel]
kind = "serial_lines"
port = "/dev/ttyUSB0"
baud = 115200
separator = ","
fields = ["p", "t"]

[channels.PT-1]
title = "Pressure"
unit = "kPa"
source = "panel.p"
range = [0, 200]
[channels.PT-1.limits.high]
setpoint = 112
deadband = 1
priority = "high"
response = "Vent."

[channels.TT-1]
title = "Temperature"
unit = "degC"
source = "panel.t"
range = [-20, 120]

[[phases]]
name = "ground"

[[phases]]
name = "climb"
"""
S = 1_000_000_000
START_NS = 1_788_000_000 * S
DAY = date(2026, 8, 29)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Record two minutes in which the pressure rises from 90 to 150 kPa and falls again."""
    stand = tmp_path / "bench.toml"
    stand.write_text(STAND, encoding="utf-8")
    pipeline = Pipeline(load_stand(stand, instrument_kinds(), today=DAY).plan, START_NS)
    start = RunStart("bench", STAND, START_NS, pipeline.save())
    writer = RunWriter.create(tmp_path / "runs", start)
    acts = {0: HostEvent("run_started"), 30: Action("enter_phase", "climb", "A. Roe", "go")}
    for second in range(120):
        t_ns = START_NS + second * S + np.arange(1, 11) * (S // 10)
        tenths = second * 10 + np.arange(1, 11)
        pressure = np.where(tenths <= 600, 90 + 0.1 * tenths, 210 - 0.1 * tenths)
        block = Block("panel", ("p", "t"), t_ns, np.column_stack((pressure, tenths * 0 + 20.0)))
        until_ns = START_NS + (second + 1) * S
        controls = [Control(until_ns, second, acts[second])] if second in acts else []
        step = pipeline.step((Admitted(block),), controls, until_ns)
        frame = Frame(second + 1, until_ns, (Admitted(block),), tuple(controls), 0, "")
        writer.write([frame], step.events)
    writer.close({"closed": True})
    return writer.folder


def rehearse(folder: Path, text: str, *options: str) -> subprocess.CompletedProcess[str]:
    """Run the command with a stand file of that text."""
    new = folder.parent / "new.toml"
    new.write_text(text, encoding="utf-8")
    command = [
        sys.executable,
        "-m",
        "monitor.cli",
        "rehearse",
        str(folder),
        "--stand",
        str(new),
    ]
    return subprocess.run([*command, *options], capture_output=True, text=True, check=False)


def test_with_its_own_stand_nothing_differs(folder: Path) -> None:
    done = rehearse(folder, STAND)

    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == (
        "1 run, 2 min 00 s: nothing differs; 1 alarm is the same under both stands\n"
    )


def test_a_lower_setpoint_says_how_much_earlier(folder: Path) -> None:
    done = rehearse(folder, STAND.replace("setpoint = 112", "setpoint = 110"))

    assert done.returncode == 0
    lines = done.stdout.splitlines()
    assert lines[0] == "1 run, 2 min 00 s: 1 of 7 limits differ in their alarms"
    assert lines[3].split("  ")[0] == "PT-1.high"
    assert lines[3].endswith("1 end at another time; setpoint 112 → 110")
    assert lines[-1].endswith("PT-1.high  earlier by 2 s (was 10:40:22.1), ends 2 s later")


def test_a_suggestion_and_all_numbers_come_as_one_document(folder: Path) -> None:
    done = rehearse(folder, STAND, "--suggest", "PT-1.high", "--json")

    data = json.loads(done.stdout)
    assert data["runs"][0]["differs"] is False
    assert data["suggestion"]["lasted"] == 1
    assert data["suggestion"]["choices"][0]["alarms"] == 1


def test_a_channel_that_the_run_lacks_is_bad_input(folder: Path) -> None:
    new = STAND.replace('fields = ["p", "t"]', 'fields = ["p", "q"]').replace(
        "panel.t", "panel.q"
    )
    done = rehearse(folder, new)

    assert (done.returncode, done.stdout) == (2, "")
    assert "channels.TT-1.source: 'panel.q' was not recorded in run-" in done.stderr
