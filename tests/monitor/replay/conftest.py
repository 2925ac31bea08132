"""What the tests of replay share: a small stand, and runs of it recorded as the engine does."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, date, datetime
from pathlib import Path

import msgspec
import numpy as np
import pytest

from drivers.reading import Block, Instrument
from drivers.registry import InstrumentKind
from monitor.events import Action, Control, HostEvent, LinkChange
from monitor.pipeline import Pipeline
from monitor.record.frame import Frame
from monitor.record.input_log import log_files
from monitor.record.run_folder import create_run_folder
from monitor.record.writer import RunStart, RunWriter
from monitor.samples import Admitted
from monitor.stand.load import load_stand

#: Its calibration was due a month after the run and has long been overdue since.
STAND = """
[stand]
name = "bench"
title = "Leak bench"

[instruments.panel]
kind = "pretended"
fields = ["ma", "counts"]

[channels.PT-1]
title = "Pressure"
unit = "bar"
source = "panel.ma"
convert = { kind = "current_loop", at_4mA = 0, at_20mA = 16 }
range = [0, 16]
stale_after_s = 2
calibration = { date = 2019-06-01, due = 2020-06-01, by = "A. Roe" }
[channels.PT-1.limits.high]
setpoint = 10
deadband = 1
priority = "high"
message = "Pressure high"
response = "Vent."

[channels.TT-1]
title = "Temperature"
unit = "degC"
source = "panel.counts"
convert = { kind = "linear", gain = 0.5 }
range = [-10, 200]
stale_after_s = 2

[channels.PY-1]
title = "Twice the pressure"
unit = "bar"
formula = "2 * p"
inputs = { p = "PT-1" }
span = [0, 32]

[[phases]]
name = "ground"
title = "Ground"
note = "At rest."

[[phases]]
name = "climb"
title = "Climb"
note = "Pressure rises."
"""
START_NS = int(datetime(2020, 5, 1, 12, tzinfo=UTC).timestamp()) * 1_000_000_000
STEP_NS = 1_000_000_000


class Settings(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Settings of an instrument that is never made."""

    fields: tuple[str, ...]


def never(name: str, settings: Settings) -> Instrument:
    """Refuse: a replay makes no instrument."""
    raise AssertionError(f"{name} was made")


KIND = InstrumentKind(
    name="pretended",
    title="An instrument of a test",
    settings=Settings,
    check=lambda _: None,
    signals=lambda settings: settings.fields,
    make=never,
)


class Bench:
    """A recorded run, made step by step: one second and four rows each.

    Attributes:
        folder: The run's folder.
        writer: Writes it.
    """

    def __init__(self, run_dir: Path) -> None:
        copy = create_run_folder(run_dir / "stand", "bench", STAND, START_NS) / "stand.toml"
        kinds = {"pretended": KIND}
        self.plan = load_stand(copy, kinds, today=date(2020, 5, 1)).plan
        self.pipeline = Pipeline(self.plan, START_NS)
        start = RunStart("bench", STAND, START_NS, self.pipeline.save())
        self.writer = RunWriter.create(run_dir, start)
        self.folder = self.writer.folder
        self._control = 0
        self.say(HostEvent("run_started", "Leak bench"))

    def say(self, *what: Action | LinkChange | HostEvent) -> None:
        """Add a step without readings."""
        self.step((), what)

    def ramp(self, bars: Iterable[float]) -> None:
        """Add a step for each pressure."""
        for bar in bars:
            self.step((self.block(4 + bar),))

    def block(self, ma: float) -> Admitted:
        """Give four rows behind W; the counts are the second's number and a hole."""
        t_ns = self.pipeline.until_ns + np.array([200, 400, 600, 800]) * 1_000_000
        second = (self.pipeline.until_ns - START_NS) // STEP_NS
        values = np.column_stack((np.full(4, ma), np.full(4, float(second))))
        values[2, 1] = np.nan
        return Admitted(Block("panel", ("ma", "counts"), t_ns, values))

    def step(
        self,
        admitted: Sequence[Admitted],
        what: Sequence[Action | LinkChange | HostEvent] = (),
        *,
        is_recorded: bool = True,
    ) -> None:
        """Evaluate and record a step."""
        until_ns = self.pipeline.until_ns + STEP_NS
        controls = []
        for each in what:
            self._control += 1
            controls.append(Control(until_ns, self._control, each))
        step = self.pipeline.step(admitted, controls, until_ns)
        seq = self.writer.next_seq
        if is_recorded:
            frame = Frame(seq, until_ns, tuple(admitted), tuple(controls), 0, "")
            self.writer.write([frame], step.events)
        else:
            # As the recorder does after a full disk: the readings are lost, the events kept.
            self.writer.write([], step.events)
            self.writer._next_seq += 1

    def go_on(self) -> None:
        """Leave the run as a kill does, and go on with it."""
        self.writer.abandon()
        self.writer = RunWriter.resume(self.folder, self.pipeline.save())

    def close(self) -> None:
        """End the run."""
        self.say(HostEvent("run_closed"))
        self.writer.close({"closed": True})


@pytest.fixture(autouse=True)
def known_kinds(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let replay know the kind of instrument that the stand names."""
    monkeypatch.setattr("monitor.replay.rerun.instrument_kinds", lambda: {"pretended": KIND})


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """Begin a run."""
    return Bench(tmp_path)


@pytest.fixture
def lived(bench: Bench) -> Bench:
    """Give a run in which things happened; it is closed."""
    bench.ramp([1, 2, 12, 12, 3])
    bench.say(Action("enter_phase", "climb", "A. Roe", "go"))
    bench.ramp([4])
    bench.say(LinkChange("panel", is_up=False, why="unplugged", cure="plug it in"))
    for _ in range(4):
        bench.say()
    bench.say(LinkChange("panel", is_up=True, why="it answers"))
    bench.ramp([14, 5])
    bench.close()
    return bench


Lines = Callable[[Path], list[bytes]]


@pytest.fixture
def lines() -> Lines:
    """Give what reads a journal's lines with their newlines."""
    return lambda folder: (folder / "journal.jsonl").read_bytes().splitlines(keepends=True)


@pytest.fixture
def cut_log() -> Callable[[Path, int], None]:
    """Give what takes bytes off the end of a log."""

    def cut(folder: Path, length: int) -> None:
        path = log_files(folder)[-1]
        path.write_bytes(path.read_bytes()[:-length])

    return cut
